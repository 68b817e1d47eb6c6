//! Slow drop of the level over minutes; worse on high bands where water or ageing is the cause.

use super::{UnitContext, UnitRule, above, known, number};
use crate::analysis::catalogue::{Figures, Situation};
use crate::analysis::latch::{Judgement, Timing};
use crate::analysis::{Code, Evidence};

pub(super) struct CreepingLoss;

/// A drop of one band counts from this share of the limit on.
const SHARE: f64 = 0.3;
/// Difference between the highest and the lowest band that counts, dB: wander of two slow means.
const STEEPER_DB: f64 = 1.5;

/// Mean drop and the least of them, dB.
fn drops(c: &UnitContext<'_>) -> Option<(f64, f64)> {
    let (mut sum, mut least, mut n) = (0.0, f64::INFINITY, 0);
    for (_, _, memory) in c.bands() {
        let drop = memory.level.creep_db()?;
        sum += drop;
        least = least.min(drop);
        n += 1;
    }
    (n > 0).then(|| (sum / f64::from(n), least))
}

/// Drop of the lowest and of the highest band in frequency, dB.
fn ends(c: &UnitContext<'_>) -> Option<(f64, f64)> {
    let centre = |i: usize| c.identity.band(i).map(|b| b.dl_centre_khz);
    let drop = |(_, _, m): (usize, _, &crate::analysis::memory::Memory)| m.level.creep_db();
    let low = c.bands().min_by_key(|(i, _, _)| centre(*i)).and_then(drop)?;
    let high = c.bands().max_by_key(|(i, _, _)| centre(*i)).and_then(drop)?;
    (c.bands().count() > 1).then_some((low, high))
}

impl UnitRule for CreepingLoss {
    fn code(&self) -> Code {
        Code::CreepingLoss
    }

    fn timing(&self) -> Timing {
        Timing::millis(5_000, 30_000)
    }

    fn judge(&self, c: &UnitContext<'_>) -> Judgement {
        if !c.bands().all(|(_, _, m)| m.heard_wanted) {
            return Judgement::NotJudged("the wanted cell");
        }
        let Some((mean, least)) = drops(c) else {
            return Judgement::Between;
        };
        let limit = c.criteria.change.min_creep_db;
        match above(mean, limit, limit - c.criteria.change.clear_db) {
            Judgement::Bad if least < limit * SHARE => Judgement::Between,
            judgement => judgement,
        }
    }

    fn evidence(&self, c: &UnitContext<'_>) -> Vec<Evidence> {
        let ends = ends(c);
        known([
            number("fell_by_db", drops(c).map(|d| d.0)),
            number("limit_db", Some(c.criteria.change.min_creep_db)),
            number("lowest_band_fell_by_db", ends.map(|e| e.0)),
            number("highest_band_fell_by_db", ends.map(|e| e.1)),
            Some(c.names(c.bands().map(|(i, _, _)| i))),
        ])
    }

    fn figures(&self, c: &UnitContext<'_>) -> Figures {
        Figures {
            shortfall_db: drops(c).map(|d| d.0),
            ..Figures::default()
        }
    }

    fn situation(&self, c: &UnitContext<'_>) -> Situation {
        match ends(c) {
            Some((low, high)) if high - low < STEEPER_DB => Situation::Plain,
            _ => Situation::WorseOnHighBands,
        }
    }
}
