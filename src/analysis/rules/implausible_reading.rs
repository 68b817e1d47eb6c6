//! Values contradict each other: output is not input plus gain, gain is above the maximum, a sensor is frozen.

use super::{BOTH, Context, Rule, known, number};
use crate::analysis::catalogue::Situation;
use crate::analysis::latch::{Judgement, Timing};
use crate::analysis::{Code, Evidence, Path, Severity};
use booster_profile::DirectionState;

pub(super) struct ImplausibleReading;

/// Output − (input + gain), where all three are known and the direction passes signal.
fn residual_db(c: &Context<'_>) -> Option<f64> {
    if c.state() != DirectionState::Normal {
        return None;
    }
    Some(c.output()? - c.input()? - c.gain()?)
}

/// Gain above the unit's own maximum, dB.
fn gain_excess_db(c: &Context<'_>) -> Option<f64> {
    Some(c.gain()? - c.facts.max_gain_db[c.path as usize]?)
}

fn is_frozen(c: &Context<'_>) -> bool {
    // Without signal a detector may well sit on its lowest step: only an amplifying path counts.
    c.path == Path::Downlink && c.amplifies() && c.memory.frozen_s() >= c.criteria.plausibility.frozen_s
}

impl Rule for ImplausibleReading {
    fn code(&self) -> Code {
        Code::ImplausibleReading
    }

    fn paths(&self) -> &'static [Path] {
        BOTH
    }

    fn timing(&self) -> Timing {
        Timing::millis(5_000, 5_000)
    }

    fn judge(&self, c: &Context<'_>) -> Judgement {
        let limits = &c.criteria.plausibility;
        let residual = residual_db(c);
        let excess = gain_excess_db(c);
        let bad = residual.is_some_and(|r| r.abs() > limits.max_residual_db)
            || excess.is_some_and(|e| e > limits.gain_tolerance_db)
            || is_frozen(c);
        match (bad, residual.is_some() || excess.is_some()) {
            (true, _) => Judgement::Bad,
            (false, true) => Judgement::Good,
            (false, false) => Judgement::NotJudged("levels that could be compared"),
        }
    }

    fn severity(&self, _: &Context<'_>) -> Severity {
        Severity::Warning
    }

    fn evidence(&self, c: &Context<'_>) -> Vec<Evidence> {
        let limits = &c.criteria.plausibility;
        let excess = gain_excess_db(c).filter(|e| *e > limits.gain_tolerance_db);
        known([
            number("output_minus_input_and_gain_db", residual_db(c)),
            number("gain_above_maximum_db", excess),
            is_frozen(c).then(|| Evidence::number("unchanged_for_s", c.memory.frozen_s())),
        ])
    }
    fn situation(&self, c: &Context<'_>) -> Situation {
        let limit = c.criteria.plausibility.gain_tolerance_db;
        if gain_excess_db(c).is_some_and(|e| e > limit) {
            Situation::GainTooHigh
        } else if is_frozen(c) {
            Situation::Frozen
        } else {
            Situation::Plain
        }
    }
}
