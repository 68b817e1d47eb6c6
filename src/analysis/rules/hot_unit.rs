//! The unit is too hot, or its fan stands still.

use super::{UnitContext, UnitRule, known, number};
use crate::analysis::catalogue::Situation;
use crate::analysis::latch::{Judgement, Timing};
use crate::analysis::{Code, Evidence};
use booster_profile::{Quality, Reasons};

pub(super) struct HotUnit;

fn temperature(c: &UnitContext<'_>) -> Option<f64> {
    c.unit.status.and_then(|s| s.temperature_c())
}

fn fan_stands(c: &UnitContext<'_>) -> bool {
    c.unit.status.is_some_and(|s| s.health.fan == Quality::Bad)
}

fn reduces_gain(c: &UnitContext<'_>) -> bool {
    c.unit.hot
        || c.bands().any(|(_, r, _)| {
            r.telemetry.dl_reasons.contains(Reasons::HEAT) || r.telemetry.ul_reasons.contains(Reasons::HEAT)
        })
}

impl UnitRule for HotUnit {
    fn code(&self) -> Code {
        Code::HotUnit
    }

    fn timing(&self) -> Timing {
        Timing::millis(2_000, 10_000)
    }

    fn judge(&self, c: &UnitContext<'_>) -> Judgement {
        let limit = c.criteria.health.max_temperature_c;
        let too_hot = temperature(c).is_some_and(|t| t >= limit);
        if too_hot || fan_stands(c) || reduces_gain(c) {
            Judgement::Bad
        } else if temperature(c).is_some_and(|t| t >= limit - 3.0) {
            Judgement::Between
        } else {
            Judgement::Good
        }
    }

    fn evidence(&self, c: &UnitContext<'_>) -> Vec<Evidence> {
        known([
            number("temperature_c", temperature(c)),
            number("limit_c", Some(c.criteria.health.max_temperature_c)),
            c.unit.status.map(|s| Evidence::text("fan", s.health.fan.name())),
        ])
    }

    fn situation(&self, c: &UnitContext<'_>) -> Situation {
        if fan_stands(c) {
            Situation::FanStands
        } else {
            Situation::Plain
        }
    }
}
