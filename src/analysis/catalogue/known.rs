//! What remedies are worked out from, beside the size of the finding.

use crate::analysis::Path;
use crate::analysis::rules::{Context, quiet_db};
use booster_profile::{Regulation, TenthDb, TenthDbm};

/// One direction of a band, as far as the unit tells.
#[derive(Clone, Copy, Debug, Default)]
pub(in crate::analysis) struct Side {
    /// Gain in effect, dB.
    pub(in crate::analysis) gain_db: Option<f64>,
    /// Gain that is set, dB.
    pub(in crate::analysis) set_db: Option<f64>,
    /// Isolation, dB.
    pub(in crate::analysis) isolation_db: Option<f64>,
    /// Composite input, dBm.
    pub(in crate::analysis) input_dbm: Option<f64>,
    /// Input from which on gain control gives up gain, dBm.
    pub(in crate::analysis) onset_dbm: Option<f64>,
}

impl Side {
    /// Loop margin at the gain that is set, dB.
    pub(super) fn margin_db(&self) -> Option<f64> {
        Some(self.isolation_db? - self.set_db.or(self.gain_db)?)
    }

    /// Gain given up, dB.
    pub(super) fn given_up_db(&self) -> Option<f64> {
        Some(self.set_db? - self.gain_db?)
    }

    /// How far the input lies beyond the point from which on it costs gain, dB.
    pub(super) fn beyond_onset_db(&self) -> Option<f64> {
        Some(self.input_dbm? - self.onset_dbm?)
    }
}

/// What is known of a band.
#[derive(Clone, Copy, Debug, Default)]
pub(in crate::analysis) struct Known {
    /// Position of the band.
    pub(in crate::analysis) band: usize,
    /// Downlink and uplink.
    pub(in crate::analysis) sides: [Side; 2],
    /// Centre of the uplink, MHz.
    pub(in crate::analysis) ul_mhz: Option<f64>,
    /// How far the level lies below what it was in this session, dB, where it fell.
    pub(in crate::analysis) fell_db: Option<f64>,
    /// What the donor line may lose before the weakest band is starved, dB.
    pub(in crate::analysis) line_spare_db: Option<f64>,
    /// Distance of the uplink's noise from its limit, dB; negative beyond it.
    pub(in crate::analysis) quiet_db: Option<f64>,
    /// Loop margin that is planned, dB.
    pub(in crate::analysis) planned_margin_db: f64,
    /// The rules want the same gain in both directions.
    pub(in crate::analysis) equal_gain: bool,
}

impl Known {
    /// What is known from a reading and the memory of its band.
    pub(in crate::analysis) fn of(c: &Context<'_>) -> Self {
        let t = &c.reading.telemetry;
        let db = |v: Option<TenthDb>| v.map(TenthDb::db);
        let dbm = |v: Option<TenthDbm>| v.map(TenthDbm::dbm);
        let onset = |rated, gain| dbm(rated).zip(db(gain)).map(|(rated, gain)| rated - gain);
        let sides = [
            Side {
                gain_db: db(t.dl_gain),
                set_db: db(t.extra.dl_gain_set),
                isolation_db: db(t.extra.dl_isolation),
                input_dbm: dbm(t.dl_input),
                onset_dbm: onset(c.band.rated_dl_output, t.extra.dl_gain_set.or(c.band.max_dl_gain)),
            },
            Side {
                gain_db: db(t.ul_gain),
                set_db: db(t.extra.ul_gain_set),
                isolation_db: db(t.extra.ul_isolation),
                input_dbm: dbm(t.extra.ul_input),
                onset_dbm: onset(c.band.rated_ul_output, t.extra.ul_gain_set.or(c.band.max_ul_gain)),
            },
        ];
        let level = &c.memory.level;
        let fell = |db: Option<f64>, limit: f64| db.filter(|d| *d >= limit);
        let change = &c.criteria.change;
        Self {
            band: c.reading.position,
            sides,
            ul_mhz: Some(f64::from(c.band.ul_centre_khz) / 1e3).filter(|mhz| *mhz > 0.0),
            fell_db: fell(level.lasting_drop_db(), change.min_step_db)
                .or_else(|| fell(level.drop_db(), change.min_step_db))
                .or_else(|| fell(level.creep_db(), change.min_creep_db)),
            line_spare_db: c.unit.least_spare_db(),
            quiet_db: sides[Path::Uplink as usize]
                .gain_db
                .and_then(|gain| quiet_db(c, gain)),
            planned_margin_db: c.criteria.margin.min_db,
            equal_gain: c.identity.feature.is_some_and(|f| {
                matches!(
                    f.regulation,
                    Regulation::UsWideband | Regulation::UsProviderSpecific | Regulation::UkStaticIndoor
                )
            }),
        }
    }

    /// One direction.
    pub(super) fn side(&self, path: Path) -> &Side {
        &self.sides[path as usize]
    }
}
