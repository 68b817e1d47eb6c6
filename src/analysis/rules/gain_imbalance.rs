//! Uplink and downlink gain differ more than the rule or good practice allow.

use super::{Context, DOWNLINK, Rule, above, known, number};
use crate::analysis::catalogue::Figures;
use crate::analysis::latch::{Judgement, Timing};
use crate::analysis::{Code, Evidence, Path, Severity};
use booster_profile::{DirectionState, TenthDb};

pub(super) struct GainImbalance;

/// Downlink and uplink gain to compare, dB: as set, or in effect while nothing holds either back.
fn gains(c: &Context<'_>) -> Option<(f64, f64)> {
    let t = &c.reading.telemetry;
    let normal = t.dl_state == DirectionState::Normal && t.ul_state == DirectionState::Normal;
    let set = t.extra.dl_gain_set.zip(t.extra.ul_gain_set);
    let (dl, ul) = set.or(t.dl_gain.zip(t.ul_gain).filter(|_| normal))?;
    Some((TenthDb::db(dl), TenthDb::db(ul)))
}

impl Rule for GainImbalance {
    fn code(&self) -> Code {
        Code::GainImbalance
    }

    fn paths(&self) -> &'static [Path] {
        DOWNLINK
    }

    fn names_path(&self) -> bool {
        false
    }

    fn timing(&self) -> Timing {
        Timing::millis(5_000, 3_000)
    }

    fn judge(&self, c: &Context<'_>) -> Judgement {
        match gains(c) {
            Some((dl, ul)) => above((dl - ul).abs(), c.criteria.uplink.max_imbalance_db, 1.0),
            None if c.reading.telemetry.dl_gain.is_none() || c.reading.telemetry.ul_gain.is_none() => {
                Judgement::NotJudged("the gain of both directions")
            }
            None => Judgement::Between,
        }
    }

    fn severity(&self, _: &Context<'_>) -> Severity {
        Severity::Warning
    }

    fn evidence(&self, c: &Context<'_>) -> Vec<Evidence> {
        let gains = gains(c);
        known([
            number("dl_gain_db", gains.map(|g| g.0)),
            number("ul_gain_db", gains.map(|g| g.1)),
            number("difference_db", gains.map(|(dl, ul)| (dl - ul).abs())),
            number("limit_db", Some(c.criteria.uplink.max_imbalance_db)),
        ])
    }

    fn figures(&self, c: &Context<'_>) -> Figures {
        Figures {
            shortfall_db: gains(c).map(|(dl, ul)| (dl - ul).abs()),
            uplink_has_more: gains(c).is_some_and(|(dl, ul)| ul > dl),
            ..Figures::default()
        }
    }
}
