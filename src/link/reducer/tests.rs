//! Scripts: what is seen, and what must follow. `link …` is a recorded transition, `> …` a command.

mod anything;
mod faults;
mod way;

use super::search::{SCAN_RESTART, SETTLE};
use super::*;
use booster_profile::Features;

/// Plays observations into a reducer and writes down what comes out.
struct Script {
    reducer: Reducer,
    at: SessionTime,
    ticket: Ticket,
}

const ALL_FOUND: &[Characteristic] = Characteristic::ALL;

fn unit(id: &str) -> Unit {
    Unit::new(id, Some(format!("name-{id}")))
}

fn found(characteristics: &[Characteristic]) -> Answer {
    Answer::Found {
        characteristics: characteristics.to_vec(),
        mtu: 247,
    }
}

fn failed(cause: Cause) -> Answer {
    Answer::Failed(Failure {
        cause,
        words: "told".into(),
    })
}

fn feature(major: u8) -> RawBytes {
    let value = BoosterFeature {
        version: booster_profile::Version { major, minor: 0 },
        features: Features::default(),
        bands: 1,
        regulation: booster_profile::Regulation::None,
        min_interval_ms: 100,
        max_interval_ms: 5_000,
        default_interval_ms: 1_000,
        boot_id: 1,
        event_capacity: 1,
        history_capacity: 1,
    };
    RawBytes::from_slice(&value.encode())
}

use booster_profile::BoosterFeature;

impl Script {
    fn new(target: Target) -> Self {
        Self {
            reducer: Reducer::new(target),
            at: SessionTime::ZERO,
            ticket: Ticket::default(),
        }
    }

    /// A link that has just gone live.
    fn live() -> Self {
        let mut s = Self::new(Target::Named("a".into()));
        s.see(Observation::Start);
        s.done();
        s.done();
        s.see(Observation::UnitSeen(unit("a")));
        s.go_live();
        s
    }

    /// From a running `stop scanning` or `connect` to the first value.
    fn go_live(&mut self) -> Vec<String> {
        let mut out = Vec::new();
        for _ in 0..30 {
            out.extend(self.succeed());
            if self.reducer.state() == LinkState::AwaitingFirstValue {
                out.extend(self.value());
                return out;
            }
        }
        panic!("never enabled: {out:?}");
    }

    fn drain(&mut self) -> Vec<String> {
        let mut out = Vec::new();
        while let Some(output) = self.reducer.next_output() {
            out.push(match output {
                Output::Event(EventKind::Link { state, .. }) => format!("link {state}"),
                Output::Event(EventKind::Written { characteristic, .. }) => {
                    format!("written {}", characteristic.short_name())
                }
                Output::Event(EventKind::Value { characteristic, .. }) => {
                    format!("read {}", characteristic.short_name())
                }
                Output::Event(other) => panic!("unexpected event {other:?}"),
                Output::Command(ticket, command) => {
                    self.ticket = ticket;
                    format!("> {}", describe(&command))
                }
            });
        }
        out
    }

    fn see(&mut self, seen: Observation) -> Vec<String> {
        self.reducer.observe(self.at, seen);
        self.drain()
    }

    fn answer(&mut self, answer: Answer) -> Vec<String> {
        self.see(Observation::Answer(self.ticket, answer))
    }

    fn done(&mut self) -> Vec<String> {
        self.answer(Answer::Done)
    }

    /// Answers the running command as a healthy unit would.
    fn succeed(&mut self) -> Vec<String> {
        let answer = match self.reducer.running.as_ref().map(|r| &r.command) {
            Some(Command::Discover) => found(ALL_FOUND),
            Some(Command::Read(C::BoosterFeature)) => Answer::Value(feature(1)),
            Some(Command::Read(_)) => Answer::Value(RawBytes::from_slice(b"x")),
            _ => Answer::Done,
        };
        self.answer(answer)
    }

    fn value(&mut self) -> Vec<String> {
        self.reducer.value(self.at, C::BandTelemetry, &[]);
        self.drain()
    }

    /// Lets time pass until the next deadline.
    fn wait(&mut self) -> Vec<String> {
        let next = self.reducer.next_deadline().expect("a deadline");
        assert!(next >= self.at);
        self.at = next;
        self.see(Observation::TimePassed)
    }

    fn wait_ms(&mut self, ms: u64) -> Vec<String> {
        self.at = self.at + Duration::from_millis(ms);
        self.see(Observation::TimePassed)
    }
}

use Characteristic as C;
