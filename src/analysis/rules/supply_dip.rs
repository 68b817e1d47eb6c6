//! The supply sags.

use super::{UnitContext, UnitRule, known, number};
use crate::analysis::latch::{Judgement, Timing};
use crate::analysis::{Code, Evidence};
use booster_profile::Reasons;

pub(super) struct SupplyDip;

fn volts(c: &UnitContext<'_>) -> Option<f64> {
    c.unit.status.and_then(|s| s.voltage_v())
}

/// Drop below the highest voltage of this start, as a share.
fn drop(c: &UnitContext<'_>) -> Option<f64> {
    let highest = c.unit.highest_v.filter(|v| *v > 0.0)?;
    Some(1.0 - volts(c)? / highest)
}

fn reduces_gain(c: &UnitContext<'_>) -> bool {
    c.unit.supply_low
        || c.bands().any(|(_, r, _)| {
            r.telemetry.dl_reasons.contains(Reasons::SUPPLY)
                || r.telemetry.ul_reasons.contains(Reasons::SUPPLY)
        })
}

impl UnitRule for SupplyDip {
    fn code(&self) -> Code {
        Code::SupplyDip
    }

    fn timing(&self) -> Timing {
        Timing::millis(500, 5_000)
    }

    fn judge(&self, c: &UnitContext<'_>) -> Judgement {
        let limit = c.criteria.health.max_supply_drop;
        if reduces_gain(c) || drop(c).is_some_and(|d| d >= limit) {
            Judgement::Bad
        } else if drop(c).is_some_and(|d| d >= limit / 2.0) {
            Judgement::Between
        } else {
            Judgement::Good
        }
    }

    fn evidence(&self, c: &UnitContext<'_>) -> Vec<Evidence> {
        known([
            number("supply_v", volts(c)),
            number("highest_v", c.unit.highest_v),
            number("drop_percent", drop(c).map(|d| d * 100.0)),
            number("limit_percent", Some(c.criteria.health.max_supply_drop * 100.0)),
        ])
    }
}
