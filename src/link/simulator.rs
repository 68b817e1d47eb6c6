//! The simulated unit as a source: the same reducer as over Bluetooth, in simulated time, without a clock.

use super::command::{Answer, Command, Failure, Observation, Output, Target, Ticket, Unit};
use super::policy::Cause;
use super::reducer::Reducer;
use super::{Pull, Request};
use crate::event::{Event, EventKind, Origin, RawBytes, SessionTime};
use booster_profile::Characteristic;
use booster_simulator::{AttError, LinkParameters, Sent, Simulation, What};
use std::collections::VecDeque;

/// Identifier of the simulated peripheral.
const ID: &str = "simulated";
/// How often the simulated air is listened to while scanning, µs.
const LISTEN_US: u64 = 100_000;

/// A link to a simulated unit. Yields events for ever; the caller says when the session ends.
pub struct SimulatorLink {
    simulation: Simulation,
    reducer: Reducer,
    ready: VecDeque<Event>,
    scanning: bool,
}

impl SimulatorLink {
    /// A link that connects to this unit at once. The session's time is the simulation's.
    pub fn new(simulation: Simulation) -> Self {
        let mut link = Self {
            simulation,
            reducer: Reducer::new(Target::Named(ID.into())),
            ready: VecDeque::new(),
            scanning: false,
        };
        link.observe(Observation::Start);
        link
    }

    /// The simulated unit and its world.
    pub fn simulation(&self) -> &Simulation {
        &self.simulation
    }

    /// The simulated unit and its world, to turn the antenna or change the site.
    pub fn simulation_mut(&mut self) -> &mut Simulation {
        &mut self.simulation
    }

    fn now(&self) -> SessionTime {
        SessionTime(self.simulation.now_us())
    }

    fn observe(&mut self, seen: Observation) {
        let now = self.now();
        self.reducer.observe(now, seen);
        self.carry_on();
    }

    /// Carries out what the reducer wants, until it wants nothing more. Calls take no simulated time.
    fn carry_on(&mut self) {
        while let Some(output) = self.reducer.next_output() {
            let now = self.now();
            match output {
                Output::Event(kind) => self.ready.push_back(Event { at: now, kind }),
                Output::Command(ticket, command) => self.answer(now, ticket, &command),
            }
        }
    }

    fn answer(&mut self, now: SessionTime, ticket: Ticket, command: &Command) {
        let answer = self.carry_out(command).unwrap_or_else(Answer::Failed);
        self.reducer.observe(now, Observation::Answer(ticket, answer));
        if *command == Command::StartScan {
            self.listen(now);
        }
    }

    fn listen(&mut self, now: SessionTime) {
        if self.scanning && self.simulation.is_advertising() {
            let unit = Unit::new(ID, Some(self.simulation.advertisement().name));
            self.reducer.observe(now, Observation::UnitSeen(unit));
        }
    }

    fn carry_out(&mut self, command: &Command) -> Result<Answer, Failure> {
        match command {
            Command::Open { .. } => {}
            Command::StartScan => self.scanning = true,
            Command::StopScan => self.scanning = false,
            Command::Connect { .. } => {
                // As over the air, where the system pairs by itself when an attribute asks for it.
                self.simulation.connect(LinkParameters {
                    mtu: u16::MAX,
                    encrypted: true,
                    authenticated: true,
                });
                if !self.simulation.is_connected() {
                    return Err(Failure {
                        cause: Cause::Refused,
                        words: "connecting failed: the unit does not answer".into(),
                    });
                }
            }
            Command::Discover => {
                return Ok(Answer::Found {
                    characteristics: Characteristic::ALL.to_vec(),
                    mtu: self.simulation.mtu(),
                });
            }
            Command::Read(c) => {
                let bytes = self.simulation.read(*c).map_err(refused)?;
                return Ok(Answer::Value(RawBytes::from_slice(&bytes)));
            }
            Command::Subscribe(c) => self.simulation.subscribe(*c, true).map_err(refused)?,
            Command::Write(c, bytes) => self.simulation.write(*c, bytes).map_err(refused)?,
            Command::Disconnect => self.simulation.disconnect(),
        }
        Ok(Answer::Done)
    }

    /// Passes on a value; the common case allocates nothing and queues nothing.
    fn value(&mut self, sent: SessionTime, characteristic: Characteristic, bytes: &[u8]) -> Event {
        self.reducer.value(sent, characteristic, bytes);
        if characteristic.is_indicated() {
            self.simulation.confirm();
        }
        Event {
            at: sent,
            kind: EventKind::Value {
                characteristic,
                origin: Origin::Pushed,
                bytes: RawBytes::from_slice(bytes),
            },
        }
    }

    /// When the reducer or the scan has to be looked at again, µs.
    fn limit(&self) -> Option<u64> {
        let listen = self.scanning.then(|| self.simulation.now_us() + LISTEN_US);
        let deadline = self.reducer.next_deadline().map(|at| at.0);
        [listen, deadline].into_iter().flatten().min()
    }
}

impl Pull for SimulatorLink {
    fn next_event(&mut self) -> Option<Event> {
        loop {
            if let Some(event) = self.ready.pop_front() {
                return Some(event);
            }
            if self.reducer.has_ended() {
                return None;
            }
            // Without a limit nothing but a person can move the link, and none can within one pull.
            let limit = self.limit()?;
            match self.simulation.advance(limit) {
                Some(Sent { at_us, what }) => match what {
                    What::Value {
                        characteristic,
                        bytes,
                    } => {
                        let event = self.value(SessionTime(at_us), characteristic, &bytes);
                        self.carry_on();
                        if self.ready.is_empty() {
                            return Some(event);
                        }
                        self.ready.push_back(event);
                    }
                    What::Disconnected => self.observe(Observation::Disconnected),
                },
                None => {
                    let now = self.now();
                    self.listen(now);
                    self.observe(Observation::TimePassed);
                }
            }
        }
    }

    fn request(&mut self, request: Request) {
        self.observe(Observation::Request(request));
    }

    fn turned(&mut self, bearing_deg: f64) -> bool {
        self.simulation.turn(bearing_deg);
        true
    }
}

fn refused(error: AttError) -> Failure {
    let cause = match error {
        AttError::NotConnected => Cause::Dropped,
        AttError::InsufficientAuthentication(_) | AttError::InsufficientEncryption(_) => Cause::PairingNeeded,
        _ => Cause::Refused,
    };
    Failure {
        cause,
        words: error.to_string(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::event::LinkState;
    use booster_profile::control::{ControlResponse, ReportRequest};
    use booster_simulator::{Action, Scenario};
    use proptest::prelude::*;

    fn scenario() -> Scenario {
        Scenario::named(Scenario::DEFAULT).expect("the default site")
    }

    fn link() -> SimulatorLink {
        SimulatorLink::new(Simulation::new(&scenario(), 1))
    }

    /// Events up to a time.
    fn run(link: &mut SimulatorLink, until_ms: u64) -> Vec<Event> {
        let mut events = Vec::new();
        while let Some(event) = link.next_event() {
            let over = event.at >= SessionTime::from_millis(until_ms);
            events.push(event);
            if over {
                break;
            }
        }
        events
    }

    fn states(events: &[Event]) -> Vec<LinkState> {
        let state = |e: &Event| match e.kind {
            EventKind::Link { state, .. } => Some(state),
            _ => None,
        };
        events.iter().filter_map(state).collect()
    }

    fn count(events: &[Event], of: Characteristic, wanted: Origin) -> usize {
        let is = |e: &&Event| {
            matches!(&e.kind, EventKind::Value { characteristic, origin, .. }
                if *characteristic == of && *origin == wanted)
        };
        events.iter().filter(is).count()
    }

    #[test]
    fn live_within_half_a_second() {
        let events = run(&mut link(), 500);
        use LinkState as S;
        let expected = [
            S::Scanning,
            S::Connecting,
            S::Discovering,
            S::CheckingProfile,
            S::Subscribing,
            S::AwaitingFirstValue,
            S::Live,
        ];
        assert_eq!(states(&events), expected);
        assert!(count(&events, Characteristic::BandTelemetry, Origin::Pushed) > 0);
        let reads = |e: &&Event| {
            matches!(
                e.kind,
                EventKind::Value {
                    origin: Origin::Read,
                    ..
                }
            )
        };
        assert_eq!(events.iter().filter(reads).count(), 7);
        assert!(events.is_sorted_by_key(|e| e.at));
    }

    #[test]
    fn comes_back_after_the_link_dropped_and_after_a_restart() {
        let mut link = link();
        run(&mut link, 2_000);
        link.simulation_mut().apply(&Action::Disconnect { away_s: 3.0 });
        let events = run(&mut link, 8_000);
        assert_eq!(states(&events).first(), Some(&LinkState::BackingOff));
        assert_eq!(states(&events).last(), Some(&LinkState::Live));
        let back = events.iter().find(|e| e.at >= SessionTime::from_millis(5_000));
        assert!(
            back.is_some_and(|e| e.at < SessionTime::from_millis(5_200)),
            "{back:?}"
        );

        let boot = link.simulation().unit().feature().boot_id;
        link.simulation_mut().restart_unit();
        let events = run(&mut link, 20_000);
        assert_eq!(states(&events).last(), Some(&LinkState::Live));
        assert_ne!(link.simulation().unit().feature().boot_id, boot);
        assert_eq!(count(&events, Characteristic::BoosterFeature, Origin::Read), 1);
    }

    #[test]
    fn a_request_is_written_and_answered() {
        let mut link = link();
        run(&mut link, 1_000);
        link.request(Request::Write {
            characteristic: Characteristic::ReportControl,
            bytes: RawBytes::from_slice(&ReportRequest::Interval(1_000).encode()),
        });
        let events = run(&mut link, 4_000);
        assert!(matches!(events[0].kind, EventKind::Written { .. }));
        let answer = events.iter().find_map(|e| match &e.kind {
            EventKind::Value {
                characteristic: Characteristic::ReportControl,
                bytes,
                ..
            } => ControlResponse::decode(bytes).ok(),
            _ => None,
        });
        assert_eq!(answer.and_then(|a| a.value), Some(1_000));
    }

    proptest! {
        #![proptest_config(ProptestConfig { cases: 20, ..ProptestConfig::default() })]

        /// A flaky way for ten minutes: every drop is followed by a return, time never goes back, and a second run with
        /// the same seed is the same.
        #[test]
        fn a_flaky_link_never_stays_down(seed: u64, drop_every_s in 4.0..60.0, away_s in 0.0..20.0, mtu in 23_u16..200) {
            let mut scenario = scenario();
            scenario.transport.drop_every_s = drop_every_s;
            scenario.transport.away_s = away_s;
            scenario.transport.mtu = mtu;
            scenario.transport.loss = 0.1;
            scenario.transport.truncate = 0.05;
            let events = run(&mut SimulatorLink::new(Simulation::new(&scenario, seed)), 600_000);
            prop_assert!(events.is_sorted_by_key(|e| e.at));
            let mut down_since = None;
            for event in &events {
                match event.kind {
                    EventKind::Link { state: LinkState::Live, .. } => {
                        if let Some(since) = down_since.take() {
                            // The attempts in between may have cost their pauses, and the next drop may have met the
                            // first one half-way.
                            prop_assert!(event.at.since(since).as_secs_f64() < away_s + 70.0);
                        }
                    }
                    EventKind::Link { .. } if down_since.is_none() => down_since = Some(event.at),
                    _ => {}
                }
            }
            let again = run(&mut SimulatorLink::new(Simulation::new(&scenario, seed)), 600_000);
            prop_assert!(events == again);
        }
    }
}
