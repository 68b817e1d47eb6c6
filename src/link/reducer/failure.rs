//! What happens after something failed: the policy decides, this carries its decision into the machine.

use super::{CALL_LIMIT, Cause, Command, LinkState, Reducer, SessionTime, Step, Via};
use crate::link::policy::{self, Decision, PAUSES};
use std::time::Duration;

impl Reducer {
    /// Ends what is going on and does what the policy says.
    pub(super) fn fail(&mut self, at: SessionTime, cause: Cause, words: String) {
        if matches!(self.step, Step::Closing | Step::Ended) {
            return;
        }
        self.refuse_writes();
        self.running = None;
        self.due = false;
        match policy::decide(self.history, cause) {
            Decision::Retry { after, via } => {
                self.history.failed = self.history.failed.saturating_add(1);
                self.step = Step::Pausing(via);
                self.timer = Some(at + after);
                let (attempt, of) = (self.history.failed, PAUSES.len());
                let pause = after.as_secs_f64();
                self.enter(
                    LinkState::BackingOff,
                    Some(format!("{words}; attempt {attempt} of {of} in {pause} s")),
                );
            }
            Decision::AskPerson { after } => {
                self.step = Step::Pausing(Via::Scan);
                self.timer = Some(at + after);
                let pause = after.as_secs();
                self.enter(
                    LinkState::BackingOff,
                    Some(format!(
                        "{words}; attempts are used up, next look in {pause} s or when asked"
                    )),
                );
            }
            Decision::WaitForPerson { state, recheck } => {
                self.step = Step::Waiting;
                self.timer = recheck.map(|pause| at + pause);
                // Looking again and finding the same is no news, even in other words.
                if self.state != state {
                    self.enter(state, Some(words));
                }
            }
        }
        self.take_leave(at, CALL_LIMIT);
    }

    /// Leaves nothing behind on the adapter: no connection, no scan. Says whether there was anything to end.
    pub(super) fn take_leave(&mut self, at: SessionTime, limit: Duration) -> bool {
        let farewell = match (self.connected, self.scanning) {
            (true, _) => Command::Disconnect,
            (false, true) => Command::StopScan,
            (false, false) => return false,
        };
        self.connected = false;
        self.scanning = false;
        self.command_within(at, farewell, limit);
        true
    }

    /// Goes on after a pause.
    pub(super) fn resume(&mut self, at: SessionTime) {
        self.timer = None;
        self.due = false;
        match self.step {
            _ if policy::must_rebuild(self.history) => self.open(at),
            Step::Pausing(Via::Connect) if self.unit.is_some() => self.connect(at),
            Step::Pausing(_) => self.start_scan(at),
            _ => self.open(at),
        }
    }
}
