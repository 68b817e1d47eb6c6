//! The whole receiver is overloaded, perhaps by something outside the band.

use super::{UnitContext, UnitRule, holds, known, number};
use crate::analysis::latch::{Judgement, Timing};
use crate::analysis::{Code, Evidence};
use booster_profile::{DirectionState, Quality, Reasons, TenthDbm};

pub(super) struct FrontEndOverload;

/// A band gives up gain because of its input although that is far below its own overload level.
fn loses_gain(c: &UnitContext<'_>, position: usize, reading: &crate::telemetry::Reading) -> Option<bool> {
    let band = c.identity.band(position)?;
    let t = &reading.telemetry;
    let below = t.dl_input?.dbm() < band.overload_level?.dbm() - 2.0 * band.accuracy.map_or(3.0, |a| a.db());
    Some(below && t.dl_state == DirectionState::Limited && t.dl_reasons.contains(Reasons::INPUT))
}

/// All bands lose gain together, for units that do not report the front end.
fn all_lose_gain(c: &UnitContext<'_>) -> bool {
    c.bands().count() > 1 && c.bands().all(|(i, r, _)| loses_gain(c, i, r) == Some(true))
}

impl UnitRule for FrontEndOverload {
    fn code(&self) -> Code {
        Code::FrontEndOverload
    }

    fn timing(&self) -> Timing {
        Timing::millis(500, 3_000)
    }

    fn judge(&self, c: &UnitContext<'_>) -> Judgement {
        let told = c
            .unit
            .status
            .is_some_and(|s| s.health.front_end != Quality::NotKnown);
        if told || c.unit.front_end_bad() {
            holds(c.unit.front_end_bad())
        } else if c.bands().count() > 1 {
            holds(all_lose_gain(c))
        } else {
            Judgement::NotJudged("the state of its receiver")
        }
    }

    fn evidence(&self, c: &UnitContext<'_>) -> Vec<Evidence> {
        let strongest = c
            .bands()
            .filter_map(|(_, r, _)| r.telemetry.dl_input.map(TenthDbm::dbm))
            .reduce(f64::max);
        known([
            c.unit
                .status
                .map(|s| Evidence::text("front_end", s.health.front_end.name())),
            number("strongest_band_input_dbm", strongest),
            Some(
                c.names(
                    c.bands()
                        .filter(|(_, r, _)| r.telemetry.dl_reasons.contains(Reasons::INPUT))
                        .map(|(i, _, _)| i),
                ),
            ),
        ])
    }
}
