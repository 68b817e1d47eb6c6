//! Too little wanted signal: boosting only boosts noise.

use super::{Context, Rule, below};
use crate::analysis::latch::{Judgement, Timing};
use crate::analysis::{Code, Criteria, Evidence, Severity};
use booster_profile::Band;

/// Thermal noise in one 15 kHz resource element at 290 K, dBm (kTB).
const NOISE_15_KHZ_DBM: f64 = -132.2;
/// Thermal noise density at 290 K, dBm/Hz (kT).
const NOISE_DENSITY_DBM_HZ: f64 = -173.98;
/// Noise figure to assume where the unit states none, dB. Common practice, no source.
const ASSUMED_NOISE_FIGURE_DB: f64 = 6.0;

pub(super) struct WeakDonor;

fn noise_figure_db(band: &Band) -> f64 {
    band.dl_noise_figure.map_or(ASSUMED_NOISE_FIGURE_DB, |nf| nf.db())
}

/// Composite downlink input below which a band counts as starved, dBm: noise in the pass band (kTB and the unit's
/// noise figure) and what the criteria want above it.
pub fn weak_input_dbm(band: &Band, criteria: &Criteria) -> f64 {
    let width_hz = f64::from(band.bandwidth_khz.max(1)) * 1e3;
    let noise = NOISE_DENSITY_DBM_HZ + 10.0 * width_hz.log10() + noise_figure_db(band);
    noise + criteria.weak.min_composite_over_noise_db
}

/// The measured value, its limit and the hysteresis; RSRP where the unit reports it, else the composite input.
fn value_and_limit(c: &Context<'_>) -> Option<(&'static str, f64, f64)> {
    if let Some(rsrp) = c.reading.telemetry.extra.cell.rsrp {
        let limit = NOISE_15_KHZ_DBM + noise_figure_db(c.band) + c.criteria.weak.min_snr_db;
        return Some(("rsrp_dbm", rsrp.dbm(), limit));
    }
    let input = c.reading.telemetry.dl_input?;
    Some(("dl_input_dbm", input.dbm(), weak_input_dbm(c.band, c.criteria)))
}

impl Rule for WeakDonor {
    fn code(&self) -> Code {
        Code::WeakDonor
    }

    fn per_path(&self) -> bool {
        false
    }

    fn timing(&self) -> Timing {
        Timing::millis(3_000, 5_000)
    }

    fn judge(&self, c: &Context<'_>) -> Judgement {
        match value_and_limit(c) {
            Some((_, value, limit)) => below(value, limit, c.criteria.weak.hysteresis_db),
            None => Judgement::NotJudged("RSRP or downlink input"),
        }
    }

    fn severity(&self, _: &Context<'_>) -> Severity {
        Severity::Warning
    }

    fn evidence(&self, c: &Context<'_>) -> Vec<Evidence> {
        let Some((name, value, limit)) = value_and_limit(c) else {
            return Vec::new();
        };
        let mut evidence = vec![
            Evidence::number(name, value),
            Evidence::number("limit_dbm", limit),
            Evidence::number("noise_figure_db", noise_figure_db(c.band)),
        ];
        if let Some(sinr) = c.reading.telemetry.extra.cell.sinr {
            evidence.push(Evidence::number("sinr_db", sinr.db()));
        }
        evidence
    }

    fn shortfall_db(&self, c: &Context<'_>) -> Option<f64> {
        value_and_limit(c).map(|(_, value, limit)| limit - value + c.criteria.weak.hysteresis_db)
    }
}
