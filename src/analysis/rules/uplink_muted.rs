//! No uplink: idle, which is normal, or prevented.

use super::{Context, Rule, UPLINK, holds};
use crate::analysis::catalogue::Situation;
use crate::analysis::latch::{Judgement, Timing};
use crate::analysis::{Code, Evidence, Path, Severity};
use booster_profile::{DirectionState, Reasons};

pub(super) struct UplinkMuted;

fn prevented(c: &Context<'_>) -> bool {
    c.state() == DirectionState::Off || c.reasons().contains(Reasons::SETTING)
}

impl Rule for UplinkMuted {
    fn code(&self) -> Code {
        Code::UplinkMuted
    }

    fn paths(&self) -> &'static [Path] {
        UPLINK
    }

    fn timing(&self) -> Timing {
        Timing::millis(5_000, 1_000)
    }

    fn judge(&self, c: &Context<'_>) -> Judgement {
        let downlink = matches!(
            c.reading.telemetry.dl_state,
            DirectionState::Normal | DirectionState::Limited
        );
        match c.state() {
            DirectionState::Muted => Judgement::Bad,
            // A unit that is off altogether has another finding.
            DirectionState::Off if downlink => Judgement::Bad,
            DirectionState::Off | DirectionState::Starting => Judgement::Between,
            _ => holds(false),
        }
    }

    fn severity(&self, c: &Context<'_>) -> Severity {
        if prevented(c) && !c.unit.aim_safe() {
            Severity::Warning
        } else {
            Severity::Info
        }
    }

    fn evidence(&self, c: &Context<'_>) -> Vec<Evidence> {
        vec![Evidence::text("state", c.state().name()), c.limited_by()]
    }

    fn situation(&self, c: &Context<'_>) -> Situation {
        match (prevented(c), c.unit.aim_safe()) {
            (_, true) => Situation::AimSafe,
            (true, _) => Situation::Prevented,
            _ => Situation::Plain,
        }
    }
}
