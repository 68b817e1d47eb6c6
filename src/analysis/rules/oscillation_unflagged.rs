//! The loop behaves as one that oscillates and the unit says nothing: gain control holds the output at its limit, gain
//! stands at the isolation, the input port hears the unit's own output (FACTS D).

use super::oscillation::shortfall_db;
use super::{BOTH, Context, Rule, known, number};
use crate::analysis::catalogue::Figures;
use crate::analysis::latch::{Judgement, Timing};
use crate::analysis::{Code, Evidence, Path, Severity};
use booster_profile::{DirectionState, TenthDb};

pub(super) struct OscillationUnflagged;

impl Rule for OscillationUnflagged {
    fn code(&self) -> Code {
        Code::OscillationUnflagged
    }

    fn paths(&self) -> &'static [Path] {
        BOTH
    }

    fn timing(&self) -> Timing {
        // Longer than any guard needs, and longer than a ramp of gain control.
        Timing::millis(2_000, 5_000)
    }

    fn judge(&self, c: &Context<'_>) -> Judgement {
        if c.state() == DirectionState::Guard || c.memory.oscillating(c.path) {
            // The unit says so itself.
            return Judgement::Good;
        }
        if c.rings() {
            Judgement::Bad
        } else if c.controlled() && c.undecided() {
            Judgement::Between
        } else {
            Judgement::Good
        }
    }

    fn severity(&self, _: &Context<'_>) -> Severity {
        Severity::Critical
    }

    fn evidence(&self, c: &Context<'_>) -> Vec<Evidence> {
        let echo = c
            .output()
            .zip(c.isolation())
            .map(|(output, isolation)| output - isolation);
        let input = match c.path {
            Path::Downlink => "dl_input_dbm",
            Path::Uplink => "ul_input_dbm",
        };
        known([
            number("loop_margin_db", c.margin()),
            number("isolation_db", c.isolation()),
            number("gain_db", c.gain()),
            number("gain_set_db", c.gain_set()),
            number(input, c.input()),
            number("own_output_at_input_dbm", echo),
            number("gain_unrest_db", c.memory.steadiness[c.path as usize].rms_db()),
            number("sinr_db", c.reading.telemetry.extra.cell.sinr.map(TenthDb::db)),
        ])
    }

    fn figures(&self, c: &Context<'_>) -> Figures {
        // Without isolation: control shows how far the gain has to come down to stop it; the plan asks for more.
        let by_gain = c
            .gain_full()
            .zip(c.gain())
            .map(|(full, now)| full - now + c.criteria.margin.min_db + c.criteria.margin.hysteresis_db);
        Figures {
            shortfall_db: shortfall_db(c).or(by_gain),
            ..Figures::default()
        }
    }
}
