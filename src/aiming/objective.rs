//! What a bearing is chosen for.

use radio::Db;
use serde::{Deserialize, Serialize};

/// SINR beyond which the highest modulation in use gains nothing more, dB (common practice, no source).
const SINR_CAP_DB: f64 = 22.0;

/// What a bearing is chosen for.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Objective {
    /// What the rooms will get: wanted level plus the gain that will be in effect, less what poor SINR costs.
    #[default]
    Service,
    /// Level of the wanted cell (RSRP).
    Level,
    /// SINR of the wanted cell.
    Quality,
}

impl Objective {
    /// Its name on the command line.
    pub fn name(self) -> &'static str {
        match self {
            Self::Service => "service",
            Self::Level => "level",
            Self::Quality => "quality",
        }
    }
}

/// What a band's input and amplifier make of a bearing; unknown is `None`.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Chain {
    /// Composite input, dBm.
    pub composite_dbm: Option<f64>,
    /// SINR of the wanted cell, dB.
    pub sinr_db: Option<f64>,
    /// Input above which the unit overloads, dBm.
    pub overload_dbm: Option<f64>,
    /// Rated output, dBm.
    pub rated_dbm: Option<f64>,
    /// Largest gain that settings and rules allow, dB.
    pub gain_db: Option<f64>,
}

impl Chain {
    /// Smallest attenuation in whole dB that takes the unit out of overload; 0 where the limit is not known.
    pub fn needs_attenuation(&self) -> Db {
        let excess = self
            .composite_dbm
            .zip(self.overload_dbm)
            .map(|(input, limit)| input - limit);
        Db(libm::ceil(excess.unwrap_or(0.0).max(0.0)))
    }

    /// What is added to the wanted level to score service, dB: what attenuation and a capped output take, and what
    /// SINR is short of the highest modulation. Aim-safe holds the gain down, so the gain is the one to come.
    pub fn service_offset(&self) -> Db {
        let attenuation = self.needs_attenuation().0;
        let kept = match (self.composite_dbm, self.rated_dbm, self.gain_db) {
            (Some(input), Some(rated), Some(gain)) => (rated - input + attenuation - gain).min(0.0),
            _ => 0.0,
        };
        let short = self.sinr_db.map_or(0.0, |sinr| (sinr - SINR_CAP_DB).min(0.0));
        Db(kept - attenuation + short)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_strong_bearing_is_scored_after_its_attenuation() {
        let chain = Chain {
            composite_dbm: Some(-24.6),
            sinr_db: Some(30.0),
            overload_dbm: Some(-30.0),
            rated_dbm: Some(20.0),
            gain_db: Some(60.0),
        };
        assert_eq!(chain.needs_attenuation(), Db(6.0));
        // Input after attenuation −30.6 dBm: 50.6 dB of gain until the output is full, 9.4 dB less than set.
        assert!((chain.service_offset().0 + 15.4).abs() < 1e-9);
        let unknown = Chain {
            overload_dbm: None,
            gain_db: None,
            ..chain
        };
        assert_eq!(
            (unknown.needs_attenuation(), unknown.service_offset()),
            (Db(0.0), Db(0.0))
        );
        let noisy = Chain {
            sinr_db: Some(7.0),
            composite_dbm: None,
            ..chain
        };
        assert_eq!(noisy.service_offset(), Db(-15.0));
    }
}
