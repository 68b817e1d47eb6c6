//! Findings: what is wrong, since when, with proof.

use super::Remedy;
use crate::event::SessionTime;

/// How bad it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Severity {
    /// Worth knowing.
    Info,
    /// Should be put right.
    Warning,
    /// Must be put right now.
    Critical,
}

impl Severity {
    /// Name in output.
    pub const fn name(self) -> &'static str {
        match self {
            Severity::Info => "info",
            Severity::Warning => "warning",
            Severity::Critical => "critical",
        }
    }
}

/// Which of the two paths through the unit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Path {
    /// From the network to the handset.
    Downlink,
    /// From the handset to the network.
    Uplink,
}

impl Path {
    /// Both paths.
    pub const BOTH: [Path; 2] = [Path::Downlink, Path::Uplink];

    /// Name in output.
    pub const fn name(self) -> &'static str {
        match self {
            Path::Downlink => "dl",
            Path::Uplink => "ul",
        }
    }

    /// Name in sentences.
    pub const fn word(self) -> &'static str {
        match self {
            Path::Downlink => "downlink",
            Path::Uplink => "uplink",
        }
    }
}

macro_rules! codes {
    ($( $(#[$meta:meta])* $variant:ident => $name:literal, )*) => {
        /// What a finding is about.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Code {
            $( $(#[$meta])* $variant, )*
        }

        impl Code {
            /// Every code.
            pub const ALL: &[Code] = &[$( Code::$variant, )*];

            /// Name in output.
            pub const fn name(self) -> &'static str {
                match self {
                    $( Code::$variant => $name, )*
                }
            }
        }
    };
}

codes! {
    /// Composite input beyond what the unit can take in this band.
    DonorOverload => "donor-overload",
    /// The whole receiver is overloaded, perhaps by something outside the band.
    FrontEndOverload => "front-end-overload",
    /// Another carrier in the band uses up the headroom.
    NearFar => "near-far",
    /// Too little wanted signal.
    WeakDonor => "weak-donor",
    /// The level is fine, the quality is not.
    NoisyDonor => "noisy-donor",
    /// Isolation minus gain below plan.
    LowLoopMargin => "low-loop-margin",
    /// The loop oscillates or the guard acts, as the unit says.
    Oscillation => "oscillation",
    /// The loop oscillates and the unit does not say so.
    OscillationUnflagged => "oscillation-unflagged",
    /// The guard gave up.
    LatchedOff => "latched-off",
    /// Gain below what was set.
    GainHeldBack => "gain-held-back",
    /// Noise sent to the base station above what is allowed or wise.
    UplinkNoise => "uplink-noise",
    /// A handset drives the uplink into limiting.
    UplinkOverload => "uplink-overload",
    /// No uplink: idle or prevented.
    UplinkMuted => "uplink-muted",
    /// Uplink and downlink gain differ.
    GainImbalance => "gain-imbalance",
    /// Sudden lasting drop of the level.
    StepLoss => "step-loss",
    /// Slow drop of the level.
    CreepingLoss => "creeping-loss",
    /// The level swings, as in the wind.
    SwayingLevel => "swaying-level",
    /// A TDD band has lost frame synchronisation.
    SyncLost => "sync-lost",
    /// The unit is too hot.
    HotUnit => "hot-unit",
    /// The supply sags.
    SupplyDip => "supply-dip",
    /// The unit starts again and again.
    Restarting => "restarting",
    /// A port or the enclosure is not as it should be.
    PortFault => "port-fault",
    /// The operator has not enabled or registered the unit.
    NotAuthorized => "not-authorized",
    /// Readings are missing.
    LossyTelemetry => "lossy-telemetry",
    /// Readings stopped.
    StaleTelemetry => "stale-telemetry",
    /// Values contradict each other.
    ImplausibleReading => "implausible-reading",
}

/// What a finding refers to: the unit, or a direction of a band.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Subject {
    /// Position of the band in the band table; `None` for the whole unit.
    pub band: Option<usize>,
    /// Direction; `None` for both or where it makes no difference.
    pub path: Option<Path>,
}

impl Subject {
    /// The whole unit.
    pub const UNIT: Subject = Subject {
        band: None,
        path: None,
    };
}

/// A value that proves a finding. The name ends with the unit of the value (`_dbm`, `_db`, `_s`, `_share`).
#[derive(Clone, Debug, PartialEq)]
pub struct Evidence {
    /// Name, snake case with unit.
    pub name: &'static str,
    /// Value.
    pub value: EvidenceValue,
}

/// Value of a piece of evidence.
#[derive(Clone, Debug, PartialEq)]
pub enum EvidenceValue {
    /// A number, rounded to tenths when raised.
    Number(f64),
    /// Words.
    Text(String),
}

impl Evidence {
    /// A number, rounded to tenths: evidence is for reading, and prints the same everywhere.
    pub fn number(name: &'static str, value: f64) -> Self {
        Self {
            name,
            value: EvidenceValue::Number((value * 10.0).round() / 10.0),
        }
    }

    /// Words.
    pub fn text(name: &'static str, value: impl Into<String>) -> Self {
        Self {
            name,
            value: EvidenceValue::Text(value.into()),
        }
    }
}

/// What is wrong, since when, with proof and remedies.
#[derive(Clone, Debug, PartialEq)]
pub struct Finding {
    /// Kind.
    pub code: Code,
    /// Severity when raised.
    pub severity: Severity,
    /// Band and direction.
    pub subject: Subject,
    /// When it was raised.
    pub raised: SessionTime,
    /// When it was cleared, if it was.
    pub cleared: Option<SessionTime>,
    /// Proof, at the time it was raised; while it is open, renewed when its size changes.
    pub evidence: Vec<Evidence>,
    /// One sentence: what it means.
    pub meaning: String,
    /// Likely causes, likeliest first.
    pub causes: Vec<&'static str>,
    /// Remedies, in the order to try them; while it is open, sized anew when its size changes.
    pub remedies: Vec<Remedy>,
}

impl Finding {
    /// Whether it still holds.
    pub fn is_open(&self) -> bool {
        self.cleared.is_none()
    }
}
