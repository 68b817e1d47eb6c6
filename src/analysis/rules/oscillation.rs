//! The loop oscillates or the guard acts, as the unit itself says.

use super::{Context, Rule};
use crate::analysis::latch::{Judgement, Timing};
use crate::analysis::{Code, Evidence, Severity};
use booster_profile::{DirectionState, Features};

pub(super) struct Oscillation;

impl Rule for Oscillation {
    fn code(&self) -> Code {
        Code::Oscillation
    }

    fn per_path(&self) -> bool {
        true
    }

    fn timing(&self) -> Timing {
        Timing::millis(0, 5_000)
    }

    fn judge(&self, c: &Context<'_>) -> Judgement {
        if c.state() == DirectionState::Guard || c.memory.oscillating(c.path) {
            Judgement::Bad
        } else if !c.has(Features::OSCILLATION_FLAG) {
            Judgement::NotJudged("oscillation")
        } else {
            Judgement::Good
        }
    }

    fn severity(&self, _: &Context<'_>) -> Severity {
        Severity::Critical
    }

    fn evidence(&self, c: &Context<'_>) -> Vec<Evidence> {
        [
            Some(Evidence::text("state", c.state().name())),
            c.gain().map(|v| Evidence::number("gain_db", v.db())),
            c.gain_set().map(|v| Evidence::number("gain_set_db", v.db())),
            c.isolation().map(|v| Evidence::number("isolation_db", v.db())),
        ]
        .into_iter()
        .flatten()
        .collect()
    }

    fn shortfall_db(&self, c: &Context<'_>) -> Option<f64> {
        let gain = c.gain_set().or(c.gain())?;
        Some(c.criteria.margin.min_db - (c.isolation()?.db() - gain.db()))
    }
}
