//! Gain below what was set: by how much and why.

use super::{Context, Rule, above};
use crate::analysis::latch::{Judgement, Timing};
use crate::analysis::{Code, Evidence, Severity};
use booster_profile::Reasons;

pub(super) struct GainHeldBack;

fn loss_db(c: &Context<'_>) -> Option<f64> {
    Some(c.gain_set()?.db() - c.gain()?.db())
}

impl Rule for GainHeldBack {
    fn code(&self) -> Code {
        Code::GainHeldBack
    }

    fn per_path(&self) -> bool {
        true
    }

    fn timing(&self) -> Timing {
        Timing::millis(3_000, 3_000)
    }

    fn judge(&self, c: &Context<'_>) -> Judgement {
        // A muted or guarded direction has its own finding, or none is needed.
        if !c.amplifies() {
            return Judgement::Between;
        }
        match loss_db(c) {
            Some(loss) => above(loss, c.criteria.gain.min_loss_db, c.criteria.gain.hysteresis_db),
            None => Judgement::NotJudged("the gain that was set"),
        }
    }

    fn severity(&self, c: &Context<'_>) -> Severity {
        let to_fix = [Reasons::ISOLATION, Reasons::HEAT, Reasons::SUPPLY];
        if to_fix.iter().any(|r| c.reasons().contains(*r)) {
            Severity::Warning
        } else {
            Severity::Info
        }
    }

    fn evidence(&self, c: &Context<'_>) -> Vec<Evidence> {
        [
            loss_db(c).map(|v| Evidence::number("gain_given_up_db", v)),
            c.gain().map(|v| Evidence::number("gain_db", v.db())),
            c.gain_set().map(|v| Evidence::number("gain_set_db", v.db())),
            Some(Evidence::text(
                "limited_by",
                c.reasons().names().collect::<Vec<_>>().join(" "),
            )),
        ]
        .into_iter()
        .flatten()
        .collect()
    }

    fn shortfall_db(&self, c: &Context<'_>) -> Option<f64> {
        loss_db(c)
    }
}
