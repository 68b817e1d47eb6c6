//! Tasks that do nothing but receive, stamp and push.

use super::queue::{Item, Queue};
use crate::event::{RawBytes, SessionTime};
use crate::link::command::Observation;
use booster_profile::Characteristic;
use btleplug::api::{CentralEvent, CentralState, ValueNotification};
use futures::{Stream, StreamExt};
use std::pin::Pin;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Instant;
use tokio::sync::Notify;

/// The queue, and when the session began.
#[derive(Clone)]
pub(super) struct Clock {
    pub(super) queue: Arc<Queue>,
    pub(super) started_at: Instant,
}

impl Clock {
    pub(super) fn now(&self) -> SessionTime {
        SessionTime::from(self.started_at.elapsed())
    }

    pub(super) fn push(&self, item: Item) {
        self.queue.push(self.now(), item);
    }
}

/// Receives the values of a peripheral for as long as the process lives.
pub(super) async fn values(
    mut values: Pin<Box<dyn Stream<Item = ValueNotification> + Send>>,
    clock: Clock,
    listening: Arc<AtomicBool>,
    id: String,
) {
    while let Some(notification) = values.next().await {
        // On Linux the answer to a read appears here too; what is read is never something that notifies.
        if let Some(characteristic) = Characteristic::from_uuid(notification.uuid.as_u128())
            && characteristic.is_subscribable()
            && listening.load(Ordering::Relaxed)
        {
            clock.push(Item::Value(
                characteristic,
                RawBytes::from_slice(&notification.value),
            ));
        }
    }
    clock.push(Item::Left(id));
}

/// Receives the events of an adapter for as long as the process lives.
pub(super) async fn adapter_events(
    mut events: Pin<Box<dyn Stream<Item = CentralEvent> + Send>>,
    clock: Clock,
    listening: Arc<AtomicBool>,
    advertised: Arc<Notify>,
) {
    while let Some(event) = events.next().await {
        if !listening.load(Ordering::Relaxed) {
            continue;
        }
        match event {
            CentralEvent::DeviceDisconnected(id) => clock.push(Item::Left(id.to_string())),
            CentralEvent::StateUpdate(state) => match state {
                CentralState::PoweredOn => clock.push(Item::Seen(Observation::AdapterPowered(true))),
                CentralState::PoweredOff => clock.push(Item::Seen(Observation::AdapterPowered(false))),
                CentralState::Unknown => {}
            },
            CentralEvent::DeviceDiscovered(_)
            | CentralEvent::DeviceConnected(_)
            | CentralEvent::ServiceDataAdvertisement { .. }
            | CentralEvent::ServicesAdvertisement { .. }
            | CentralEvent::RssiUpdate { .. } => advertised.notify_one(),
            _ => {}
        }
    }
}
