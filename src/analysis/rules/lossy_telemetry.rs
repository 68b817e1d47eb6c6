//! Readings are missing: what the screen shows may not be what the unit did.

use super::{UnitContext, UnitRule, above};
use crate::analysis::latch::{Judgement, Timing};
use crate::analysis::memory::Loss;
use crate::analysis::{Code, Evidence};

pub(super) struct LossyTelemetry;

/// Standard deviations of chance that a count of missing readings must lie above that of half the limit.
const SURE: f64 = 6.0;

/// Missing readings of all bands: they share one radio.
fn loss(c: &UnitContext<'_>) -> Loss {
    c.bands().fold(Loss::default(), |sum, (_, _, memory)| {
        let loss = memory.loss();
        Loss {
            expected: sum.expected + loss.expected,
            missing: sum.missing + loss.missing,
        }
    })
}

impl UnitRule for LossyTelemetry {
    fn code(&self) -> Code {
        Code::LossyTelemetry
    }

    fn timing(&self) -> Timing {
        Timing::millis(0, 10_000)
    }

    fn judge(&self, c: &UnitContext<'_>) -> Judgement {
        let loss = loss(c);
        let limit = c.criteria.telemetry.max_missing_share;
        let harmless = loss.expected as f64 * limit / 2.0;
        match above(loss.share(), limit, limit / 2.0) {
            // Of few readings, some are missing by chance.
            Judgement::Bad if (loss.missing as f64) < harmless + SURE * harmless.sqrt() => Judgement::Between,
            judgement => judgement,
        }
    }

    fn evidence(&self, c: &UnitContext<'_>) -> Vec<Evidence> {
        let loss = loss(c);
        vec![
            Evidence::number("missing_percent", loss.share() * 100.0),
            Evidence::number("missing_readings", loss.missing as f64),
            Evidence::number("expected_readings", loss.expected as f64),
            Evidence::number("limit_percent", c.criteria.telemetry.max_missing_share * 100.0),
        ]
    }
}
