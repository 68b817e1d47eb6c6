//! Families of sites drawn from a seed: healthy ones, and one for each fault with its size and onset known. Trials of
//! the analyser run over them with seeds that nobody tuned on.

mod faults;
mod healthy;

use crate::rng::Rng;
use crate::scenario::{FieldSpec, GuardSpec, Scenario, Way};

/// What kind of site.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Family {
    /// Fading, traffic, handovers, people, doors, wind within limits, lawful gain reduction: nothing to find.
    Healthy,
    /// Input beyond what AGC can take away, by 1 dB or more.
    DonorOverload,
    /// A carrier outside the bands overloads the whole receiver.
    FrontEndOverload,
    /// Another operator's carrier takes the headroom of a weak wanted cell.
    NearFar,
    /// The wanted cell becomes too weak.
    WeakDonor,
    /// Interference in the band.
    NoisyDonor,
    /// Isolation falls below plan, no oscillation.
    LowLoopMargin,
    /// Isolation falls below gain; the unit says so.
    Oscillation,
    /// Isolation falls below gain; the unit says nothing.
    OscillationUnflagged,
    /// Isolation stays below gain until the guard gives up.
    LatchedOff,
    /// A self-adapting unit gives up gain as isolation falls.
    GainHeldBack,
    /// The uplink sends too much noise.
    UplinkNoise,
    /// A handset overdrives the uplink.
    UplinkOverload,
    /// Uplink and downlink gain drift apart.
    GainImbalance,
    /// The donor line suddenly loses more, on all bands.
    StepLoss,
    /// The donor line slowly loses more, most on high bands.
    CreepingLoss,
    /// Wind moves the antenna.
    SwayingLevel,
    /// A TDD band transmits without frame synchronisation.
    SyncLost,
    /// The unit is too hot.
    HotUnit,
    /// The supply sags.
    SupplyDip,
    /// The unit restarts again and again.
    Restarting,
    /// An antenna port is open, short or poorly matched.
    PortFault,
    /// The operator withdraws its permission.
    NotAuthorized,
    /// The unit's values contradict each other.
    ImplausibleReading,
}

use Family as F;

impl Family {
    /// Every family.
    pub const ALL: [Family; 24] = [
        F::Healthy,
        F::DonorOverload,
        F::FrontEndOverload,
        F::NearFar,
        F::WeakDonor,
        F::NoisyDonor,
        F::LowLoopMargin,
        F::Oscillation,
        F::OscillationUnflagged,
        F::LatchedOff,
        F::GainHeldBack,
        F::UplinkNoise,
        F::UplinkOverload,
        F::GainImbalance,
        F::StepLoss,
        F::CreepingLoss,
        F::SwayingLevel,
        F::SyncLost,
        F::HotUnit,
        F::SupplyDip,
        F::Restarting,
        F::PortFault,
        F::NotAuthorized,
        F::ImplausibleReading,
    ];

    /// Code of the finding that the analyser should raise; `None` for healthy sites.
    pub const fn code(self) -> Option<&'static str> {
        Some(match self {
            F::Healthy => return None,
            F::DonorOverload => "donor-overload",
            F::FrontEndOverload => "front-end-overload",
            F::NearFar => "near-far",
            F::WeakDonor => "weak-donor",
            F::NoisyDonor => "noisy-donor",
            F::LowLoopMargin => "low-loop-margin",
            F::Oscillation => "oscillation",
            F::OscillationUnflagged => "oscillation-unflagged",
            F::LatchedOff => "latched-off",
            F::GainHeldBack => "gain-held-back",
            F::UplinkNoise => "uplink-noise",
            F::UplinkOverload => "uplink-overload",
            F::GainImbalance => "gain-imbalance",
            F::StepLoss => "step-loss",
            F::CreepingLoss => "creeping-loss",
            F::SwayingLevel => "swaying-level",
            F::SyncLost => "sync-lost",
            F::HotUnit => "hot-unit",
            F::SupplyDip => "supply-dip",
            F::Restarting => "restarting",
            F::PortFault => "port-fault",
            F::NotAuthorized => "not-authorized",
            F::ImplausibleReading => "implausible-reading",
        })
    }
}

/// How the unit reports.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reporting {
    /// Report interval, ms.
    pub report_ms: u16,
    /// Only the mandatory fields.
    pub mandatory_only: bool,
    /// Probability that a notification is lost.
    pub loss: f64,
}

impl Reporting {
    /// Ten readings a second, every field, nothing lost.
    pub const FULL: Reporting = Reporting {
        report_ms: 100,
        mandatory_only: false,
        loss: 0.0,
    };
}

/// A fault whose size and onset are known.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fault {
    /// Code of the finding.
    pub code: &'static str,
    /// Band by index; `None` for the whole unit.
    pub band: Option<usize>,
    /// Direction, where it has one.
    pub way: Option<Way>,
    /// When it is injected, s. With a ramp or a slow cause (heat) the limit is crossed later: the simulation tells the
    /// true input, isolation and margin at any moment.
    pub onset_s: f64,
    /// When it is taken away again, s; infinite if it lasts.
    pub until_s: f64,
    /// How far beyond its limit, dB (°C for heat, V for the supply, 0 where it has no size).
    pub size: f64,
}

/// A site that was drawn.
#[derive(Clone, Debug, PartialEq)]
pub struct Site {
    /// The scenario.
    pub scenario: Scenario,
    /// The fault in it, none in healthy sites.
    pub fault: Option<Fault>,
}

/// Draws the site of a family and a seed; the same seed gives the same site.
pub fn site(seed: u64, family: Family, reporting: &Reporting) -> Site {
    let mut rng = Rng::stream(seed, "site", family as usize);
    // What the line or the mast does is told from one cell's fading by several bands together.
    let least = if matches!(family, F::StepLoss | F::CreepingLoss | F::SwayingLevel) {
        2
    } else {
        1
    };
    let mut scenario = healthy::site(&mut rng, least, family == F::SyncLost);
    scenario.name = format!("{}-{seed}", family.code().unwrap_or("healthy"));
    scenario.title.clone_from(&scenario.name);
    scenario.unit.report_ms = reporting.report_ms;
    scenario.unit.max_report_ms = scenario.unit.max_report_ms.max(reporting.report_ms);
    scenario.transport.loss = reporting.loss;
    if family == F::OscillationUnflagged {
        scenario.unit.guard = GuardSpec {
            present: false,
            ..GuardSpec::default()
        };
        scenario.unit.fields.retain(|f| *f != FieldSpec::OscillationFlag);
    }
    if reporting.mandatory_only {
        scenario.unit.fields.retain(|f| *f == FieldSpec::OscillationFlag);
    }
    let fault = match family {
        F::Healthy => {
            healthy::life(&mut scenario, &mut rng);
            None
        }
        _ => faults::inject(&mut scenario, family, &mut rng),
    };
    Site { scenario, fault }
}
