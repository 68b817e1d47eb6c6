//! Sudden lasting drop of the level. On all bands at once, cells unchanged: cable, connector, antenna. On one band or
//! with another cell: the network.

use super::{Context, DOWNLINK, Rule, UnitContext, UnitRule, above, known, number};
use crate::analysis::catalogue::{Figures, Situation};
use crate::analysis::latch::{Judgement, Timing};
use crate::analysis::{Code, Evidence, Path, Severity};

/// All bands together.
pub(super) struct StepLoss;
/// One band of several.
pub(super) struct BandStepLoss;

/// A drop of one band counts towards one of all from this share of the limit on.
const SHARE: f64 = 0.5;

/// Mean drop over all bands, the least of them, and whether cells are the same. `None` without RSRP: traffic alone moves
/// the composite level by more than a connector that fails.
fn drops(c: &UnitContext<'_>) -> Option<(f64, f64, bool)> {
    let (mut sum, mut least, mut same, mut n) = (0.0, f64::INFINITY, true, 0);
    for (_, _, memory) in c.bands() {
        let drop = memory.level.drop_db().filter(|_| memory.heard_wanted)?;
        sum += drop;
        least = least.min(drop);
        same &= !memory.level.cell_changed();
        n += 1;
    }
    (n > 0).then(|| (sum / f64::from(n), least, same))
}

impl UnitRule for StepLoss {
    fn code(&self) -> Code {
        Code::StepLoss
    }

    fn timing(&self) -> Timing {
        Timing::millis(4_000, 10_000)
    }

    fn judge(&self, c: &UnitContext<'_>) -> Judgement {
        if !c.bands().all(|(_, _, m)| m.heard_wanted) {
            return Judgement::NotJudged("the wanted cell");
        }
        let Some((mean, least, same)) = drops(c) else {
            return Judgement::Between;
        };
        let limit = c.criteria.change.min_step_db;
        match above(mean, limit, limit - c.criteria.change.clear_db) {
            Judgement::Bad if !same || least < limit * SHARE => Judgement::Between,
            judgement => judgement,
        }
    }

    fn evidence(&self, c: &UnitContext<'_>) -> Vec<Evidence> {
        let drops = drops(c);
        known([
            number("fell_by_db", drops.map(|d| d.0)),
            number("least_band_fell_by_db", drops.map(|d| d.1)),
            number("limit_db", Some(c.criteria.change.min_step_db)),
            Some(c.names(c.bands().map(|(i, _, _)| i))),
        ])
    }

    fn figures(&self, c: &UnitContext<'_>) -> Figures {
        Figures {
            shortfall_db: drops(c).map(|d| d.0),
            ..Figures::default()
        }
    }

    fn situation(&self, _: &UnitContext<'_>) -> Situation {
        Situation::AllBands
    }
}

impl Rule for BandStepLoss {
    fn code(&self) -> Code {
        Code::StepLoss
    }

    fn paths(&self) -> &'static [Path] {
        DOWNLINK
    }

    fn names_path(&self) -> bool {
        false
    }

    fn timing(&self) -> Timing {
        // Longer than for all bands: their modem measures one after the other.
        Timing::millis(9_000, 10_000)
    }

    fn judge(&self, c: &Context<'_>) -> Judgement {
        if !c.memory.heard_wanted {
            return Judgement::NotJudged("the wanted cell");
        }
        let Some(drop) = c.memory.level.drop_db() else {
            return Judgement::Between;
        };
        let limit = c.criteria.change.min_step_db;
        let alone = c.identity.bands.bands.len() > 1 && !c.unit.all_dropped;
        match above(drop, limit, limit - c.criteria.change.clear_db) {
            Judgement::Bad if !alone && !c.memory.level.cell_changed() => Judgement::Between,
            judgement => judgement,
        }
    }

    /// What the network does is worth knowing, and nothing to put right here.
    fn severity(&self, _: &Context<'_>) -> Severity {
        Severity::Info
    }

    fn evidence(&self, c: &Context<'_>) -> Vec<Evidence> {
        known([
            number("fell_by_db", c.memory.level.drop_db()),
            number("limit_db", Some(c.criteria.change.min_step_db)),
            number("rsrp_dbm", c.rsrp()),
        ])
    }

    fn figures(&self, c: &Context<'_>) -> Figures {
        Figures {
            shortfall_db: c.memory.level.drop_db(),
            ..Figures::default()
        }
    }

    fn situation(&self, c: &Context<'_>) -> Situation {
        if c.memory.level.cell_changed() {
            Situation::CellChanged
        } else {
            Situation::OneBand
        }
    }
}

/// Whether every band dropped, for the rule about one band.
pub(in crate::analysis) fn all_dropped(c: &UnitContext<'_>) -> bool {
    let limit = c.criteria.change.min_step_db * SHARE;
    drops(c).is_some_and(|(_, least, same)| same && least >= limit)
}
