//! Measuring errors: a detector's constant error, its jitter, and the tenths in which values travel.

use crate::rng::Rng;
use booster_profile::{TenthDb, TenthDbm};

/// A power detector or an isolation estimate of the unit.
#[derive(Clone, Debug)]
pub struct Meter {
    bias_db: f64,
    whole: bool,
}

/// Peak of the jitter of one reading, dB.
const JITTER_DB: f64 = 0.15;

impl Meter {
    /// A meter within ± `accuracy_db` of the truth: most are far better, so that a sixth of it is one standard
    /// deviation.
    pub fn new(accuracy_db: f64, rng: &mut Rng) -> Self {
        let bias_db = (rng.normal() * accuracy_db / 6.0).clamp(-accuracy_db, accuracy_db);
        Self {
            bias_db,
            whole: false,
        }
    }

    /// Sends whole dB from now on, or tenths.
    pub fn set_whole_db(&mut self, whole: bool) {
        self.whole = whole;
    }

    fn shown(&self, value: f64, rng: &mut Rng) -> f64 {
        let value = value + self.bias_db + JITTER_DB * (2.0 * rng.uniform() - 1.0);
        if self.whole { libm::round(value) } else { value }
    }

    /// A power as the unit reports it; `None` for no power at all.
    pub fn level(&self, power_mw: f64, rng: &mut Rng) -> Option<TenthDbm> {
        TenthDbm::from_units(self.shown(10.0 * libm::log10(power_mw), rng))
    }

    /// A ratio as the unit reports it.
    pub fn ratio(&self, db: f64, rng: &mut Rng) -> Option<TenthDb> {
        TenthDb::from_units(self.shown(db, rng))
    }
}
