//! Noise sent to the base station above what is allowed or wise: the main way a repeater harms a network.

use super::{Context, Rule, UPLINK, above, known, number};
use crate::analysis::catalogue::{Figures, Situation};
use crate::analysis::latch::{Judgement, Timing};
use crate::analysis::{Code, Evidence, Path, Severity};
use booster_profile::{Regulation, TenthDbm};
use radio::Dbm;
use radio::limits::us;

pub(super) struct UplinkNoise;

/// Noise at the donor port, dBm/MHz.
fn noise(c: &Context<'_>) -> Option<f64> {
    Some(c.facts.uplink_noise_dbm_mhz + c.gain()?)
}

fn us_rule(c: &Context<'_>) -> bool {
    c.identity.feature.is_some_and(|f| {
        matches!(
            f.regulation,
            Regulation::UsWideband | Regulation::UsProviderSpecific
        )
    })
}

/// The limit that the rules set, uncertainty of the level included, dBm/MHz.
fn limit_by_rule(c: &Context<'_>) -> Option<f64> {
    if !us_rule(c) {
        return None;
    }
    let input = c.reading.telemetry.dl_input.map(TenthDbm::dbm)?;
    let limit = us::noise_limit(Dbm(input.clamp(-140.0, 0.0))).ok()?;
    Some(limit.0 + c.facts.accuracy_db)
}

/// The limit at which the cell begins to suffer, dBm/MHz: its own noise floor, the coupling loss to it from its RSRP,
/// and the distance that is wise.
fn limit_by_cell(c: &Context<'_>) -> Option<f64> {
    let limits = &c.criteria.uplink;
    let coupling_loss =
        limits.cell_reference_dbm - c.memory.level.average().filter(|_| c.memory.heard_wanted)?;
    let floor = c.facts.thermal_dbm_mhz + limits.cell_noise_figure_db;
    Some(floor - limits.below_cell_floor_db + coupling_loss)
}

fn limit(c: &Context<'_>) -> Option<f64> {
    match (limit_by_rule(c), limit_by_cell(c)) {
        (Some(a), Some(b)) => Some(a.min(b)),
        (a, b) => a.or(b),
    }
}

/// Distance of the noise at this uplink gain from its limit, dB; negative beyond it.
pub(in crate::analysis) fn quiet_db(c: &Context<'_>, ul_gain_db: f64) -> Option<f64> {
    Some(limit(c)? - (c.facts.uplink_noise_dbm_mhz + ul_gain_db))
}

impl Rule for UplinkNoise {
    fn code(&self) -> Code {
        Code::UplinkNoise
    }

    fn paths(&self) -> &'static [Path] {
        UPLINK
    }

    fn timing(&self) -> Timing {
        Timing::millis(4_000, 5_000)
    }

    fn judge(&self, c: &Context<'_>) -> Judgement {
        if !c.amplifies() {
            return Judgement::Good;
        }
        match noise(c).zip(limit(c)) {
            Some((noise, limit)) => above(noise, limit, c.criteria.uplink.hysteresis_db),
            None => Judgement::NotJudged("the wanted cell"),
        }
    }

    fn severity(&self, _: &Context<'_>) -> Severity {
        Severity::Warning
    }

    fn evidence(&self, c: &Context<'_>) -> Vec<Evidence> {
        known([
            number("ul_noise_dbm_mhz", noise(c)),
            number("limit_dbm_mhz", limit(c)),
            number("ul_gain_db", c.gain()),
            number("rsrp_dbm", c.rsrp()),
            number("dl_input_dbm", c.reading.telemetry.dl_input.map(TenthDbm::dbm)),
        ])
    }

    fn figures(&self, c: &Context<'_>) -> Figures {
        Figures {
            shortfall_db: noise(c)
                .zip(limit(c))
                .map(|(noise, limit)| noise - limit + c.criteria.uplink.hysteresis_db + 1.0),
            ..Figures::default()
        }
    }

    fn situation(&self, c: &Context<'_>) -> Situation {
        let t = &c.reading.telemetry;
        let set = t.extra.dl_gain_set.zip(t.extra.ul_gain_set);
        match set {
            Some((dl, ul)) if ul.db() - dl.db() > 3.0 => Situation::UplinkTurnedUp,
            _ => Situation::Plain,
        }
    }
}
