//! Isolation minus gain below plan, at the gain in effect or at the gain that the unit is meant to run at: a unit that
//! adapts itself hides a thin margin by giving up gain.

use super::{BOTH, Context, Rule, below, known, number};
use crate::analysis::catalogue::{Figures, Situation};
use crate::analysis::latch::{Judgement, Timing};
use crate::analysis::{Code, Evidence, Path, Severity};
use booster_profile::DirectionState;

pub(super) struct LowLoopMargin;

/// Margin at the gain that the direction is meant to run at, dB.
fn meant(c: &Context<'_>) -> Option<f64> {
    Some(c.isolation()? - c.gain_meant()?)
}

fn worst(c: &Context<'_>) -> Option<f64> {
    let effective = c.margin()?;
    Some(meant(c).map_or(effective, |m| m.min(effective)))
}

impl Rule for LowLoopMargin {
    fn code(&self) -> Code {
        Code::LowLoopMargin
    }

    fn paths(&self) -> &'static [Path] {
        BOTH
    }

    fn timing(&self) -> Timing {
        Timing::millis(3_000, 5_000)
    }

    fn judge(&self, c: &Context<'_>) -> Judgement {
        // Without gain there is no loop: nothing is known about the margin it would have.
        if matches!(
            c.state(),
            DirectionState::Off | DirectionState::Starting | DirectionState::LatchedOff
        ) {
            return Judgement::Between;
        }
        match worst(c) {
            Some(margin) => below(margin, c.criteria.margin.min_db, c.criteria.margin.hysteresis_db),
            None => Judgement::NotJudged("isolation"),
        }
    }

    fn severity(&self, c: &Context<'_>) -> Severity {
        if c.margin().is_some_and(|m| m < c.criteria.margin.critical_db) {
            Severity::Critical
        } else {
            Severity::Warning
        }
    }

    fn evidence(&self, c: &Context<'_>) -> Vec<Evidence> {
        known([
            number("loop_margin_db", c.margin()),
            number("margin_at_set_gain_db", meant(c)),
            number("limit_db", Some(c.criteria.margin.min_db)),
            number("isolation_db", c.isolation()),
            number("gain_db", c.gain()),
            number("gain_set_db", c.gain_set()),
        ])
    }

    fn figures(&self, c: &Context<'_>) -> Figures {
        let limits = &c.criteria.margin;
        Figures {
            shortfall_db: worst(c).map(|m| limits.min_db + limits.hysteresis_db - m),
            margin_db: worst(c),
            ..Figures::default()
        }
    }

    fn situation(&self, c: &Context<'_>) -> Situation {
        if c.margin().is_some_and(|m| m >= c.criteria.margin.min_db) {
            Situation::Adapted
        } else {
            Situation::Plain
        }
    }
}
