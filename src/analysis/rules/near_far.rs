//! Another carrier in the band uses up the headroom; the wanted cell gets the less gain for it.

use super::{Context, DOWNLINK, Rule, known, number};
use crate::analysis::catalogue::{Figures, Situation};
use crate::analysis::latch::{Judgement, Timing};
use crate::analysis::{Code, Evidence, Path, Severity};
use booster_profile::{Technology, TenthDbm};

pub(super) struct NearFar;

/// Two ports without boosted reference symbols radiate up to this much more (FACTS, correction 2), dB.
const TWO_PORTS_DB: f64 = 3.0;

/// Most that the wanted carrier can bring, dBm.
fn explained_dbm(c: &Context<'_>) -> Option<f64> {
    // Without a report of the wanted cell its carrier is as wide as the pass band, or as a carrier can be.
    let span = c.memory.cells.wanted_span_db().unwrap_or(c.facts.widest_span_db);
    let nr = if c.band.technology == Technology::Nr {
        c.criteria.near_far.nr_allowance_db
    } else {
        0.0
    };
    Some(c.rsrp()? + span + TWO_PORTS_DB + nr)
}

/// Gain that the input costs, dB: input over the level at which gain control begins.
fn cost_db(c: &Context<'_>) -> Option<f64> {
    Some(c.input()? - (c.rated()? - c.gain_full()?))
}

impl Rule for NearFar {
    fn code(&self) -> Code {
        Code::NearFar
    }

    fn paths(&self) -> &'static [Path] {
        DOWNLINK
    }

    fn timing(&self) -> Timing {
        Timing::millis(4_000, 5_000)
    }

    fn judge(&self, c: &Context<'_>) -> Judgement {
        let (Some(explained), Some(input)) = (explained_dbm(c), c.input()) else {
            return Judgement::NotJudged("the wanted cell");
        };
        let overloaded = c
            .band
            .overload_level
            .is_some_and(|level| input >= TenthDbm::dbm(level));
        // An oscillating loop and an overload have their own findings; without gain nothing is used up.
        if !c.amplifies() || c.rings() || overloaded {
            return Judgement::Between;
        }
        let limits = &c.criteria.near_far;
        let (excess, cost) = (input - explained, cost_db(c).unwrap_or(0.0));
        if excess >= limits.min_excess_db && cost >= limits.min_gain_loss_db {
            Judgement::Bad
        } else if excess < limits.min_excess_db - limits.hysteresis_db || cost < 0.0 {
            Judgement::Good
        } else {
            Judgement::Between
        }
    }

    fn severity(&self, _: &Context<'_>) -> Severity {
        Severity::Warning
    }

    fn evidence(&self, c: &Context<'_>) -> Vec<Evidence> {
        let rival = c.memory.cells.rival(c.reading.at);
        known([
            number("dl_input_dbm", c.input()),
            number("wanted_carrier_at_most_dbm", explained_dbm(c)),
            number("rsrp_dbm", c.rsrp()),
            number("gain_given_up_db", cost_db(c)),
            number("strongest_other_carrier_dbm", rival.map(|r| r.composite_dbm)),
            number("limit_db", Some(c.criteria.near_far.min_excess_db)),
        ])
    }

    fn figures(&self, c: &Context<'_>) -> Figures {
        Figures {
            shortfall_db: cost_db(c),
            spare_db: c.rsrp().map(|r| r - c.facts.weak_rsrp_dbm),
            ..Figures::default()
        }
    }

    fn situation(&self, c: &Context<'_>) -> Situation {
        match c.memory.cells.rival(c.reading.at) {
            Some(rival) if !rival.foreign => Situation::OwnOperator,
            _ => Situation::Plain,
        }
    }
}
