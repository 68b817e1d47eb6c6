//! Another carrier in the band uses up the headroom; the wanted cell gets the less gain for it.

use super::context::SLOW_MODEM_S;
use super::{Context, DOWNLINK, Rule, known, number};
use crate::analysis::catalogue::{Figures, Situation};
use crate::analysis::latch::{Judgement, Timing};
use crate::analysis::{Code, Evidence, Path, Severity};
use booster_profile::TenthDb;

pub(super) struct NearFar;

/// A carrier this far below the input may still be the one that fills it, dB: its load, and the age of its report.
const EXPLAINS_DB: f64 = 6.0;

/// The input over a second or two, dBm: traffic moves it by some dB.
fn input(c: &Context<'_>) -> Option<f64> {
    c.memory.input.mean_dbm()
}

/// Gain that the input costs, dB: input over the level at which gain control begins.
fn cost_db(c: &Context<'_>) -> Option<f64> {
    Some(input(c)? - (c.rated()? - c.gain_full()?))
}

/// Whether a carrier was heard that can be what fills the input.
fn carrier_heard(c: &Context<'_>, input: f64) -> bool {
    let rival = c.memory.cells.rival(c.reading.at);
    rival.is_some_and(|r| r.composite_dbm >= input - EXPLAINS_DB)
}

/// Whether the power is noise that hides the wanted cell, rather than a carrier beside it.
fn is_interference(c: &Context<'_>) -> bool {
    let limits = &c.criteria.quality;
    let sinr = c.reading.telemetry.extra.cell.sinr.map(TenthDb::db);
    sinr.is_some_and(|s| s < limits.min_sinr_db + limits.hysteresis_db)
}

impl Rule for NearFar {
    fn code(&self) -> Code {
        Code::NearFar
    }

    fn paths(&self) -> &'static [Path] {
        DOWNLINK
    }

    fn timing(&self) -> Timing {
        Timing::millis(2_500, 5_000)
    }

    fn judge(&self, c: &Context<'_>) -> Judgement {
        if !c.memory.heard_wanted {
            return Judgement::NotJudged("the wanted cell");
        }
        let (Some(explained), Some(input)) = (c.explained_dbm(), input(c)) else {
            return Judgement::Between;
        };
        let overloaded = c
            .facts
            .overload_dbm
            .is_some_and(|level| input >= level - c.facts.accuracy_db);
        // An oscillating loop and an overload have their own findings; without gain nothing is used up.
        if !c.amplifies() || c.rings() || overloaded {
            return Judgement::Between;
        }
        let limits = &c.criteria.near_far;
        let (excess, cost) = (input - explained, cost_db(c).unwrap_or(0.0));
        if excess >= limits.min_excess_db && cost >= limits.min_gain_loss_db {
            let stale = !c.cell_is_fresh() && c.memory.input.since_rise_s().is_some_and(|s| s < SLOW_MODEM_S);
            if carrier_heard(c, input) || !(stale || is_interference(c)) {
                Judgement::Bad
            } else {
                Judgement::Between
            }
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
            number("dl_input_dbm", input(c)),
            number("wanted_carrier_at_most_dbm", c.explained_dbm()),
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
