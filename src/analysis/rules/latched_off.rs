//! The guard gave up; a person must act.

use super::{BOTH, Context, Rule, holds};
use crate::analysis::catalogue::Figures;
use crate::analysis::latch::{Judgement, Timing};
use crate::analysis::{Code, Evidence, Path, Severity};
use booster_profile::DirectionState;

pub(super) struct LatchedOff;

impl Rule for LatchedOff {
    fn code(&self) -> Code {
        Code::LatchedOff
    }

    fn paths(&self) -> &'static [Path] {
        BOTH
    }

    fn timing(&self) -> Timing {
        Timing::millis(0, 1_000)
    }

    fn judge(&self, c: &Context<'_>) -> Judgement {
        holds(c.state() == DirectionState::LatchedOff)
    }

    fn severity(&self, _: &Context<'_>) -> Severity {
        Severity::Critical
    }

    fn evidence(&self, c: &Context<'_>) -> Vec<Evidence> {
        let mut evidence = vec![Evidence::text("state", c.state().name()), c.limited_by()];
        if let Some(status) = &c.unit.status {
            evidence.push(Evidence::number("restarts", f64::from(status.restarts)));
        }
        evidence
    }

    fn figures(&self, _: &Context<'_>) -> Figures {
        Figures::default()
    }
}
