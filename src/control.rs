//! What may be asked of a unit through its two control points, in words: what it does in both directions, what it can
//! cut, what may not be defeated, and what an answer means.
//!
//! Pure: nothing here reaches a unit. Whoever sends [`Ask::request`] has the person's permission (`--allow-control`)
//! and has shown [`Ask::confirmation`] first. Answers are folded from the session's events into a [`Log`], so that a
//! replay shows what was asked and what the unit said.

mod confirmation;
mod log;
mod reply;
#[cfg(test)]
mod tests;

pub use confirmation::{AFTERWARDS, CALLS, Confirmation, PRESENCE, PROTECTION};
pub use log::{Entry, Log, Outcome, Standing};
pub use reply::{Reply, not_offered, reply};

use crate::event::{LinkState, RawBytes};
use crate::fold::Fold;
use crate::link::Request;
use crate::telemetry::Identity;
use booster_profile::control::{ReportRequest, UnitRequest};
use booster_profile::{Characteristic, Direction, Features, TenthDb};

/// Aim-safe ends by itself this long after it was last asked for, s, unless a person says otherwise.
pub const RESTORE_S: u16 = 600;

/// Something that may be asked of a unit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ask {
    /// Report as fast as the unit can, or as before. Ends with the connection and changes nothing that radiates.
    Fast(bool),
    /// Uplink off and gain held down while hands are on the antenna.
    AimSafeOn {
        /// Seconds until it ends by itself, 1 to 3600.
        restore_s: u16,
    },
    /// End aim-safe now.
    AimSafeOff,
    /// Let the unit measure its isolation; it radiates for that.
    IsolationTest {
        /// Index in the band table; `None`: all bands.
        band: Option<u8>,
    },
    /// Set the attenuation before the amplifier.
    Attenuation {
        /// Index in the band table.
        band: u8,
        /// Direction, or both.
        direction: Direction,
        /// Attenuation, 0 to 60 dB.
        value: TenthDb,
    },
    /// Start again what latched off.
    Restart,
    /// Blink, so that the unit can be found.
    Locate {
        /// Seconds; 0 stops.
        seconds: u8,
    },
}

impl Ask {
    /// The feature that a unit must have.
    pub const fn feature(self) -> Features {
        match self {
            Self::Fast(_) => Features::FAST_REPORTING,
            Self::AimSafeOn { .. } | Self::AimSafeOff => Features::AIM_SAFE,
            Self::IsolationTest { .. } => Features::ISOLATION_TEST,
            Self::Attenuation { .. } => Features::ATTENUATION,
            Self::Restart => Features::RESTART,
            Self::Locate { .. } => Features::LOCATE,
        }
    }

    /// Whether calls, gain or emission change: then the confirmation warns.
    pub const fn touches_radio(self) -> bool {
        !matches!(self, Self::Fast(_) | Self::Locate { .. })
    }

    /// The control point to write to.
    pub const fn characteristic(self) -> Characteristic {
        match self {
            Self::Fast(_) => Characteristic::ReportControl,
            _ => Characteristic::UnitControl,
        }
    }

    /// The value to write.
    pub fn bytes(self) -> RawBytes {
        let unit = match self {
            Self::Fast(on) => return RawBytes::from_slice(&ReportRequest::Fast(on).encode()),
            Self::AimSafeOn { restore_s } => UnitRequest::AimSafeOn { restore_s },
            Self::AimSafeOff => UnitRequest::AimSafeOff,
            Self::IsolationTest { band } => UnitRequest::IsolationTest { band },
            Self::Attenuation {
                band,
                direction,
                value,
            } => UnitRequest::Attenuation {
                band,
                direction,
                value,
            },
            Self::Restart => UnitRequest::Restart,
            Self::Locate { seconds } => UnitRequest::Locate { seconds },
        };
        RawBytes::from_slice(&unit.encode())
    }

    /// What was written, understood; `None` for what this program never asks for.
    pub fn of(characteristic: Characteristic, bytes: &[u8]) -> Option<Self> {
        match characteristic {
            Characteristic::ReportControl => match ReportRequest::decode(bytes).ok()? {
                ReportRequest::Fast(on) => Some(Self::Fast(on)),
                ReportRequest::Interval(_) => None,
            },
            Characteristic::UnitControl => Some(match UnitRequest::decode(bytes).ok()? {
                UnitRequest::AimSafeOn { restore_s } => Self::AimSafeOn { restore_s },
                UnitRequest::AimSafeOff => Self::AimSafeOff,
                UnitRequest::IsolationTest { band } => Self::IsolationTest { band },
                UnitRequest::Attenuation {
                    band,
                    direction,
                    value,
                } => Self::Attenuation {
                    band,
                    direction,
                    value,
                },
                UnitRequest::Restart => Self::Restart,
                UnitRequest::Locate { seconds } => Self::Locate { seconds },
                UnitRequest::Mute { .. } => return None,
            }),
            _ => None,
        }
    }

    /// What the link is to be asked for.
    pub fn request(self) -> Request {
        Request::Write {
            characteristic: self.characteristic(),
            bytes: self.bytes(),
        }
    }

    /// Why it cannot be asked for now, in words with the next step.
    ///
    /// # Errors
    /// The link is not live, or the unit does not offer it.
    pub fn check(self, fold: &Fold) -> Result<(), Reply> {
        let state = fold.link().state;
        if state != LinkState::Live {
            return Err(Reply {
                meaning: format!("Nothing can be asked of the unit: the link is {state}."),
                next_step: "Wait until it is live, then ask again.".to_owned(),
            });
        }
        if !self.is_offered(fold.telemetry().identity()) {
            return Err(not_offered());
        }
        Ok(())
    }

    /// Whether the unit says that it can do this.
    pub fn is_offered(self, identity: &Identity) -> bool {
        identity
            .feature
            .is_some_and(|f| f.features.contains(self.feature()))
    }

    /// What is asked for, in a few words: `aim-safe for 10 min`.
    pub fn title(self, identity: &Identity) -> String {
        match self {
            Self::Fast(true) => "fast reporting".to_owned(),
            Self::Fast(false) => "reporting at the usual interval".to_owned(),
            Self::AimSafeOn { restore_s } => format!("aim-safe for {}", minutes(restore_s)),
            Self::AimSafeOff => "end of aim-safe".to_owned(),
            Self::IsolationTest { band: None } => "isolation test of all bands".to_owned(),
            Self::IsolationTest { band: Some(band) } => format!("isolation test of {}", name(band, identity)),
            Self::Attenuation {
                band,
                direction,
                value,
            } => format!(
                "attenuation of {value} in the {} of {}",
                way(direction),
                name(band, identity)
            ),
            Self::Restart => "restart after latching off".to_owned(),
            Self::Locate { seconds: 0 } => "end of blinking".to_owned(),
            Self::Locate { seconds } => format!("blinking for {seconds} s"),
        }
    }
}

/// Name of a band by its index in the band table.
fn name(band: u8, identity: &Identity) -> String {
    match identity.position(band) {
        Some(position) => identity.name(position).to_owned(),
        None => format!("band {band}"),
    }
}

fn way(direction: Direction) -> &'static str {
    match direction {
        Direction::Downlink => "downlink",
        Direction::Uplink => "uplink",
        _ => "downlink and uplink",
    }
}

/// Seconds in the unit that a person uses.
fn minutes(seconds: u16) -> String {
    match (seconds / 60, seconds % 60) {
        (0, s) => format!("{s} s"),
        (m, 0) => format!("{m} min"),
        (m, s) => format!("{m} min {s} s"),
    }
}
