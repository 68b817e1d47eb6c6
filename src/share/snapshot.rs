//! The state of a session as the page draws it: what the console shows, in the same words, taken from the same
//! [`Fold`]. Unknown is `null`.

mod aim;
mod band;
mod safe;
mod worst;

pub use aim::AimPicture;
pub use band::{BandPicture, ValuePicture};
pub use safe::{AIM_SAFE, AimSafe};
pub use worst::FindingPicture;

use super::Permission;
use crate::console::condition::{Data, data, worst_first};
use crate::event::{LinkState, SessionTime};
use crate::fold::Fold;
use serde::Serialize;

/// What the snapshot says about the program rather than the unit.
#[derive(Clone, Debug, Default)]
pub struct About {
    /// Session time now.
    pub now: SessionTime,
    /// Where values come from: nothing for a unit, else a word that the page shows, such as `simulated`.
    pub origin: Option<&'static str>,
    /// What pages may ask for.
    pub permission: Permission,
    /// When a page asked for aim-safe last.
    pub aim_safe_asked: Option<SessionTime>,
    /// The session is over.
    pub ended: bool,
}

/// The state at one moment.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Snapshot {
    /// Session time, s.
    pub t_s: f64,
    /// The session is over.
    pub ended: bool,
    /// `simulated` or `recorded`; `None` for a unit.
    pub origin: Option<&'static str>,
    /// Model of the unit.
    pub unit: Option<String>,
    /// State of the link in words.
    pub link: String,
    /// Whether to trust the values.
    pub data: DataPicture,
    /// Bands, worst first.
    pub bands: Vec<BandPicture>,
    /// The worst open finding.
    pub finding: Option<FindingPicture>,
    /// Sound the alarm: `overload` or `oscillation`.
    pub alarm: Option<&'static str>,
    /// Aim-safe.
    pub aim_safe: AimSafe,
    /// The aim; `None` without one.
    pub aim: Option<AimPicture>,
    /// Steps may be asked for.
    pub may_step: bool,
}

/// Whether the values can be trusted.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct DataPicture {
    /// `none`, `good` or `bad`.
    pub state: &'static str,
    /// Why they are bad.
    pub why: &'static str,
}

/// A snapshot with the time of the server at which it was sent: the page sees from it whether it comes late.
#[derive(Debug, Serialize)]
pub(super) struct Stamped<'a> {
    pub(super) sent_ms: u64,
    #[serde(flatten)]
    pub(super) state: &'a Snapshot,
}

impl Snapshot {
    /// The state now.
    pub fn of(fold: &Fold, about: &About) -> Self {
        let (state, why) = match data(fold, about.now) {
            Data::None => ("none", ""),
            Data::Good => ("good", ""),
            Data::Bad(why) => ("bad", why),
        };
        let bands: Vec<BandPicture> = worst_first(fold)
            .into_iter()
            .filter_map(|position| BandPicture::of(fold, position, about.now))
            .collect();
        let live = fold.link().state == LinkState::Live;
        Self {
            t_s: about.now.seconds(),
            ended: about.ended,
            origin: about.origin,
            unit: fold.telemetry().identity().device.model.clone(),
            link: fold.link().state.name().replace('-', " "),
            data: DataPicture { state, why },
            alarm: worst::alarm(fold, &bands).filter(|_| live && !about.ended),
            bands,
            finding: FindingPicture::worst(fold, about.now),
            aim_safe: AimSafe::of(fold, about),
            aim: AimPicture::of(fold, about.now),
            may_step: about.permission.steps,
        }
    }
}

#[cfg(test)]
mod tests;
