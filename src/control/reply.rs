//! What became of a request, in words with a next step.

use super::{Ask, Outcome, minutes};
use crate::event::LinkState;
use crate::link::words::{System, Unwritten, explain};
use booster_profile::Direction;
use booster_profile::control::{ControlResponse, ControlResult};

/// An answer in words.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Reply {
    /// What it means, in sentences.
    pub meaning: String,
    /// What to do; empty where there is nothing to do.
    pub next_step: String,
}

/// What to do where nobody knows whether the unit did it.
const LOOK: &str = "Look at the states on the screen before asking again.";

/// The unit lacks a feature.
pub fn not_offered() -> Reply {
    words(
        "This unit does not offer it.",
        "Do it at the unit itself, as its maker describes.",
    )
}

/// What became of a request, in words; `None`: the time for an answer is over.
pub fn reply(ask: Ask, outcome: Option<&Outcome>, system: System) -> Reply {
    match outcome {
        Some(Outcome::Answered(response)) => answered(ask, response),
        Some(Outcome::NotWritten(kind, said)) => not_written(*kind, said, system),
        Some(Outcome::LinkLost) => words(
            "The link was lost before the answer: whether the unit did it is not known.",
            LOOK,
        ),
        None => words(
            "The unit did not answer in time: whether it did it is not known.",
            LOOK,
        ),
    }
}

fn words(meaning: &str, next_step: &str) -> Reply {
    Reply {
        meaning: meaning.to_owned(),
        next_step: next_step.to_owned(),
    }
}

fn not_written(kind: Unwritten, said: &str, system: System) -> Reply {
    match kind {
        Unwritten::NotReady => words(
            "Nothing was asked: the link was not ready.",
            "Wait until it is live, then ask again.",
        ),
        Unwritten::Unanswered => words(
            "Writing was not answered: whether the unit did it is not known.",
            LOOK,
        ),
        Unwritten::PairFirst => words(
            "Nothing was changed: the unit obeys only a computer that is paired with it.",
            explain(LinkState::PairingNeeded, system).next_step,
        ),
        Unwritten::Refused => Reply {
            meaning: format!("Nothing was changed: the write was refused ({said})."),
            next_step: "Ask again once; if it stays, disconnect other programs from the unit.".to_owned(),
        },
    }
}

fn answered(ask: Ask, response: &ControlResponse) -> Reply {
    match response.result {
        ControlResult::Success => done(ask, response.value),
        ControlResult::OpCodeNotSupported => Reply {
            meaning: "Nothing was changed: this unit cannot do it.".to_owned(),
            ..not_offered()
        },
        ControlResult::InvalidParameter => words(
            "Nothing was changed: the value is out of this unit's range.",
            match ask {
                Ask::Attenuation { .. } => "Choose less attenuation; units end below 60 dB.",
                Ask::AimSafeOn { .. } => "Choose another time, 1 s to 60 min.",
                _ => "Choose another band or value.",
            },
        ),
        ControlResult::Failed => words(
            "The unit tried and failed.",
            "Look at its state and its events in the Link view; ask again once, then ask its maker.",
        ),
        ControlResult::PresenceNeeded => words(
            "Nothing was changed: emission would rise, so somebody has to be at the unit.",
            "Press the button at the unit, then ask again within 2 min.",
        ),
        ControlResult::Busy => words(
            "Nothing was changed: the unit is busy with something else.",
            "Wait until that has ended (an isolation test takes up to 10 s a band), then ask again.",
        ),
        ControlResult::NotPermitted => words(
            "Nothing was changed: the rules that the unit enforces, or its missing authorization, forbid it.",
            match ask {
                Ask::Attenuation {
                    direction: Direction::Downlink | Direction::Uplink,
                    ..
                } => "Set both directions alike, if its rules demand that; else see to its registration.",
                _ => {
                    "See to its registration and the operator's consent. There is no way round it, and none is allowed."
                }
            },
        ),
        ControlResult::WrongState => {
            let (meaning, next_step) = match ask {
                Ask::AimSafeOff => ("Aim-safe is not on.", ""),
                Ask::Restart => (
                    "Nothing has latched off.",
                    "Look at the states in the Bands view.",
                ),
                Ask::IsolationTest { .. } => (
                    "Nothing was measured: not while aim-safe is on.",
                    "End aim-safe first, with hands off the antenna.",
                ),
                _ => (
                    "Nothing was changed: not possible in the unit's present state.",
                    "Look at its state in the Link view.",
                ),
            };
            words(meaning, next_step)
        }
        ControlResult::Unknown(code) => Reply {
            meaning: format!("The unit answered with result {code}, which this version does not know."),
            next_step: format!("{LOOK} Update this program."),
        },
    }
}

fn done(ask: Ask, value: Option<u16>) -> Reply {
    match ask {
        Ask::Fast(on) => Reply {
            meaning: match value {
                Some(ms) => format!("Done: the unit reports every {ms} ms."),
                None => "Done.".to_owned(),
            },
            next_step: if on {
                "It ends with the connection.".to_owned()
            } else {
                String::new()
            },
        },
        Ask::AimSafeOn { restore_s } => Reply {
            meaning: format!(
                "Done: uplink off, gain held down; ends by itself in {}.",
                minutes(value.unwrap_or(restore_s))
            ),
            next_step: "Wait until the states say so before touching the antenna.".to_owned(),
        },
        Ask::AimSafeOff => words("Done: uplink and gain are back.", super::AFTERWARDS),
        Ask::IsolationTest { .. } => words(
            "Begun: the unit radiates; each direction's result comes as an event.",
            super::AFTERWARDS,
        ),
        Ask::Attenuation { .. } => words("Done: the gain set has changed.", super::AFTERWARDS),
        Ask::Restart => words(
            "Done: what had latched off starts again. If it latches off again, its cause is still there.",
            super::AFTERWARDS,
        ),
        Ask::Locate { seconds: 0 } => words("Done: it no longer blinks.", ""),
        Ask::Locate { .. } => words("Done: look for the blinking unit.", ""),
    }
}
