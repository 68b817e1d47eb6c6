//! The level is fine, the quality is not: interference, or several cells alike.

use super::context::SLOW_MODEM_S;
use super::{Context, DOWNLINK, Rule, below, known, number};
use crate::analysis::catalogue::Situation;
use crate::analysis::latch::{Judgement, Timing};
use crate::analysis::{Code, Evidence, Path, Severity};
use booster_profile::TenthDb;

pub(super) struct NoisyDonor;

fn sinr(c: &Context<'_>) -> Option<f64> {
    c.reading.telemetry.extra.cell.sinr.map(TenthDb::db)
}

fn rsrq(c: &Context<'_>) -> Option<f64> {
    c.reading.telemetry.extra.cell.rsrq.map(TenthDb::db)
}

/// Whether the modem measured the cell before control let go of the gain: it may have heard the echo of a loop at its
/// edge.
fn is_of_before(c: &Context<'_>) -> bool {
    let age = c.reading.telemetry.extra.cell.age_tenths_s;
    !c.controlled()
        && match (c.memory.since_held_s, age) {
            (Some(since), Some(age)) => f64::from(age) / 10.0 >= since,
            (Some(since), None) => since < SLOW_MODEM_S,
            (None, _) => false,
        }
}

/// Whether the modem goes from cell to cell and back: several are about as strong.
fn hops(c: &Context<'_>) -> bool {
    c.memory.identity_changes() >= c.criteria.quality.max_cell_changes_per_min
}

impl Rule for NoisyDonor {
    fn code(&self) -> Code {
        Code::NoisyDonor
    }

    fn paths(&self) -> &'static [Path] {
        DOWNLINK
    }

    fn names_path(&self) -> bool {
        false
    }

    fn timing(&self) -> Timing {
        Timing::millis(3_000, 6_000)
    }

    fn judge(&self, c: &Context<'_>) -> Judgement {
        let limits = &c.criteria.quality;
        // The echo of a loop near its edge spoils quality too, and has its own findings.
        if c.margin().is_some_and(|m| m < c.criteria.margin.critical_db) || c.rings() {
            return Judgement::Between;
        }
        let judgement = match (sinr(c), rsrq(c)) {
            (Some(sinr), _) if hops(c) => below(sinr, limits.min_sinr_db + limits.hysteresis_db, 0.0),
            (Some(sinr), _) => below(sinr, limits.min_sinr_db, limits.hysteresis_db),
            (None, Some(rsrq)) => below(rsrq, limits.min_rsrq_db, limits.hysteresis_db / 2.0),
            (None, None) if hops(c) => Judgement::Bad,
            // After a start the modem has to find its cells first.
            (None, None) if c.memory.heard_wanted && !c.memory.heard_since_start => Judgement::Between,
            (None, None) if c.memory.heard_wanted => {
                // The modem lost the wanted cell although there is power enough in the band.
                let enough = c
                    .input()
                    .is_some_and(|i| i > c.facts.weak_input_dbm + limits.hysteresis_db);
                if enough {
                    Judgement::Bad
                } else {
                    Judgement::Between
                }
            }
            (None, None) => return Judgement::NotJudged("SINR or RSRQ of the wanted cell"),
        };
        // Where the level is low, noise is the unit's own, and another finding.
        match c.rsrp() {
            Some(rsrp) if judgement == Judgement::Bad && rsrp < c.facts.weak_rsrp_dbm => Judgement::Between,
            _ if judgement == Judgement::Bad && is_of_before(c) => Judgement::Between,
            _ => judgement,
        }
    }

    fn severity(&self, _: &Context<'_>) -> Severity {
        Severity::Warning
    }

    fn evidence(&self, c: &Context<'_>) -> Vec<Evidence> {
        known([
            number("sinr_db", sinr(c)),
            number("limit_db", Some(c.criteria.quality.min_sinr_db)),
            number("rsrq_db", rsrq(c)),
            number("rsrp_dbm", c.rsrp()),
            hops(c).then(|| Evidence::number("cell_changes_per_min", c.memory.identity_changes())),
            number(
                "equal_cell_dbm",
                c.memory.cells.same_channel_rival_dbm(c.reading.at),
            ),
        ])
    }

    fn situation(&self, c: &Context<'_>) -> Situation {
        let rival = c.memory.cells.same_channel_rival_dbm(c.reading.at);
        let equal = rival
            .zip(c.rsrp())
            .is_some_and(|(rival, own)| rival >= own - c.criteria.quality.equal_db);
        if equal || hops(c) {
            Situation::EqualCells
        } else {
            Situation::Plain
        }
    }
}
