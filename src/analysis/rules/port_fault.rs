//! An antenna port or the enclosure is not as it should be.

use super::{UnitContext, UnitRule, holds, known};
use crate::analysis::catalogue::Situation;
use crate::analysis::latch::{Judgement, Timing};
use crate::analysis::{Code, Evidence};
use booster_profile::{PortHealth, Quality};

pub(super) struct PortFault;

fn bad(port: PortHealth) -> bool {
    matches!(port, PortHealth::Open | PortHealth::Short | PortHealth::PoorMatch)
}

impl UnitRule for PortFault {
    fn code(&self) -> Code {
        Code::PortFault
    }

    fn timing(&self) -> Timing {
        Timing::millis(0, 3_000)
    }

    fn judge(&self, c: &UnitContext<'_>) -> Judgement {
        let Some(status) = &c.unit.status else {
            return Judgement::Between;
        };
        let unknown = [status.donor_port, status.server_port]
            .iter()
            .all(|p| *p == PortHealth::NotKnown)
            && status.health.enclosure == Quality::NotKnown;
        if unknown {
            return Judgement::NotJudged("the state of its ports");
        }
        holds(bad(status.donor_port) || bad(status.server_port) || status.health.enclosure == Quality::Bad)
    }

    fn evidence(&self, c: &UnitContext<'_>) -> Vec<Evidence> {
        let status = c.unit.status;
        known([
            status.map(|s| Evidence::text("donor_port", s.donor_port.name())),
            status.map(|s| Evidence::text("server_port", s.server_port.name())),
            status.map(|s| Evidence::text("enclosure", s.health.enclosure.name())),
        ])
    }

    fn situation(&self, c: &UnitContext<'_>) -> Situation {
        match &c.unit.status {
            Some(s) if bad(s.donor_port) => Situation::DonorPort,
            Some(s) if bad(s.server_port) => Situation::ServerPort,
            _ => Situation::Enclosure,
        }
    }
}
