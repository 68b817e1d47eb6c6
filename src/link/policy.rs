//! What to do after something failed: a pure function of the history and the cause.

use crate::event::LinkState;
use std::time::Duration;

/// Why a step of the link failed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Cause {
    /// No answer within the time that the step may take.
    TimedOut,
    /// The system's Bluetooth service, or the bus to it, does not run.
    NoService,
    /// This program may not use Bluetooth.
    NoPermission,
    /// There is no adapter, or not the one that was asked for.
    NoAdapter,
    /// The adapter is switched off or blocked.
    AdapterOff,
    /// The system forgot the unit; it has to be seen again.
    UnitForgotten,
    /// The connection ended, or was not there.
    Dropped,
    /// Another operation of the same kind runs.
    Busy,
    /// Connected and silent: no value came in time.
    Silent,
    /// The unit, or this system, wants a pairing first.
    PairingNeeded,
    /// The unit lacks the service or a mandatory characteristic.
    NotABooster,
    /// Another major version of the profile, or a value that contradicts it.
    ProfileMismatch,
    /// The serial number is not that of the unit this session began with.
    OtherUnit,
    /// The unit or the system refused; asking again may help.
    Refused,
}

impl Cause {
    /// Every cause.
    pub const ALL: &[Cause] = &[
        Cause::TimedOut,
        Cause::NoService,
        Cause::NoPermission,
        Cause::NoAdapter,
        Cause::AdapterOff,
        Cause::UnitForgotten,
        Cause::Dropped,
        Cause::Busy,
        Cause::Silent,
        Cause::PairingNeeded,
        Cause::NotABooster,
        Cause::ProfileMismatch,
        Cause::OtherUnit,
        Cause::Refused,
    ];

    /// Whether the connection itself is gone or useless, whatever was being done with it.
    pub const fn ends_connection(self) -> bool {
        !matches!(self, Cause::Refused | Cause::PairingNeeded | Cause::NotABooster)
    }
}

/// What went before.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct History {
    /// Failed attempts in a row; a connection that stayed live clears it.
    pub failed: u32,
    /// Calls in a row that were never answered; any answer clears it.
    pub unanswered: u32,
}

/// How to begin the next attempt.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Via {
    /// Connect to the unit as it is known.
    Connect,
    /// Wait until the unit is seen again.
    Scan,
}

/// What to do.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Decision {
    /// Try again after a pause.
    Retry {
        /// The pause.
        after: Duration,
        /// How to begin.
        via: Via,
    },
    /// Attempts are used up: say so with advice, and look for the unit again after a long pause or when asked.
    AskPerson {
        /// The long pause.
        after: Duration,
    },
    /// Only a person can change this. The link looks again by itself where looking costs nothing.
    WaitForPerson {
        /// The state that tells the person what to do.
        state: LinkState,
        /// When to look again; `None`: only when asked.
        recheck: Option<Duration>,
    },
}

/// Pauses before the attempts that follow a failure.
pub const PAUSES: [Duration; 4] = [
    Duration::from_millis(250),
    Duration::from_millis(500),
    Duration::from_millis(1_000),
    Duration::from_millis(4_000),
];
/// Pause after the attempts are used up.
pub const LONG_PAUSE: Duration = Duration::from_secs(30);
/// How often an absent adapter, service or permission is looked for again.
pub const RECHECK: Duration = Duration::from_secs(2);
/// Unanswered calls after which the connection to the system's bus is taken for dead and built anew.
pub const UNANSWERED_LIMIT: u32 = 2;

/// Decides what follows a failure. `history` counts what happened before this failure.
pub fn decide(history: History, cause: Cause) -> Decision {
    let wait = |state, recheck| Decision::WaitForPerson { state, recheck };
    match cause {
        Cause::NoService => wait(LinkState::NoBluetoothService, Some(RECHECK)),
        Cause::NoPermission => wait(LinkState::NoPermission, Some(RECHECK)),
        Cause::NoAdapter => wait(LinkState::NoAdapter, Some(RECHECK)),
        Cause::AdapterOff => wait(LinkState::AdapterOff, Some(RECHECK)),
        Cause::ProfileMismatch => wait(LinkState::ProfileMismatch, None),
        Cause::PairingNeeded => wait(LinkState::PairingNeeded, None),
        Cause::TimedOut
        | Cause::UnitForgotten
        | Cause::Dropped
        | Cause::Busy
        | Cause::Silent
        | Cause::NotABooster
        | Cause::OtherUnit
        | Cause::Refused => match PAUSES.get(history.failed as usize) {
            Some(&after) => Decision::Retry {
                after,
                via: via(history, cause),
            },
            None => Decision::AskPerson { after: LONG_PAUSE },
        },
    }
}

/// The first attempt after a drop connects at once: the unit usually still advertises where it was. Every later one
/// waits until the unit is seen, so that a unit that is away costs no attempts.
const fn via(history: History, cause: Cause) -> Via {
    match cause {
        Cause::UnitForgotten | Cause::OtherUnit | Cause::NotABooster => Via::Scan,
        _ if history.failed == 0 => Via::Connect,
        _ => Via::Scan,
    }
}

/// Whether the connection to the system's Bluetooth service has to be built anew before the next attempt.
pub const fn must_rebuild(history: History) -> bool {
    history.unanswered >= UNANSWERED_LIMIT
}

#[cfg(test)]
mod tests {
    use super::*;

    fn retry(ms: u64, via: Via) -> Decision {
        Decision::Retry {
            after: Duration::from_millis(ms),
            via,
        }
    }

    #[test]
    fn pauses_grow_and_end_with_the_person() {
        let ask = Decision::AskPerson { after: LONG_PAUSE };
        #[rustfmt::skip]
        let table = [
            (0, Cause::Dropped,       retry(250, Via::Connect)),
            (1, Cause::Dropped,       retry(500, Via::Scan)),
            (2, Cause::Dropped,       retry(1_000, Via::Scan)),
            (3, Cause::Dropped,       retry(4_000, Via::Scan)),
            (4, Cause::Dropped,       ask),
            (9, Cause::TimedOut,      ask),
            (0, Cause::TimedOut,      retry(250, Via::Connect)),
            (0, Cause::Silent,        retry(250, Via::Connect)),
            (0, Cause::Busy,          retry(250, Via::Connect)),
            (0, Cause::Refused,       retry(250, Via::Connect)),
            (0, Cause::UnitForgotten, retry(250, Via::Scan)),
            (0, Cause::OtherUnit,     retry(250, Via::Scan)),
            (1, Cause::NotABooster,   retry(500, Via::Scan)),
        ];
        for (failed, cause, expected) in table {
            let history = History {
                failed,
                unanswered: 0,
            };
            assert_eq!(decide(history, cause), expected, "{failed} {cause:?}");
        }
    }

    #[test]
    fn what_a_person_must_change_is_never_hammered() {
        #[rustfmt::skip]
        let table = [
            (Cause::NoService,       LinkState::NoBluetoothService, Some(RECHECK)),
            (Cause::NoPermission,    LinkState::NoPermission,       Some(RECHECK)),
            (Cause::NoAdapter,       LinkState::NoAdapter,          Some(RECHECK)),
            (Cause::AdapterOff,      LinkState::AdapterOff,         Some(RECHECK)),
            (Cause::ProfileMismatch, LinkState::ProfileMismatch,    None),
            (Cause::PairingNeeded,   LinkState::PairingNeeded,      None),
        ];
        for (cause, state, recheck) in table {
            for failed in [0, 7] {
                let history = History {
                    failed,
                    unanswered: 1,
                };
                assert_eq!(decide(history, cause), Decision::WaitForPerson { state, recheck });
                assert!(state.waits_for_person());
            }
        }
    }

    #[test]
    fn every_cause_leads_somewhere_whatever_went_before() {
        for &cause in Cause::ALL {
            for failed in [0, 1, 4, u32::MAX] {
                let history = History {
                    failed,
                    unanswered: 0,
                };
                let again = match decide(history, cause) {
                    Decision::Retry { after, .. } | Decision::AskPerson { after } => Some(after),
                    Decision::WaitForPerson { recheck, .. } => recheck,
                };
                assert!(
                    again.is_none_or(|pause| pause >= PAUSES[0]),
                    "{cause:?} would spin"
                );
            }
        }
    }

    #[test]
    fn the_bus_is_rebuilt_after_two_unanswered_calls() {
        let silent = |unanswered| {
            must_rebuild(History {
                failed: 0,
                unanswered,
            })
        };
        assert_eq!(
            [silent(0), silent(1), silent(2), silent(3)],
            [false, false, true, true]
        );
    }
}
