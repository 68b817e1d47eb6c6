//! Isolation minus gain below plan, at the gain in effect or at the gain that the unit is meant to run at: a unit that
//! adapts itself hides a thin margin by giving up gain.

use super::{Context, Rule, below};
use crate::analysis::latch::{Judgement, Timing};
use crate::analysis::{Code, Evidence, Severity};
use booster_profile::DirectionState;

pub(super) struct LowLoopMargin;

/// Margin at the gain in effect, and at the gain set, dB.
fn margins(c: &Context<'_>) -> Option<(f64, Option<f64>)> {
    let isolation = c.isolation()?.db();
    let effective = isolation - c.gain()?.db();
    Some((effective, c.gain_set().map(|set| isolation - set.db())))
}

fn worst(margins: (f64, Option<f64>)) -> f64 {
    margins.1.map_or(margins.0, |set| set.min(margins.0))
}

impl Rule for LowLoopMargin {
    fn code(&self) -> Code {
        Code::LowLoopMargin
    }

    fn per_path(&self) -> bool {
        true
    }

    fn timing(&self) -> Timing {
        Timing::millis(3_000, 5_000)
    }

    fn judge(&self, c: &Context<'_>) -> Judgement {
        // Without gain there is no loop: nothing is known about the margin it would have.
        if matches!(
            c.state(),
            DirectionState::Off | DirectionState::Starting | DirectionState::LatchedOff
        ) {
            return Judgement::Between;
        }
        match margins(c) {
            Some(m) => below(
                worst(m),
                c.criteria.margin.min_db,
                c.criteria.margin.hysteresis_db,
            ),
            None => Judgement::NotJudged("isolation"),
        }
    }

    fn severity(&self, c: &Context<'_>) -> Severity {
        match margins(c) {
            Some((effective, _)) if effective < c.criteria.margin.critical_db => Severity::Critical,
            _ => Severity::Warning,
        }
    }

    fn evidence(&self, c: &Context<'_>) -> Vec<Evidence> {
        let Some((effective, set)) = margins(c) else {
            return Vec::new();
        };
        [
            Some(Evidence::number("loop_margin_db", effective)),
            set.map(|v| Evidence::number("margin_at_set_gain_db", v)),
            Some(Evidence::number("limit_db", c.criteria.margin.min_db)),
            c.isolation().map(|v| Evidence::number("isolation_db", v.db())),
            c.gain().map(|v| Evidence::number("gain_db", v.db())),
            c.gain_set().map(|v| Evidence::number("gain_set_db", v.db())),
        ]
        .into_iter()
        .flatten()
        .collect()
    }

    fn shortfall_db(&self, c: &Context<'_>) -> Option<f64> {
        margins(c).map(|m| c.criteria.margin.min_db + c.criteria.margin.hysteresis_db - worst(m))
    }
}
