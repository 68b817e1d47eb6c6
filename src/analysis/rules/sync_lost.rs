//! A TDD unit has lost frame synchronisation: it transmits while the network listens.

use super::{UnitContext, UnitRule, holds, known};
use crate::analysis::catalogue::Situation;
use crate::analysis::latch::Judgement;
use crate::analysis::{Code, Evidence, Severity};
use booster_profile::{DirectionState, Duplex, Quality};

pub(super) struct SyncLost;

fn tdd(c: &UnitContext<'_>, position: usize) -> bool {
    c.identity.band(position).is_some_and(|b| b.duplex == Duplex::Tdd)
}

/// Positions of TDD bands that amplify.
fn transmitting(c: &UnitContext<'_>) -> impl Iterator<Item = usize> {
    let on = |s| matches!(s, DirectionState::Normal | DirectionState::Limited);
    c.bands()
        .filter(move |(i, r, _)| tdd(c, *i) && (on(r.telemetry.dl_state) || on(r.telemetry.ul_state)))
        .map(|(i, _, _)| i)
}

impl UnitRule for SyncLost {
    fn code(&self) -> Code {
        Code::SyncLost
    }

    fn judge(&self, c: &UnitContext<'_>) -> Judgement {
        match c.unit.status.map(|s| s.health.tdd_sync) {
            _ if c.unit.sync_lost => Judgement::Bad,
            Some(Quality::NotKnown) if c.bands().any(|(i, _, _)| tdd(c, i)) => {
                Judgement::NotJudged("frame synchronisation")
            }
            status => holds(status == Some(Quality::Bad)),
        }
    }

    fn severity(&self, c: &UnitContext<'_>) -> Severity {
        if transmitting(c).next().is_some() {
            Severity::Critical
        } else {
            Severity::Warning
        }
    }

    fn evidence(&self, c: &UnitContext<'_>) -> Vec<Evidence> {
        known([
            c.unit
                .status
                .map(|s| Evidence::text("tdd_sync", s.health.tdd_sync.name())),
            Some(c.names(transmitting(c))),
        ])
    }

    fn situation(&self, c: &UnitContext<'_>) -> Situation {
        if transmitting(c).next().is_some() {
            Situation::Plain
        } else {
            Situation::Silent
        }
    }
}
