//! Booster Feature: what the unit is and can do.

use crate::bytes::{AttributeBytes, Reader, Writer};
use crate::error::DecodeError;
use crate::open::open_enum;

/// Length of the Booster Feature value in this version, in bytes.
pub const FEATURE_LEN: usize = 24;

/// Version of the profile. A console reads every minor version of a major version that it knows.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Version {
    /// Changes when old consoles can no longer read the unit.
    pub major: u8,
    /// Changes when something was added.
    pub minor: u8,
}

open_enum! {
    /// The rule set that the unit enforces on its own gain and noise.
    pub enum Regulation: u8 {
        /// No rule set in force (industrial unit, operator's own).
        None = 0 => "none",
        /// United States, 47 CFR 20.21 wideband consumer booster.
        UsWideband = 1 => "us-wideband",
        /// United States, 47 CFR 20.21 provider-specific consumer booster.
        UsProviderSpecific = 2 => "us-provider-specific",
        /// United Kingdom, licence-exempt static indoor repeater.
        UkStaticIndoor = 3 => "uk-static-indoor",
    }
}

/// Feature bits (32). A clear bit means that the unit never reports the field or refuses the procedure.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Features(pub u32);

macro_rules! features {
    ($( $(#[$meta:meta])* $name:ident = $bit:literal => $text:literal, )*) => {
        impl Features {
            $( $(#[$meta])* pub const $name: Features = Features(1 << $bit); )*
            /// Every defined bit with its name, in order.
            pub const NAMES: &[(Features, &'static str)] = &[$( (Features::$name, $text), )*];
        }
    };
}

features! {
    /// Telemetry carries downlink isolation.
    DL_ISOLATION = 0 => "dl-isolation",
    /// Telemetry carries uplink isolation.
    UL_ISOLATION = 1 => "ul-isolation",
    /// Telemetry carries downlink output.
    DL_OUTPUT = 2 => "dl-output",
    /// Telemetry carries uplink input.
    UL_INPUT = 3 => "ul-input",
    /// Telemetry carries the wanted cell.
    WANTED_CELL = 4 => "wanted-cell",
    /// Telemetry carries the gain that was set.
    GAIN_SET = 5 => "gain-set",
    /// Telemetry carries the gain that the rules allow now.
    GAIN_ALLOWED = 6 => "gain-allowed",
    /// The unit sends Cell Reports.
    CELL_REPORTS = 7 => "cell-reports",
    /// The unit detects oscillation and says so.
    OSCILLATION_FLAG = 8 => "oscillation-flag",
    /// The unit keeps a history of band telemetry at 1 Hz.
    HISTORY = 9 => "history",
    /// Fast reporting for aiming can be asked for.
    FAST_REPORTING = 10 => "fast-reporting",
    /// Aim-safe can be switched on and off.
    AIM_SAFE = 11 => "aim-safe",
    /// An isolation test can be started (it radiates).
    ISOLATION_TEST = 12 => "isolation-test",
    /// Attenuation can be set per band and direction.
    ATTENUATION = 13 => "attenuation",
    /// A restart after latching off can be asked for.
    RESTART = 14 => "restart",
    /// The unit can blink to be found.
    LOCATE = 15 => "locate",
    /// A direction can be muted.
    MUTE = 16 => "mute",
    /// Gain follows the measured isolation: a thin margin shows as gain given up.
    SELF_ADAPTING = 17 => "self-adapting",
    /// The uplink mutes itself while no handset is active.
    IDLE_MUTE = 18 => "idle-mute",
}

impl Features {
    /// Whether every bit of `other` is set here.
    pub const fn contains(self, other: Features) -> bool {
        self.0 & other.0 == other.0
    }

    /// Both sets together.
    pub const fn with(self, other: Features) -> Features {
        Features(self.0 | other.0)
    }

    /// This set without the bits of `other`.
    pub const fn without(self, other: Features) -> Features {
        Features(self.0 & !other.0)
    }
}

/// Booster Feature, 24 bytes:
///
/// | offset | field | type | unit |
/// | --- | --- | --- | --- |
/// | 0 | major version | u8 | |
/// | 1 | minor version | u8 | |
/// | 2 | feature bits | u32 | |
/// | 6 | number of bands | u8 | 1…16 |
/// | 7 | regulation in force | u8 | |
/// | 8 | shortest report interval | u16 | ms |
/// | 10 | longest report interval | u16 | ms |
/// | 12 | default report interval | u16 | ms |
/// | 14 | boot id | u32 | |
/// | 18 | event log capacity | u16 | records |
/// | 20 | history capacity | u32 | records |
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct BoosterFeature {
    /// Version of the profile that the unit speaks.
    pub version: Version,
    /// What the unit reports and obeys.
    pub features: Features,
    /// Number of entries in the Band Table.
    pub bands: u8,
    /// Rule set in force.
    pub regulation: Regulation,
    /// Shortest report interval that can be asked for, ms.
    pub min_interval_ms: u16,
    /// Longest report interval that can be asked for, ms.
    pub max_interval_ms: u16,
    /// Report interval at the start of each connection, ms.
    pub default_interval_ms: u16,
    /// Drawn at random at each start; its low four bits differ from those of the start before.
    pub boot_id: u32,
    /// Records that the event log holds.
    pub event_capacity: u16,
    /// Records that the history holds.
    pub history_capacity: u32,
}

impl BoosterFeature {
    /// Decodes a value read from the unit.
    ///
    /// # Errors
    /// [`DecodeError::MajorVersion`] for another major version (before anything else is looked at),
    /// [`DecodeError::Short`], [`DecodeError::Contradictory`] for no bands or more than 16, or for interval limits out
    /// of order.
    pub fn decode(bytes: &[u8]) -> Result<Self, DecodeError> {
        let mut r = Reader::new(bytes);
        r.need(2)?;
        let version = Version {
            major: r.u8()?,
            minor: r.u8()?,
        };
        if version.major != crate::PROFILE_VERSION.major {
            return Err(DecodeError::MajorVersion { major: version.major });
        }
        r.need(FEATURE_LEN)?;
        let value = Self {
            version,
            features: Features(r.u32()?),
            bands: r.u8()?,
            regulation: Regulation::from_raw(r.u8()?),
            min_interval_ms: r.u16()?,
            max_interval_ms: r.u16()?,
            default_interval_ms: r.u16()?,
            boot_id: r.u32()?,
            event_capacity: r.u16()?,
            history_capacity: r.u32()?,
        };
        if value.bands == 0 || usize::from(value.bands) > crate::MAX_BANDS {
            return Err(DecodeError::Contradictory("number of bands outside 1 to 16"));
        }
        let ordered = value.min_interval_ms <= value.default_interval_ms
            && value.default_interval_ms <= value.max_interval_ms;
        if !ordered || value.min_interval_ms == 0 {
            return Err(DecodeError::Contradictory("report interval limits out of order"));
        }
        Ok(value)
    }

    /// Encodes the value, 24 bytes.
    pub fn encode(&self) -> AttributeBytes {
        let mut w = Writer::new();
        w.u8(self.version.major);
        w.u8(self.version.minor);
        w.u32(self.features.0);
        w.u8(self.bands);
        w.u8(self.regulation.raw());
        w.u16(self.min_interval_ms);
        w.u16(self.max_interval_ms);
        w.u16(self.default_interval_ms);
        w.u32(self.boot_id);
        w.u16(self.event_capacity);
        w.u32(self.history_capacity);
        w.0
    }
}
