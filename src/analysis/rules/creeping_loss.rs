//! Slow drop of the level over minutes; worse on high bands where water or ageing is the cause.

use super::{UnitContext, UnitRule, above, known, number};
use crate::analysis::catalogue::{Figures, Situation};
use crate::analysis::latch::{Judgement, Timing};
use crate::analysis::{Code, Evidence};

pub(super) struct CreepingLoss;

/// A drop of one band counts from this share of the limit on.
const SHARE: f64 = 0.3;
/// Bands lie far enough apart to tell what loses more on high ones if loss in proportion to frequency would differ by
/// this much, dB: twice the wander of the difference of two slow means.
const APART_DB: f64 = 3.0;
/// Several bands together wander less than one: the limit is lower, dB.
const TOGETHER_DB: f64 = 1.0;

fn limit_db(c: &UnitContext<'_>) -> f64 {
    let together = if c.bands().count() > 1 { TOGETHER_DB } else { 0.0 };
    c.criteria.change.min_creep_db - together
}

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

/// A band at one end of the unit's frequencies.
struct End {
    khz: f64,
    drop_db: f64,
}

/// The lowest and the highest band in frequency.
fn ends(c: &UnitContext<'_>) -> Option<(End, End)> {
    let centre = |i: usize| c.identity.band(i).map_or(0, |b| b.dl_centre_khz);
    let end = |(i, _, m): (
        usize,
        &crate::telemetry::Reading,
        &crate::analysis::memory::Memory,
    )| {
        Some(End {
            khz: f64::from(centre(i)),
            drop_db: m.level.creep_db()?,
        })
    };
    let low = c.bands().min_by_key(|(i, _, _)| centre(*i)).and_then(end)?;
    let high = c.bands().max_by_key(|(i, _, _)| centre(*i)).and_then(end)?;
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
        let limit = limit_db(c);
        match above(mean, limit, limit - c.criteria.change.clear_db) {
            Judgement::Bad if least < limit * SHARE => Judgement::Between,
            judgement => judgement,
        }
    }

    fn evidence(&self, c: &UnitContext<'_>) -> Vec<Evidence> {
        let ends = ends(c);
        known([
            number("fell_by_db", drops(c).map(|d| d.0)),
            number("limit_db", Some(limit_db(c))),
            number("lowest_band_fell_by_db", ends.as_ref().map(|e| e.0.drop_db)),
            number("highest_band_fell_by_db", ends.as_ref().map(|e| e.1.drop_db)),
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
            Some((low, high)) => {
                let mean = (low.drop_db + high.drop_db) / 2.0;
                let by_frequency = mean * 2.0 * (high.khz - low.khz) / (high.khz + low.khz).max(1.0);
                // Clearly nearer to no difference than to loss in proportion to frequency.
                if by_frequency >= APART_DB && high.drop_db - low.drop_db < by_frequency / 4.0 {
                    Situation::Plain
                } else {
                    Situation::WorseOnHighBands
                }
            }
            None => Situation::WorseOnHighBands,
        }
    }
}
