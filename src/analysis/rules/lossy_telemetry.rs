//! Readings are missing: what the screen shows may not be what the unit did.

use super::{Context, Rule, above};
use crate::analysis::latch::{Judgement, Timing};
use crate::analysis::{Code, Evidence, Severity};

/// Fewer missing readings than this say nothing about a share.
const LEAST: u64 = 3;

pub(super) struct LossyTelemetry;

impl Rule for LossyTelemetry {
    fn code(&self) -> Code {
        Code::LossyTelemetry
    }

    fn per_path(&self) -> bool {
        false
    }

    fn timing(&self) -> Timing {
        Timing::millis(0, 10_000)
    }

    fn judge(&self, c: &Context<'_>) -> Judgement {
        let loss = c.memory.loss();
        let limit = c.criteria.telemetry.max_missing_share;
        match above(loss.share(), limit, limit / 2.0) {
            Judgement::Bad if loss.missing < LEAST => Judgement::Between,
            judgement => judgement,
        }
    }

    fn severity(&self, _: &Context<'_>) -> Severity {
        Severity::Warning
    }

    fn evidence(&self, c: &Context<'_>) -> Vec<Evidence> {
        let loss = c.memory.loss();
        vec![
            Evidence::number("missing_percent", loss.share() * 100.0),
            Evidence::number("missing_readings", loss.missing as f64),
            Evidence::number("expected_readings", loss.expected as f64),
            Evidence::number("limit_percent", c.criteria.telemetry.max_missing_share * 100.0),
        ]
    }
}
