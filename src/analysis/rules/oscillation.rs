//! The loop oscillates or the guard acts, as the unit itself says.

use super::{BOTH, Context, Rule, known, number};
use crate::analysis::catalogue::Figures;
use crate::analysis::latch::{Judgement, Timing};
use crate::analysis::{Code, Evidence, Path, Severity};
use booster_profile::{DirectionState, Features};

pub(super) struct Oscillation;

/// Gain to take away so that the planned margin is there again, dB.
pub(super) fn shortfall_db(c: &Context<'_>) -> Option<f64> {
    let gain = c.gain_meant().or(c.gain())?;
    Some(c.criteria.margin.min_db + c.criteria.margin.hysteresis_db - (c.isolation()? - gain))
}

impl Rule for Oscillation {
    fn code(&self) -> Code {
        Code::Oscillation
    }

    fn paths(&self) -> &'static [Path] {
        BOTH
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
        known([
            Some(Evidence::text("state", c.state().name())),
            number("gain_db", c.gain()),
            number("gain_set_db", c.gain_set()),
            number("isolation_db", c.isolation()),
        ])
    }

    fn figures(&self, c: &Context<'_>) -> Figures {
        Figures {
            shortfall_db: shortfall_db(c),
            ..Figures::default()
        }
    }
}
