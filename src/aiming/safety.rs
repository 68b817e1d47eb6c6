//! Aim-safe: the uplink off and the gain held down while hands are on the antenna.
//!
//! Turned at the server antenna, a donor antenna closes the loop: the unit oscillates and radiates. Whether it holds
//! itself down is known from its own status alone; what was asked for is no proof.

use super::session::Prompt;
use crate::control::{Ask, Outcome, RESTORE_S, Reply, reply};
use crate::event::{LinkState, SessionTime};
use crate::fold::Fold;
use crate::link::words::System;
use booster_profile::control::ControlResult;
use booster_profile::{Characteristic, Features, OperatingState};
use std::time::Duration;

/// Aim-safe is asked for again when less than this is left.
const RENEW: Duration = Duration::from_secs(300);

/// Whether the unit holds itself down.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Safety {
    /// The unit says that it does.
    On {
        /// Until it ends by itself, where the unit says so.
        left: Option<Duration>,
    },
    /// The unit says that it does not.
    Off,
    /// The unit has no such state: it can only be switched off by hand, which nobody sees from here.
    NotOffered,
    /// Nothing was heard from the unit, or nothing any more.
    NotSeen,
}

impl Safety {
    /// As the unit's last status and the link have it at `now`.
    pub fn of(fold: &Fold, now: SessionTime) -> Self {
        let Some(feature) = fold.telemetry().identity().feature else {
            return Self::NotSeen;
        };
        if !feature.features.contains(Features::AIM_SAFE) {
            return Self::NotOffered;
        }
        match fold.unit() {
            Some((at, unit)) if fold.link().state == LinkState::Live => {
                if unit.state == OperatingState::AimSafe {
                    let left = unit.aim_safe_left_s.map(|s| Duration::from_secs(s.into()));
                    Self::On {
                        left: left.map(|l| l.saturating_sub(now - *at)),
                    }
                } else {
                    Self::Off
                }
            }
            _ => Self::NotSeen,
        }
    }

    /// Whether whoever may control the unit should ask for aim-safe now.
    pub fn is_due(self) -> bool {
        match self {
            Self::Off => true,
            Self::On { left } => left.is_some_and(|left| left < RENEW),
            Self::NotOffered | Self::NotSeen => false,
        }
    }

    /// What it means, in a line.
    pub fn words(self) -> String {
        match self {
            Self::On { left: Some(left) } => {
                let s = left.as_secs();
                format!(
                    "on: uplink off, gain held down, {} min {:02} s left",
                    s / 60,
                    s % 60
                )
            }
            Self::On { left: None } => "on: uplink off, gain held down".to_owned(),
            Self::Off => "OFF: the unit transmits; switch it to aim-safe before you turn".to_owned(),
            Self::NotOffered => {
                "can't see it: this unit has none; switch uplink off and gain down by hand".to_owned()
            }
            Self::NotSeen => "can't see it: nothing is heard from the unit".to_owned(),
        }
    }
}

/// Why the unit did not do what it was asked last about aim-safe, as far as it or the link said; `None` if it did, and
/// before it was asked or has answered.
pub fn refusal(fold: &Fold) -> Option<Reply> {
    let entry = fold
        .control()
        .entries()
        .rev()
        .find(|e| e.characteristic == Characteristic::UnitControl)?;
    let ask = entry.ask.unwrap_or(ASK);
    let (_, outcome) = entry.outcome.as_ref()?;
    let refused = match outcome {
        Outcome::Answered(response) => response.result != ControlResult::Success,
        Outcome::NotWritten(..) => true,
        // Asked again as soon as the link is back.
        Outcome::LinkLost => false,
    };
    let is_its = matches!(ask, Ask::AimSafeOn { .. } | Ask::AimSafeOff) && refused;
    is_its.then(|| reply(ask, Some(outcome), System::current()))
}

/// What the unit is asked for.
pub const ASK: Ask = Ask::AimSafeOn { restore_s: RESTORE_S };
/// Time for the unit to obey and to say so, before it is asked again.
const ANSWER: Duration = Duration::from_secs(15);

/// Asks for aim-safe while an aim goes on, where the program may: before the first turn, and again before it ends.
#[derive(Clone, Copy, Debug, Default)]
pub struct Keeper {
    allowed: bool,
    asked: Option<SessionTime>,
}

impl Keeper {
    /// One that may ask, or may not.
    pub fn new(allowed: bool) -> Self {
        Self { allowed, asked: None }
    }

    /// Whether it may ask.
    pub fn is_allowed(&self) -> bool {
        self.allowed
    }

    /// Whether the unit is to be asked for [`ASK`] now; whoever is told so does it. A unit that refused is not asked
    /// again: a person has to see to it.
    pub fn asks(&mut self, fold: &Fold, now: SessionTime) -> bool {
        let aiming = !matches!(fold.aim().prompt(), None | Some(Prompt::Done));
        let asks = self.allowed
            && aiming
            && !self.is_asking(now)
            && Safety::of(fold, now).is_due()
            && refusal(fold).is_none();
        if asks {
            self.asked = Some(now);
        }
        asks
    }

    /// Whether the first turn should wait: the unit is about to be asked, or has not answered yet.
    pub fn waits(&self, fold: &Fold, now: SessionTime) -> bool {
        let begun = !fold.aim().visits().is_empty();
        let off = Safety::of(fold, now) == Safety::Off;
        self.allowed
            && !begun
            && off
            && refusal(fold).is_none()
            && (self.asked.is_none() || self.is_asking(now))
    }

    fn is_asking(&self, now: SessionTime) -> bool {
        self.asked.is_some_and(|at| now - at < ANSWER)
    }
}
