//! Gain below what was set: by how much and why.

use super::{BOTH, Context, Rule, above, known, number};
use crate::analysis::catalogue::Figures;
use crate::analysis::latch::{Judgement, Timing};
use crate::analysis::{Code, Evidence, Path, Severity};
use booster_profile::Reasons;

pub(super) struct GainHeldBack;

fn loss_db(c: &Context<'_>) -> Option<f64> {
    Some(c.gain_set()? - c.gain()?)
}

impl Rule for GainHeldBack {
    fn code(&self) -> Code {
        Code::GainHeldBack
    }

    fn paths(&self) -> &'static [Path] {
        BOTH
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

    /// Only what a person should put right here and has no finding of its own: a strong donor and the rules are
    /// normal, heat, supply and overload are told of the unit.
    fn severity(&self, c: &Context<'_>) -> Severity {
        if c.reasons().contains(Reasons::ISOLATION) {
            Severity::Warning
        } else {
            Severity::Info
        }
    }

    fn evidence(&self, c: &Context<'_>) -> Vec<Evidence> {
        known([
            number("gain_given_up_db", loss_db(c)),
            number("gain_db", c.gain()),
            number("gain_set_db", c.gain_set()),
            Some(c.limited_by()),
        ])
    }

    fn figures(&self, c: &Context<'_>) -> Figures {
        Figures {
            shortfall_db: loss_db(c),
            reasons: c.reasons(),
            ..Figures::default()
        }
    }
}
