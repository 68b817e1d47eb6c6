//! One subscription: takes values from the engine, hands them to BlueZ, writes them down.

use super::AirError;
use super::engine::Message;
use super::journal::Journal;
use crate::gatt::PushedBytes;
use bluer::gatt::CharacteristicWriter;
use bluer::gatt::local::CharacteristicNotifier;
use booster_profile::Characteristic as C;
use tokio::sync::mpsc;

/// Values that may wait for the radio; at 60 a second that is two seconds, after which a value is too old to send.
const WAITING: usize = 128;

/// The engine's end of a subscription.
pub(super) struct Session {
    pub(super) number: u64,
    values: mpsc::Sender<PushedBytes>,
}

impl Session {
    /// Hands over a value; says whether there was room.
    pub(super) fn send(&self, bytes: PushedBytes) -> bool {
        self.values.try_send(bytes).is_ok()
    }

    pub(super) fn notify(
        c: C,
        number: u64,
        writer: CharacteristicWriter,
        journal: Journal,
        engine: mpsc::Sender<Message>,
    ) -> Self {
        let (values, mut queue) = mpsc::channel::<PushedBytes>(WAITING);
        tokio::spawn(async move {
            let failure = loop {
                tokio::select! {
                    _ = writer.closed() => break None,
                    value = queue.recv() => {
                        let Some(bytes) = value else { return };
                        if writer.send(&bytes).await.is_err() {
                            break None;
                        }
                        if let Err(e) = journal.sent(c, &bytes) {
                            break Some(e);
                        }
                    }
                }
            };
            end(c, number, failure, &engine).await;
        });
        Self { number, values }
    }

    pub(super) fn indicate(
        c: C,
        number: u64,
        mut notifier: CharacteristicNotifier,
        journal: Journal,
        engine: mpsc::Sender<Message>,
    ) -> Self {
        let (values, mut queue) = mpsc::channel::<PushedBytes>(WAITING);
        tokio::spawn(async move {
            let stopped = notifier.stopped();
            tokio::pin!(stopped);
            let failure = loop {
                let value = tokio::select! {
                    () = &mut stopped => break None,
                    value = queue.recv() => value,
                };
                let Some(bytes) = value else { return };
                // Before it goes out: afterwards is after the confirmation, and a kill may come between.
                if let Err(e) = journal.sent(c, &bytes) {
                    break Some(e);
                }
                // A full D-Bus socket makes bluer report an end that is none: only a stopped session has ended.
                if notifier.notify(bytes.to_vec()).await.is_err() && notifier.is_stopped() {
                    break None;
                }
                if engine.send(Message::Confirmed).await.is_err() {
                    return;
                }
            };
            end(c, number, failure, &engine).await;
        });
        Self { number, values }
    }
}

async fn end(c: C, number: u64, failure: Option<AirError>, engine: &mpsc::Sender<Message>) {
    // Nobody to tell once the engine is gone.
    let _ = engine.send(Message::Ended { c, number, failure }).await;
}
