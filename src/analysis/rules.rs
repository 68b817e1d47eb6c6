//! Rules: each judges one thing, from one reading and what is remembered of its band.

mod donor_overload;
mod gain_held_back;
mod implausible_reading;
mod latched_off;
mod lossy_telemetry;
mod low_loop_margin;
mod oscillation;
mod weak_donor;

pub use weak_donor::weak_input_dbm;

use super::latch::{Judgement, Timing};
use super::memory::Memory;
use super::{Code, Criteria, Evidence, Path, Severity};
use crate::telemetry::{Identity, Reading};
use booster_profile::{Band, DirectionState, Features, Reasons, TenthDb};

/// What a rule may look at.
pub(super) struct Context<'a> {
    pub(super) criteria: &'a Criteria,
    pub(super) identity: &'a Identity,
    pub(super) band: &'a Band,
    pub(super) reading: &'a Reading,
    pub(super) memory: &'a Memory,
    pub(super) path: Path,
}

impl Context<'_> {
    fn by_path<T>(&self, dl: T, ul: T) -> T {
        match self.path {
            Path::Downlink => dl,
            Path::Uplink => ul,
        }
    }

    pub(super) fn gain(&self) -> Option<TenthDb> {
        self.by_path(self.reading.telemetry.dl_gain, self.reading.telemetry.ul_gain)
    }

    pub(super) fn gain_set(&self) -> Option<TenthDb> {
        let extra = &self.reading.telemetry.extra;
        self.by_path(extra.dl_gain_set, extra.ul_gain_set)
    }

    pub(super) fn isolation(&self) -> Option<TenthDb> {
        let extra = &self.reading.telemetry.extra;
        self.by_path(extra.dl_isolation, extra.ul_isolation)
    }

    pub(super) fn state(&self) -> DirectionState {
        self.by_path(self.reading.telemetry.dl_state, self.reading.telemetry.ul_state)
    }

    pub(super) fn reasons(&self) -> Reasons {
        self.by_path(
            self.reading.telemetry.dl_reasons,
            self.reading.telemetry.ul_reasons,
        )
    }

    /// Whether the direction passes signal with the gain that telemetry states.
    pub(super) fn amplifies(&self) -> bool {
        matches!(self.state(), DirectionState::Normal | DirectionState::Limited)
    }

    pub(super) fn has(&self, feature: Features) -> bool {
        self.identity
            .feature
            .is_some_and(|f| f.features.contains(feature))
    }
}

/// Judges one thing, per band and path.
pub(super) trait Rule: Sync {
    /// Code of the finding.
    fn code(&self) -> Code;

    /// Whether the rule tells the paths apart; otherwise it is asked once, for the downlink.
    fn per_path(&self) -> bool;

    /// How long the condition must hold.
    fn timing(&self) -> Timing;

    /// The judgement of a reading.
    fn judge(&self, c: &Context<'_>) -> Judgement;

    /// Severity, asked when raised.
    fn severity(&self, c: &Context<'_>) -> Severity;

    /// Proof, asked when raised.
    fn evidence(&self, c: &Context<'_>) -> Vec<Evidence>;

    /// How many dB are missing to the limit with its headroom; remedies are sized by it.
    fn shortfall_db(&self, _: &Context<'_>) -> Option<f64> {
        None
    }
}

/// Every rule about readings, in the order in which a reading is judged.
pub(super) const RULES: [&dyn Rule; 8] = [
    &donor_overload::DonorOverload,
    &weak_donor::WeakDonor,
    &low_loop_margin::LowLoopMargin,
    &oscillation::Oscillation,
    &latched_off::LatchedOff,
    &gain_held_back::GainHeldBack,
    &implausible_reading::ImplausibleReading,
    &lossy_telemetry::LossyTelemetry,
];

/// A value and its limit: bad on one side, good on the other once the hysteresis is passed.
fn above(value: f64, limit: f64, hysteresis: f64) -> Judgement {
    if value >= limit {
        Judgement::Bad
    } else if value < limit - hysteresis {
        Judgement::Good
    } else {
        Judgement::Between
    }
}

/// As [`above`], with the bad side below.
fn below(value: f64, limit: f64, hysteresis: f64) -> Judgement {
    above(-value, -limit, hysteresis)
}
