//! A level that swings to and fro on all bands: the mast moves in the wind.

use super::{UnitContext, UnitRule, known, number};
use crate::analysis::latch::{Judgement, Timing};
use crate::analysis::memory::Swings;
use crate::analysis::{Code, Evidence, Severity};

pub(super) struct SwayingLevel;

/// How far every band is off its mean.
pub(in crate::analysis) fn swings(c: &UnitContext<'_>) -> Swings {
    let mut swings = Swings::default();
    for (_, _, memory) in c.bands() {
        let (input, level) = (memory.input_swing.off_db(), memory.level_swing.off_db());
        swings.bands += 1;
        swings.sum += input;
        swings.squares += input * input;
        swings.level_squares += level * level;
    }
    swings
}

impl UnitRule for SwayingLevel {
    fn code(&self) -> Code {
        Code::SwayingLevel
    }

    fn timing(&self) -> Timing {
        Timing::millis(300, 20_000)
    }

    fn judge(&self, c: &UnitContext<'_>) -> Judgement {
        // Traffic alone swings the composite levels of all bands now and then; RSRP it leaves alone.
        if !c.bands().all(|(_, _, m)| m.heard_wanted) {
            return Judgement::NotJudged("the wanted cell");
        }
        let limit = c.criteria.change.min_sway_db * c.criteria.change.min_sway_db;
        if c.unit.sway.is_swing(limit) {
            Judgement::Bad
        } else if c.unit.sway.power() < limit * 0.6 {
            Judgement::Good
        } else {
            Judgement::Between
        }
    }

    fn severity(&self, _: &UnitContext<'_>) -> Severity {
        Severity::Warning
    }

    fn evidence(&self, c: &UnitContext<'_>) -> Vec<Evidence> {
        known([
            number("swing_rms_db", Some(c.unit.sway.power().max(0.0).sqrt())),
            number("limit_db", Some(c.criteria.change.min_sway_db)),
            number("period_s", c.unit.sway.period_s()),
            Some(c.names(c.bands().map(|(i, _, _)| i))),
        ])
    }
}
