//! The stand-in: a thread that owns `org.bluez` on the private bus, with one adapter and one simulated unit.

use super::messages::{self, Refusal};
use booster_profile::Characteristic;
use booster_simulator::{Scenario, Simulation, What};
use dbus::channel::{BusType, Channel};
use dbus::{Message, MessageType};
use std::collections::{BTreeMap, BTreeSet, VecDeque};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

pub const ADAPTER: &str = "/org/bluez/hci0";
pub const DEVICE: &str = "/org/bluez/hci0/dev_00_AA_01_00_00_42";
/// A second unit that can be heard, but is never connected to.
pub const NEIGHBOUR: &str = "/org/bluez/hci0/dev_00_AA_01_00_00_43";

/// Everything that a test can change while the stand-in runs.
pub struct State {
    pub simulation: Simulation,
    began: Instant,
    /// The adapter is there.
    pub adapter: bool,
    pub powered: bool,
    pub scanning: bool,
    /// The unit has an object.
    pub known: bool,
    /// The unit can be heard and connected to.
    pub advertising: bool,
    pub connected: bool,
    pub paired: bool,
    /// There is a second unit in range.
    pub neighbour: bool,
    /// How many characteristics are resolved.
    pub resolved: usize,
    pub mtu: u16,
    /// Nothing is notified although all is well.
    pub silent: bool,
    pub notifying: BTreeSet<Characteristic>,
    /// Calls that are answered with an error, by member.
    pub errors: BTreeMap<&'static str, Refusal>,
    /// Calls that are never answered, by member.
    pub hangs: BTreeSet<&'static str>,
    /// Members called so far.
    pub calls: Vec<String>,
    pub outbox: VecDeque<Message>,
    /// Values notified so far.
    pub notified: u64,
    storm: Option<Storm>,
}

/// Values beside those of the unit, at a steady rate.
struct Storm {
    since: Instant,
    per_s: u64,
    sent: u64,
}

impl State {
    pub fn new() -> Self {
        let scenario = Scenario::named(Scenario::DEFAULT).expect("the default site");
        Self {
            simulation: Simulation::new(&scenario, 1),
            began: Instant::now(),
            adapter: true,
            powered: true,
            scanning: false,
            known: true,
            advertising: true,
            connected: false,
            paired: false,
            neighbour: false,
            resolved: Characteristic::ALL.len(),
            mtu: 247,
            silent: false,
            notifying: BTreeSet::new(),
            errors: BTreeMap::new(),
            hangs: BTreeSet::new(),
            calls: Vec::new(),
            outbox: VecDeque::new(),
            notified: 0,
            storm: None,
        }
    }

    pub fn connect(&mut self) {
        if !self.connected {
            self.simulation.connect(messages::link_parameters(self.mtu));
            self.connected = true;
            self.outbox.push_back(messages::connected_changed(true));
        }
    }

    pub fn disconnect(&mut self) {
        if self.connected {
            self.simulation.disconnect();
            self.notifying.clear();
            self.connected = false;
            self.outbox.push_back(messages::connected_changed(false));
        }
    }

    pub fn notify(&mut self, c: Characteristic, bytes: &[u8]) {
        self.notified += 1;
        self.outbox.push_back(messages::value_changed(c, bytes));
    }

    /// From now on so many values a second beside those of the unit.
    pub fn storm(&mut self, per_s: u64) {
        self.storm = Some(Storm {
            since: Instant::now(),
            per_s,
            sent: 0,
        });
    }

    /// Values of the storm so far, and how many a second that made.
    pub fn stormed(&self) -> (u64, f64) {
        self.storm.as_ref().map_or((0, 0.0), |s| {
            (s.sent, s.sent as f64 / s.since.elapsed().as_secs_f64())
        })
    }

    pub fn switch(&mut self, on: bool) {
        self.disconnect();
        self.powered = on;
        self.scanning = false;
        self.outbox.push_back(messages::powered_changed(on));
    }

    pub fn fails(&mut self, member: &'static str, name: &str, text: &str) {
        self.errors.insert(member, messages::refusal(name, text));
    }

    pub fn called(&self, member: &str) -> usize {
        self.calls.iter().filter(|m| *m == member).count()
    }

    fn simulate(&mut self) {
        if let Some(mut storm) = self.storm.take() {
            let due = (storm.since.elapsed().as_secs_f64() * storm.per_s as f64) as u64;
            while storm.sent < due {
                self.notify(Characteristic::CellReport, &[0; 20]);
                storm.sent += 1;
            }
            self.storm = Some(storm);
        }
        let now_us = self.began.elapsed().as_micros() as u64;
        while let Some(sent) = self.simulation.advance(now_us) {
            match sent.what {
                What::Value {
                    characteristic,
                    bytes,
                } => {
                    if characteristic.is_indicated() {
                        self.simulation.confirm();
                    }
                    if self.connected && !self.silent && self.notifying.contains(&characteristic) {
                        self.notify(characteristic, &bytes);
                    }
                }
                What::Disconnected => self.disconnect(),
            }
        }
    }
}

/// A running stand-in.
pub struct StandIn {
    state: Arc<Mutex<State>>,
    stop: Arc<AtomicBool>,
    thread: Option<JoinHandle<()>>,
}

impl StandIn {
    pub fn start(state: State) -> Self {
        Self::with(Arc::new(Mutex::new(state)))
    }

    fn with(state: Arc<Mutex<State>>) -> Self {
        let stop = Arc::new(AtomicBool::new(false));
        let channel = Channel::get_private(BusType::System).expect("the private bus");
        let request = Message::new_method_call(
            "org.freedesktop.DBus",
            "/org/freedesktop/DBus",
            "org.freedesktop.DBus",
            "RequestName",
        )
        .expect("a call")
        .append2("org.bluez", 4_u32);
        channel
            .send_with_reply_and_block(request, Duration::from_secs(10))
            .expect("the name");
        let thread = std::thread::spawn({
            let (state, stop) = (state.clone(), stop.clone());
            move || serve(&channel, &state, &stop)
        });
        Self {
            state,
            stop,
            thread: Some(thread),
        }
    }

    /// The state, to look at or to change.
    pub fn state(&self) -> MutexGuard<'_, State> {
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Ends at once, without a word, as a killed daemon does.
    pub fn kill(&mut self) {
        self.stop.store(true, Ordering::Relaxed);
        if let Some(thread) = self.thread.take() {
            let _ = thread.join();
        }
    }

    /// Starts again after [`Self::kill`]: connections are gone, the unit is still there.
    pub fn revive(&mut self) {
        {
            let mut state = self.state();
            state.disconnect();
            state.scanning = false;
            state.outbox.clear();
        }
        let revived = Self::with(self.state.clone());
        *self = revived;
    }
}

impl Drop for StandIn {
    fn drop(&mut self) {
        self.kill();
    }
}

fn serve(channel: &Channel, state: &Mutex<State>, stop: &AtomicBool) {
    while !stop.load(Ordering::Relaxed) {
        if channel.read_write(Some(Duration::from_millis(2))).is_err() {
            return;
        }
        let mut state = state.lock().unwrap_or_else(PoisonError::into_inner);
        while let Some(message) = channel.pop_message() {
            if message.msg_type() == MessageType::MethodCall
                && let Some(reply) = reply(&mut state, &message)
            {
                let _ = channel.send(reply);
            }
        }
        state.simulate();
        while let Some(signal) = state.outbox.pop_front() {
            let _ = channel.send(signal);
        }
        drop(state);
        channel.flush();
    }
}

fn reply(state: &mut State, call: &Message) -> Option<Message> {
    let member = call.member().map(|m| m.to_string()).unwrap_or_default();
    state.calls.push(member.clone());
    if state.hangs.contains(member.as_str()) {
        return None;
    }
    if let Some(refusal) = state.errors.get(member.as_str()) {
        return Some(messages::error_reply(call, refusal));
    }
    Some(match messages::answer(state, call) {
        Ok(reply) => reply,
        Err(refusal) => messages::error_reply(call, &refusal),
    })
}
