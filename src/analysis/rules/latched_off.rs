//! The guard gave up; a person must act.

use super::{Context, Rule};
use crate::analysis::latch::{Judgement, Timing};
use crate::analysis::{Code, Evidence, Severity};
use booster_profile::DirectionState;

pub(super) struct LatchedOff;

impl Rule for LatchedOff {
    fn code(&self) -> Code {
        Code::LatchedOff
    }

    fn per_path(&self) -> bool {
        true
    }

    fn timing(&self) -> Timing {
        Timing::millis(0, 1_000)
    }

    fn judge(&self, c: &Context<'_>) -> Judgement {
        if c.state() == DirectionState::LatchedOff {
            Judgement::Bad
        } else {
            Judgement::Good
        }
    }

    fn severity(&self, _: &Context<'_>) -> Severity {
        Severity::Critical
    }

    fn evidence(&self, c: &Context<'_>) -> Vec<Evidence> {
        vec![
            Evidence::text("state", c.state().name()),
            Evidence::text("limited_by", c.reasons().names().collect::<Vec<_>>().join(" ")),
        ]
    }
}
