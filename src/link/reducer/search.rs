//! Looking for a unit and choosing one.

use super::{CONNECT_LIMIT, Cause, Command, LinkState, Reducer, SessionTime, Step, Target, Unit, Via};
use std::time::Duration;

/// How long to look for further units before the only one seen is taken.
pub const SETTLE: Duration = Duration::from_secs(2);
/// How long to scan before starting afresh: some adapters report a unit once per scan, and some stop reporting.
pub const SCAN_RESTART: Duration = Duration::from_secs(10);

impl Reducer {
    pub(super) fn start_scan(&mut self, at: SessionTime) {
        self.step = Step::StartingScan;
        self.scanning = true;
        self.command(at, Command::StartScan);
    }

    pub(super) fn scan_started(&mut self, at: SessionTime) {
        self.step = Step::Scanning;
        // A scan that was started afresh is the same state.
        if self.state != LinkState::Scanning {
            let who = match (&self.unit, &self.target) {
                (Some(unit), _) => Some(format!("looking for {}", unit.label())),
                (None, Target::Named(words)) => Some(format!("looking for {words}")),
                (None, Target::Only) => None,
            };
            self.enter(LinkState::Scanning, who);
        }
        self.timer = Some(at + SCAN_RESTART);
        // Back from a unit: the others are remembered.
        if self.awaits_choice() {
            self.announce_choice();
        }
    }

    pub(super) fn scan_stopped(&mut self, at: SessionTime) {
        self.scanning = false;
        match self.step {
            Step::StoppingScan { then_connect: true } => self.connect(at),
            Step::StoppingScan { then_connect: false } => self.start_scan(at),
            _ => {}
        }
    }

    pub(super) fn unit_seen(&mut self, at: SessionTime, unit: Unit) {
        if !matches!(self.step, Step::StartingScan | Step::Scanning) || self.other_units.contains(&unit.id) {
            return;
        }
        let wanted = self.is_wanted(&unit);
        let known = self.seen.insert(unit.id.clone(), (unit.clone(), at)).is_some();
        if wanted {
            self.take(at, unit);
        } else if self.unit.is_none() && self.target == Target::Only && !known {
            if self.seen.len() == 1 {
                self.timer = Some(at + SETTLE);
            } else {
                self.announce_choice();
            }
        }
    }

    fn is_wanted(&self, unit: &Unit) -> bool {
        match (&self.unit, &self.target) {
            // Addresses may change when a unit restarts; the serial number is compared once connected.
            (Some(known), _) => unit.id == known.id || (unit.name.is_some() && unit.name == known.name),
            (None, Target::Named(words)) => unit.is_called(words),
            (None, Target::Only) => false,
        }
    }

    pub(super) fn scan_timer(&mut self, at: SessionTime) {
        if self.unit.is_none() && self.target == Target::Only {
            let mut units = self.seen.values();
            match (units.next(), units.next()) {
                (Some((unit, _)), None) => {
                    let unit = unit.clone();
                    return self.take(at, unit);
                }
                (Some(_), Some(_)) => self.announce_choice(),
                (None, _) => self.enter(LinkState::Scanning, Some("no unit seen yet".into())),
            }
        }
        self.timer = None;
        self.step = Step::StoppingScan { then_connect: false };
        self.command(at, Command::StopScan);
    }

    fn announce_choice(&mut self) {
        let names: Vec<_> = self.seen.values().map(|(unit, _)| unit.label()).collect();
        let words = format!("several units in range, choose one: {}", names.join(", "));
        self.enter(LinkState::Scanning, Some(words));
    }

    fn take(&mut self, at: SessionTime, unit: Unit) {
        self.unit = Some(unit);
        self.timer = None;
        self.step = Step::StoppingScan { then_connect: true };
        self.command(at, Command::StopScan);
    }

    /// A person chose a unit, or wants to choose again.
    pub(super) fn choose_by_words(&mut self, at: SessionTime, words: Option<String>) {
        self.target = words.map_or(Target::Only, Target::Named);
        self.unit = None;
        self.serial = None;
        self.other_units.clear();
        self.history.failed = 0;
        match self.step {
            Step::StartingScan | Step::Scanning => {
                let chosen = self
                    .seen()
                    .map(|(unit, _)| unit)
                    .find(|u| self.is_wanted(u))
                    .cloned();
                if let Some(unit) = chosen {
                    self.take(at, unit);
                }
            }
            Step::Idle | Step::Opening | Step::Waiting | Step::Closing | Step::Ended => {}
            _ => {
                self.refuse_writes();
                self.running = None;
                self.step = Step::Pausing(Via::Scan);
                self.timer = Some(at);
                self.enter(LinkState::Scanning, Some("leaving for another unit".into()));
                self.take_leave(at, super::CALL_LIMIT);
            }
        }
    }

    pub(super) fn connect(&mut self, at: SessionTime) {
        let Some(unit) = &self.unit else {
            return self.start_scan(at);
        };
        let (id, label) = (unit.id.clone(), unit.label());
        self.step = Step::Connecting;
        self.timer = None;
        // Half a connection has to be ended too.
        self.connected = true;
        self.enter(LinkState::Connecting, Some(label));
        self.command_within(at, Command::Connect { id }, CONNECT_LIMIT);
    }

    /// The unit turned out to be another one: it is not looked at again, and the right one is looked for.
    pub(super) fn refuse_unit(&mut self, at: SessionTime) {
        if let Some(unit) = &self.unit {
            self.other_units.push(unit.id.clone());
        }
        self.fail(
            at,
            Cause::OtherUnit,
            "the serial number is not that of the unit of this session".into(),
        );
    }
}
