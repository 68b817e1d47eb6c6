//! A handset too near the server antenna drives the uplink into limiting.

use super::{Context, Rule, UPLINK, known, number};
use crate::analysis::catalogue::Figures;
use crate::analysis::latch::{Judgement, Timing};
use crate::analysis::{Code, Evidence, Path, Severity};

pub(super) struct UplinkOverload;

/// Uplink gain given up to the handset, dB.
fn loss_db(c: &Context<'_>) -> Option<f64> {
    Some(c.gain_meant().or(c.gain_full())? - c.gain()?)
}

impl Rule for UplinkOverload {
    fn code(&self) -> Code {
        Code::UplinkOverload
    }

    fn paths(&self) -> &'static [Path] {
        UPLINK
    }

    fn timing(&self) -> Timing {
        Timing::millis(3_000, 5_000)
    }

    fn judge(&self, c: &Context<'_>) -> Judgement {
        if c.rings() {
            return Judgement::Between;
        }
        if !c.controlled() {
            return Judgement::Good;
        }
        // A loop that oscillates holds the output at its rating too.
        if c.undecided() {
            return Judgement::Between;
        }
        match loss_db(c) {
            Some(loss) if loss >= c.criteria.uplink.min_gain_loss_db => Judgement::Bad,
            Some(_) => Judgement::Between,
            None => Judgement::NotJudged("the uplink gain"),
        }
    }

    fn severity(&self, _: &Context<'_>) -> Severity {
        Severity::Warning
    }

    fn evidence(&self, c: &Context<'_>) -> Vec<Evidence> {
        known([
            number("ul_input_dbm", c.input()),
            number("ul_output_dbm", c.output()),
            number("rated_output_dbm", c.rated()),
            number("gain_given_up_db", loss_db(c)),
            Some(c.limited_by()),
        ])
    }

    fn figures(&self, c: &Context<'_>) -> Figures {
        Figures {
            shortfall_db: loss_db(c),
            ..Figures::default()
        }
    }
}
