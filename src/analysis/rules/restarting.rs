//! The unit starts again and again.

use super::{UnitContext, UnitRule, holds};
use crate::analysis::latch::Judgement;
use crate::analysis::{Code, Evidence};
use std::time::Duration;

pub(super) struct Restarting;

const WINDOW: Duration = Duration::from_secs(600);

impl UnitRule for Restarting {
    fn code(&self) -> Code {
        Code::Restarting
    }

    fn judge(&self, c: &UnitContext<'_>) -> Judgement {
        holds(c.unit.restarts_within(c.at, WINDOW) >= c.criteria.health.max_restarts.max(1))
    }

    fn evidence(&self, c: &UnitContext<'_>) -> Vec<Evidence> {
        vec![
            Evidence::number("restarts", c.unit.restarts_within(c.at, WINDOW) as f64),
            Evidence::number("within_s", WINDOW.as_secs_f64()),
        ]
    }
}
