//! Carries out commands on the system's Bluetooth stack. Decides nothing.

use super::failure::{Verdict, judge};
#[cfg(target_os = "linux")]
use super::pairing;
use super::receive::{self, Clock};
use crate::event::RawBytes;
use crate::link::command::{Answer, Command, Failure, Unit};
use crate::link::policy::Cause;
use booster_profile::advertising::ServiceData;
use booster_profile::{Characteristic, SERVICE_UUID};
use btleplug::api::{
    Central, CentralState, Manager as _, Peripheral as _, PeripheralProperties, RetrievePeripheralsOptions,
    ScanFilter, WriteType,
};
use btleplug::platform::{Adapter, Manager, Peripheral};
use std::collections::BTreeMap;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use tokio::sync::Notify;
use uuid::Uuid;

/// Environment variable that names the adapter to use, as the system names it (`hci1`).
pub const ADAPTER_VARIABLE: &str = "LOOPMARGIN_ADAPTER";

/// A peripheral that is held on to, so that its one stream of values can be kept for the life of the process.
struct Held {
    peripheral: Peripheral,
    /// Whether values are passed on; shared with the receiving task.
    listening: Arc<AtomicBool>,
    receiving: tokio::task::JoinHandle<()>,
}

/// The handles.
pub(super) struct Radio {
    clock: Clock,
    manager: Option<Manager>,
    adapter: Option<Adapter>,
    adapter_name: String,
    /// Adapters whose events are being received.
    watched: Vec<(String, Arc<AtomicBool>)>,
    held: BTreeMap<String, Held>,
    current: Option<Peripheral>,
    found: BTreeMap<Characteristic, btleplug::api::Characteristic>,
    /// Known to be paired with the unit that is connected.
    paired: bool,
    scanning: bool,
    /// Services whose advertisements are asked for; none: every advertisement.
    services: Vec<Uuid>,
    advertised: Arc<Notify>,
}

impl Radio {
    pub(super) fn new(clock: Clock) -> Self {
        Self {
            clock,
            manager: None,
            adapter: None,
            adapter_name: String::new(),
            watched: Vec::new(),
            held: BTreeMap::new(),
            current: None,
            found: BTreeMap::new(),
            paired: false,
            scanning: false,
            services: vec![Uuid::from_u128(SERVICE_UUID)],
            advertised: Arc::default(),
        }
    }

    /// Asks the system for every advertisement, also those without the service UUID: a unit may send its health in an
    /// advertisement of its own, and BlueZ's filter drops that. More to go through, so not for a long watch.
    pub(super) fn hearing_all(mut self) -> Self {
        self.services.clear();
        self
    }

    pub(super) fn is_scanning(&self) -> bool {
        self.scanning
    }

    /// First word of the adapter's description, `hci0`; empty until it was opened.
    pub(super) fn adapter_name(&self) -> &str {
        &self.adapter_name
    }

    /// Woken when something may have been advertised.
    pub(super) fn advertised(&self) -> Arc<Notify> {
        self.advertised.clone()
    }

    pub(super) async fn carry_out(&mut self, command: Command) -> Answer {
        match self.attempt(&command).await {
            Ok(answer) => answer,
            Err(Trouble::Known(failure)) => Answer::Failed(failure),
            Err(Trouble::Stack(error)) => match judge(&command, &error) {
                Verdict::AlreadySo => Answer::Done,
                Verdict::Failed(failure) => Answer::Failed(failure),
            },
        }
    }

    async fn attempt(&mut self, command: &Command) -> Result<Answer, Trouble> {
        match command {
            Command::Open { rebuild } => {
                if *rebuild {
                    self.let_go();
                }
                self.open().await?;
            }
            Command::StartScan => {
                let services = self.services.clone();
                // Set first: an abandoned call may still have started it.
                self.scanning = true;
                self.adapter()?.start_scan(ScanFilter { services }).await?;
            }
            Command::StopScan => {
                self.scanning = false;
                self.adapter()?.stop_scan().await?;
            }
            Command::Connect { id } => {
                let peripheral = self.hold(id).await?;
                self.current = Some(peripheral.clone());
                self.paired = false;
                self.found.clear();
                peripheral.connect().await?;
            }
            Command::Discover => {
                let peripheral = self.current()?;
                peripheral.discover_services().await?;
                self.found = known_characteristics(&peripheral);
                return Ok(Answer::Found {
                    characteristics: self.found.keys().copied().collect(),
                    mtu: peripheral.mtu(),
                });
            }
            Command::Read(c) => {
                let bytes = self.current()?.read(self.characteristic(*c)?).await?;
                return Ok(Answer::Value(RawBytes::from_vec(bytes)));
            }
            Command::Subscribe(c) => {
                self.current()?.subscribe(self.characteristic(*c)?).await?;
            }
            Command::Write(c, bytes) => {
                let peripheral = self.current()?;
                if c.needs_pairing() && !self.paired {
                    self.pair(&peripheral).await?;
                }
                let characteristic = self.characteristic(*c)?;
                peripheral
                    .write(characteristic, bytes, WriteType::WithResponse)
                    .await?;
            }
            Command::Disconnect => {
                if let Some(peripheral) = self.current.take() {
                    peripheral.disconnect().await?;
                }
            }
        }
        Ok(Answer::Done)
    }

    /// Drops what is held. Streams are not dropped but left to their tasks, told to listen no more: dropping one makes
    /// a task of the D-Bus layer panic.
    fn let_go(&mut self) {
        for held in std::mem::take(&mut self.held).into_values() {
            held.listening.store(false, Ordering::Relaxed);
        }
        for (_, listening) in self.watched.drain(..) {
            listening.store(false, Ordering::Relaxed);
        }
        self.manager = None;
        self.adapter = None;
        self.current = None;
        self.found.clear();
        self.scanning = false;
    }

    async fn open(&mut self) -> Result<(), Trouble> {
        let manager = match &self.manager {
            Some(manager) => manager,
            None => self.manager.insert(new_manager().await?),
        };
        let mut adapters = Vec::new();
        for adapter in manager.adapters().await? {
            let info = adapter.adapter_info().await?;
            let name = info.split_whitespace().next().unwrap_or_default().to_owned();
            adapters.push((name, adapter));
        }
        adapters.sort_by(|a, b| a.0.cmp(&b.0));
        let wanted = std::env::var(ADAPTER_VARIABLE).ok().filter(|w| !w.is_empty());
        let names: Vec<_> = adapters.iter().map(|(name, _)| name.clone()).collect();
        let chosen = adapters
            .into_iter()
            .find(|(name, _)| wanted.as_ref().is_none_or(|w| w == name));
        let Some((name, adapter)) = chosen else {
            return Err(known(Cause::NoAdapter, no_adapter_words(wanted, &names)));
        };
        if adapter.adapter_state().await? == CentralState::PoweredOff {
            self.adapter_name = name.clone();
            self.watch(&name, &adapter).await?;
            return Err(known(
                Cause::AdapterOff,
                format!("adapter {name} is switched off"),
            ));
        }
        self.watch(&name, &adapter).await?;
        self.adapter_name = name;
        self.adapter = Some(adapter);
        Ok(())
    }

    /// Receives the adapter's events from now on.
    async fn watch(&mut self, name: &str, adapter: &Adapter) -> Result<(), Trouble> {
        if self.watched.iter().all(|(watched, _)| watched != name) {
            let events = adapter.events().await?;
            let listening = Arc::new(AtomicBool::new(true));
            let advertised = self.advertised.clone();
            tokio::spawn(receive::adapter_events(
                events,
                self.clock.clone(),
                listening.clone(),
                advertised,
            ));
            self.watched.push((name.to_owned(), listening));
        }
        Ok(())
    }

    /// The peripheral with this identifier, its values being received.
    async fn hold(&mut self, id: &str) -> Result<Peripheral, Trouble> {
        if self.held.get(id).is_none_or(|held| held.receiving.is_finished()) {
            let peripherals = self.adapter()?.peripherals().await?;
            let peripheral = peripherals
                .into_iter()
                .find(|p| p.id().to_string() == id)
                .ok_or_else(|| known(Cause::UnitForgotten, format!("the system no longer knows {id}")))?;
            let values = peripheral.notifications().await?;
            let listening = Arc::new(AtomicBool::new(true));
            let receiving = tokio::spawn(receive::values(
                values,
                self.clock.clone(),
                listening.clone(),
                id.to_owned(),
            ));
            self.held.insert(
                id.to_owned(),
                Held {
                    peripheral,
                    listening,
                    receiving,
                },
            );
        }
        for (held_id, held) in &self.held {
            held.listening.store(held_id == id, Ordering::Relaxed);
        }
        match self.held.get(id) {
            Some(held) => Ok(held.peripheral.clone()),
            None => Err(known(Cause::UnitForgotten, format!("{id} is not held"))),
        }
    }

    /// Every unit in range or connected to this computer now.
    pub(super) async fn look(&self) -> Result<Vec<Unit>, btleplug::Error> {
        let Some(adapter) = &self.adapter else {
            return Ok(Vec::new());
        };
        let mut units: BTreeMap<String, Unit> = BTreeMap::new();
        let connected = RetrievePeripheralsOptions {
            services: Some(vec![Uuid::from_u128(SERVICE_UUID)]),
            ..Default::default()
        };
        let (in_range, connected) = (
            adapter.peripherals().await?,
            adapter.retrieve_peripherals(connected).await.unwrap_or_default(),
        );
        for (is_connected, peripheral) in in_range
            .into_iter()
            .map(|p| (false, p))
            .chain(connected.into_iter().map(|p| (true, p)))
        {
            // A peripheral may be forgotten while the list is gone through.
            let Ok(Some(properties)) = peripheral.properties().await else {
                continue;
            };
            let id = peripheral.id().to_string();
            if is_connected || is_heard(&properties) {
                units.insert(id.clone(), advertised(id, properties));
            }
        }
        Ok(units.into_values().collect())
    }

    async fn pair(&mut self, peripheral: &Peripheral) -> Result<(), Trouble> {
        #[cfg(target_os = "linux")]
        pairing::ensure(&peripheral.id().to_string())
            .await
            .map_err(|error| btleplug::Error::Other(Box::new(error)))?;
        #[cfg(not(target_os = "linux"))]
        let _ = peripheral;
        self.paired = true;
        Ok(())
    }

    fn adapter(&self) -> Result<&Adapter, Trouble> {
        self.adapter
            .as_ref()
            .ok_or_else(|| known(Cause::NoAdapter, "no adapter is open".into()))
    }

    fn current(&self) -> Result<Peripheral, Trouble> {
        self.current
            .clone()
            .ok_or_else(|| known(Cause::Dropped, "no unit is connected".into()))
    }

    fn characteristic(&self, c: Characteristic) -> Result<&btleplug::api::Characteristic, Trouble> {
        self.found
            .get(&c)
            .ok_or_else(|| known(Cause::Refused, format!("the unit has no {}", c.short_name())))
    }
}

/// Why an attempt failed: the stack said so, or this layer knows.
enum Trouble {
    Stack(btleplug::Error),
    Known(Failure),
}

impl From<btleplug::Error> for Trouble {
    fn from(error: btleplug::Error) -> Self {
        Trouble::Stack(error)
    }
}

fn known(cause: Cause, words: String) -> Trouble {
    Trouble::Known(Failure { cause, words })
}

fn no_adapter_words(wanted: Option<String>, present: &[String]) -> String {
    match (wanted, present) {
        (Some(wanted), []) => format!("no Bluetooth adapter, so not {wanted} either"),
        (Some(wanted), present) => format!(
            "no adapter {wanted} ({ADAPTER_VARIABLE}); there is {}",
            present.join(", ")
        ),
        (None, _) => "no Bluetooth adapter".into(),
    }
}

/// Connecting to the bus blocks its thread, and for good if the bus hangs; so it gets a thread of its own that nobody
/// waits for at the end.
async fn new_manager() -> Result<Manager, btleplug::Error> {
    let (send, receive) = tokio::sync::oneshot::channel();
    let runtime = tokio::runtime::Handle::current();
    std::thread::spawn(move || {
        // Nobody may be waiting any more.
        let _ = send.send(runtime.block_on(Manager::new()));
    });
    receive.await.unwrap_or_else(|_| {
        Err(btleplug::Error::RuntimeError(
            "connecting to the bus failed".into(),
        ))
    })
}

/// Whether the unit is being heard in this scan: BlueZ forgets the signal strength when a scan ends, so that a unit
/// that is merely remembered has none. Other systems only list what they heard.
fn is_heard(properties: &PeripheralProperties) -> bool {
    let service = Uuid::from_u128(SERVICE_UUID);
    let is_booster = properties.services.contains(&service) || properties.service_data.contains_key(&service);
    is_booster && (properties.rssi.is_some() || cfg!(not(target_os = "linux")))
}

fn advertised(id: String, properties: PeripheralProperties) -> Unit {
    let data = properties.service_data.get(&Uuid::from_u128(SERVICE_UUID));
    Unit {
        id,
        health: data.and_then(|bytes| ServiceData::decode(bytes).ok()),
        // 127 means "not available" (Core specification Vol 4 Part E 7.7.65.2).
        rssi_dbm: properties.rssi.filter(|rssi| *rssi != 127),
        name: properties.advertisement_name.or(properties.local_name),
    }
}

/// What the profile knows among what the peripheral has. A standard characteristic may occur in several services; the
/// booster's own service goes first.
fn known_characteristics(peripheral: &Peripheral) -> BTreeMap<Characteristic, btleplug::api::Characteristic> {
    let mut found = BTreeMap::new();
    let service = Uuid::from_u128(SERVICE_UUID);
    let all = peripheral.characteristics();
    let (own, others): (Vec<_>, Vec<_>) = all.into_iter().partition(|c| c.service_uuid == service);
    for characteristic in own.into_iter().chain(others) {
        if let Some(c) = Characteristic::from_uuid(characteristic.uuid.as_u128()) {
            found.entry(c).or_insert(characteristic);
        }
    }
    found
}
