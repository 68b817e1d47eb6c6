//! Too little wanted signal: boosting only boosts noise.

use super::{Context, DOWNLINK, Rule, below, known, number};
use crate::analysis::catalogue::{Figures, Situation};
use crate::analysis::latch::{Judgement, Timing};
use crate::analysis::{Code, Evidence, Path, Severity};
use booster_profile::TenthDb;

pub(super) struct WeakDonor;

/// The measured value and its limit; RSRP where the unit reports it, else the composite input.
fn value_and_limit(c: &Context<'_>) -> Option<(&'static str, f64, f64)> {
    if let Some(rsrp) = c.rsrp() {
        return Some(("rsrp_dbm", rsrp, c.facts.weak_rsrp_dbm));
    }
    Some(("dl_input_dbm", c.input()?, c.facts.weak_input_dbm))
}

impl Rule for WeakDonor {
    fn code(&self) -> Code {
        Code::WeakDonor
    }

    fn paths(&self) -> &'static [Path] {
        DOWNLINK
    }

    fn names_path(&self) -> bool {
        false
    }

    fn timing(&self) -> Timing {
        Timing::millis(1_000, 5_000)
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
        known([
            number(name, Some(value)),
            number("limit_dbm", Some(limit)),
            number("noise_figure_db", Some(c.facts.noise_figure_db)),
            number("sinr_db", c.reading.telemetry.extra.cell.sinr.map(TenthDb::db)),
            number(
                "fell_by_db",
                c.memory
                    .level
                    .drop_db()
                    .filter(|d| *d >= c.criteria.change.min_step_db),
            ),
        ])
    }

    fn figures(&self, c: &Context<'_>) -> Figures {
        Figures {
            shortfall_db: value_and_limit(c)
                .map(|(_, value, limit)| limit - value + c.criteria.weak.hysteresis_db),
            ..Figures::default()
        }
    }

    fn situation(&self, c: &Context<'_>) -> Situation {
        let fell = |db: Option<f64>, limit| db.is_some_and(|d| d >= limit);
        let change = &c.criteria.change;
        if fell(c.memory.level.drop_db(), change.min_step_db) {
            Situation::Sudden
        } else if fell(c.memory.level.creep_db(), change.min_creep_db) {
            Situation::Slow
        } else {
            Situation::Plain
        }
    }
}
