//! Rules: each judges one thing, from one reading or status and what is remembered of its band or of the unit.

mod band_facts;
mod context;
mod creeping_loss;
mod donor_overload;
mod front_end_overload;
mod gain_held_back;
mod gain_imbalance;
mod hot_unit;
mod implausible_reading;
mod latched_off;
mod lossy_telemetry;
mod low_loop_margin;
mod near_far;
mod noisy_donor;
mod not_authorized;
mod oscillation;
mod oscillation_unflagged;
mod port_fault;
mod restarting;
mod step_loss;
mod supply_dip;
mod swaying_level;
mod sync_lost;
mod uplink_muted;
mod uplink_noise;
mod uplink_overload;
mod values;
mod weak_donor;

pub(super) use band_facts::BandFacts;
pub use band_facts::weak_input_dbm;
pub(super) use context::{Context, UnitContext};
pub(super) use step_loss::all_dropped;
pub(super) use swaying_level::swings;
pub(super) use uplink_noise::quiet_db;
pub(super) use values::Values;

use super::catalogue::{Figures, Situation};
use super::latch::{Judgement, Timing};
use super::{Code, Evidence, Path, Severity};

/// Judges one thing, per band and path, at every reading.
pub(super) trait Rule: Sync {
    /// Code of the finding.
    fn code(&self) -> Code;

    /// The paths that it tells apart; with one path the finding may still name none (see [`Rule::names_path`]).
    fn paths(&self) -> &'static [Path];

    /// Whether its findings name the path.
    fn names_path(&self) -> bool {
        true
    }

    /// How long the condition must hold.
    fn timing(&self) -> Timing;

    /// The judgement of a reading.
    fn judge(&self, c: &Context<'_>) -> Judgement;

    /// Severity, asked when raised.
    fn severity(&self, c: &Context<'_>) -> Severity;

    /// Proof, asked when raised.
    fn evidence(&self, c: &Context<'_>) -> Vec<Evidence>;

    /// What remedies are sized by, asked when raised.
    fn figures(&self, _: &Context<'_>) -> Figures {
        Figures::default()
    }

    /// What the words depend on beside the code, asked when raised.
    fn situation(&self, _: &Context<'_>) -> Situation {
        Situation::Plain
    }
}

/// Judges one thing of the whole unit, at every status, event and round of readings.
pub(super) trait UnitRule: Sync {
    /// Code of the finding.
    fn code(&self) -> Code;

    /// How long the condition must hold.
    fn timing(&self) -> Timing {
        Timing::millis(0, 0)
    }

    /// The judgement now.
    fn judge(&self, c: &UnitContext<'_>) -> Judgement;

    /// Severity, asked when raised.
    fn severity(&self, _: &UnitContext<'_>) -> Severity {
        Severity::Warning
    }

    /// Proof, asked when raised.
    fn evidence(&self, c: &UnitContext<'_>) -> Vec<Evidence>;

    /// What remedies are sized by, asked when raised.
    fn figures(&self, _: &UnitContext<'_>) -> Figures {
        Figures::default()
    }

    /// What the words depend on beside the code, asked when raised.
    fn situation(&self, _: &UnitContext<'_>) -> Situation {
        Situation::Plain
    }
}

const BOTH: &[Path] = &Path::BOTH;
const DOWNLINK: &[Path] = &[Path::Downlink];
const UPLINK: &[Path] = &[Path::Uplink];

/// Every rule about readings, in the order in which a reading is judged.
pub(super) const RULES: [&dyn Rule; 15] = [
    &donor_overload::DonorOverload,
    &near_far::NearFar,
    &weak_donor::WeakDonor,
    &noisy_donor::NoisyDonor,
    &low_loop_margin::LowLoopMargin,
    &oscillation::Oscillation,
    &oscillation_unflagged::OscillationUnflagged,
    &latched_off::LatchedOff,
    &gain_held_back::GainHeldBack,
    &gain_imbalance::GainImbalance,
    &uplink_noise::UplinkNoise,
    &uplink_overload::UplinkOverload,
    &uplink_muted::UplinkMuted,
    &step_loss::BandStepLoss,
    &implausible_reading::ImplausibleReading,
];

/// Every rule about the unit.
pub(super) const UNIT_RULES: [&dyn UnitRule; 11] = [
    &front_end_overload::FrontEndOverload,
    &step_loss::StepLoss,
    &creeping_loss::CreepingLoss,
    &swaying_level::SwayingLevel,
    &sync_lost::SyncLost,
    &hot_unit::HotUnit,
    &supply_dip::SupplyDip,
    &restarting::Restarting,
    &port_fault::PortFault,
    &not_authorized::NotAuthorized,
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

/// A condition that holds or does not.
fn holds(bad: bool) -> Judgement {
    if bad { Judgement::Bad } else { Judgement::Good }
}

/// Evidence of those values that are known.
fn known<const N: usize>(evidence: [Option<Evidence>; N]) -> Vec<Evidence> {
    evidence.into_iter().flatten().collect()
}

/// A number as evidence, where it is known.
fn number(name: &'static str, value: Option<f64>) -> Option<Evidence> {
    value.map(|v| Evidence::number(name, v))
}
