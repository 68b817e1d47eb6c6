//! The values that Far and Trace can show, each with its limits and its word.

use super::condition::{Level, findings_of};
use crate::analysis::{Code, Path, weak_input_dbm};
use crate::fold::Fold;
use crate::telemetry::Reading;
use booster_profile::DirectionState;

/// A value of a band.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Quantity {
    /// The smaller loop margin of both directions.
    #[default]
    LoopMargin,
    /// Composite input at the donor port.
    Input,
    /// RSRP of the wanted cell.
    Rsrp,
    /// SINR of the wanted cell.
    Sinr,
}

impl Quantity {
    /// Every value, in the order in which a key steps through them.
    pub const ALL: &[Quantity] = &[Self::LoopMargin, Self::Input, Self::Rsrp, Self::Sinr];

    /// The next one, round and round.
    pub fn next(self) -> Self {
        let here = Self::ALL.iter().position(|q| *q == self).unwrap_or(0);
        Self::ALL[(here + 1) % Self::ALL.len()]
    }

    pub(crate) const fn name(self) -> &'static str {
        match self {
            Self::LoopMargin => "loop margin",
            Self::Input => "donor input",
            Self::Rsrp => "RSRP",
            Self::Sinr => "SINR",
        }
    }

    pub(crate) const fn unit(self) -> &'static str {
        match self {
            Self::LoopMargin | Self::Sinr => "dB",
            Self::Input | Self::Rsrp => "dBm",
        }
    }

    /// Ends of a useful scale.
    pub(crate) const fn scale(self) -> (f64, f64) {
        match self {
            Self::LoopMargin => (0.0, 40.0),
            Self::Input => (-110.0, -10.0),
            Self::Rsrp => (-130.0, -60.0),
            Self::Sinr => (-10.0, 30.0),
        }
    }

    /// The value in a reading. A loop that the guard holds has no margin, whatever the other direction has.
    pub(crate) fn of(self, reading: &Reading) -> Option<f64> {
        let t = &reading.telemetry;
        match self {
            Self::LoopMargin if held_by_guard(reading).is_some() => None,
            Self::LoopMargin => reading.margin().map(|v| v.db()),
            Self::Input => t.dl_input.map(|v| v.dbm()),
            Self::Rsrp => t.extra.cell.rsrp.map(|v| v.dbm()),
            Self::Sinr => t.extra.cell.sinr.map(|v| v.db()),
        }
    }

    /// Lower and upper limit in a band, where there are any.
    pub(crate) fn limits(self, fold: &Fold, position: usize) -> [Option<f64>; 2] {
        let criteria = fold.analyser().criteria();
        let band = fold.telemetry().identity().band(position);
        match self {
            Self::LoopMargin => [Some(criteria.margin.critical_db), Some(criteria.margin.min_db)],
            Self::Input => [
                band.map(|b| weak_input_dbm(b, criteria)),
                band.and_then(|b| Some(b.overload_level?.dbm())),
            ],
            Self::Rsrp | Self::Sinr => [None, None],
        }
    }

    /// How the value of a reading stands.
    pub(crate) fn stands(self, fold: &Fold, reading: &Reading) -> (Level, &'static str) {
        let found = |code| findings_of(fold, reading.position).any(|f| f.code == code);
        match self.of(reading) {
            Some(value) => match (self, self.judge(fold, reading.position, value)) {
                // A unit that adapts itself hides a thin margin by giving up gain.
                (Self::LoopMargin, (Level::Good, _)) if found(Code::LowLoopMargin) => {
                    (Level::Warn, "too small at the gain set")
                }
                (Self::Rsrp, _) if found(Code::WeakDonor) => (Level::Warn, "weak"),
                (_, judged) => judged,
            },
            None if self == Self::LoopMargin && held_by_guard(reading).is_some() => (Level::Bad, "guard"),
            None => (Level::Info, "not known"),
        }
    }

    /// How a value stands against its limits, in a word; no word where nothing says what is good.
    pub(super) fn judge(self, fold: &Fold, position: usize, value: f64) -> (Level, &'static str) {
        let [low, high] = self.limits(fold, position);
        match self {
            Self::LoopMargin if low.is_some_and(|l| value < l) => (Level::Bad, "critical"),
            Self::LoopMargin if high.is_some_and(|l| value < l) => (Level::Warn, "too small"),
            Self::Input if high.is_some_and(|l| value >= l) => (Level::Bad, "overload"),
            Self::Input if low.is_some_and(|l| value < l) => (Level::Warn, "weak"),
            Self::LoopMargin | Self::Input => (Level::Good, "good"),
            Self::Rsrp | Self::Sinr => (Level::Good, ""),
        }
    }
}

/// The direction that the oscillation guard acts on or has given up, if there is one.
pub(crate) fn held_by_guard(reading: &Reading) -> Option<Path> {
    let t = &reading.telemetry;
    let held = |state| matches!(state, DirectionState::Guard | DirectionState::LatchedOff);
    match (held(t.dl_state), held(t.ul_state)) {
        (true, _) => Some(Path::Downlink),
        (false, true) => Some(Path::Uplink),
        (false, false) => None,
    }
}
