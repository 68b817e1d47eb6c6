//! A level that swings to and fro on all bands: the mast moves in the wind.

use super::{UnitContext, UnitRule, known, number};
use crate::analysis::latch::{Judgement, Timing};
use crate::analysis::memory::Memory;
use crate::analysis::{Code, Evidence, Severity};

pub(super) struct SwayingLevel;

/// Mean square of the swing: of RSRP where it is reported, which traffic does not move.
fn power(memory: &Memory) -> f64 {
    if memory.heard_wanted {
        memory.level_sway.power()
    } else {
        memory.input_sway.power()
    }
}

impl UnitRule for SwayingLevel {
    fn code(&self) -> Code {
        Code::SwayingLevel
    }

    fn timing(&self) -> Timing {
        Timing::millis(3_000, 20_000)
    }

    fn judge(&self, c: &UnitContext<'_>) -> Judgement {
        let heard = c.bands().all(|(_, _, m)| m.heard_wanted);
        if c.bands().count() == 1 && !heard {
            return Judgement::NotJudged("the wanted cell");
        }
        let limit = c.criteria.change.min_sway_db;
        let limit = limit * limit * if heard { 1.0 } else { 2.0 };
        let bands = || c.bands().map(|(_, _, m)| m);
        // One time stamp per report for the turns; the modem may be too slow to see every swing.
        if bands().all(|m| power(m) >= limit) && bands().all(|m| m.input_sway.turns()) {
            Judgement::Bad
        } else if bands().any(|m| power(m) < limit * 0.6) {
            Judgement::Good
        } else {
            Judgement::Between
        }
    }

    fn severity(&self, _: &UnitContext<'_>) -> Severity {
        Severity::Warning
    }

    fn evidence(&self, c: &UnitContext<'_>) -> Vec<Evidence> {
        let swing = c.bands().map(|(_, _, m)| power(m).sqrt()).reduce(f64::max);
        let period = c.bands().next().map(|(_, _, m)| m.input_sway.period_s());
        known([
            number("swing_rms_db", swing),
            number("limit_db", Some(c.criteria.change.min_sway_db)),
            number("period_s", period),
            Some(c.names(c.bands().map(|(i, _, _)| i))),
        ])
    }
}
