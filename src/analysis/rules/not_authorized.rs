//! The operator has not enabled or registered the unit.

use super::{UnitContext, UnitRule};
use crate::analysis::latch::Judgement;
use crate::analysis::{Code, Evidence, Severity};
use booster_profile::Authorization;

pub(super) struct NotAuthorized;

impl UnitRule for NotAuthorized {
    fn code(&self) -> Code {
        Code::NotAuthorized
    }

    fn judge(&self, c: &UnitContext<'_>) -> Judgement {
        match c.unit.status.map(|s| s.authorization) {
            Some(Authorization::Absent) => Judgement::Bad,
            Some(Authorization::Present | Authorization::NotRequired) => Judgement::Good,
            Some(_) => Judgement::NotJudged("whether the operator has authorized it"),
            None => Judgement::Between,
        }
    }

    fn severity(&self, _: &UnitContext<'_>) -> Severity {
        Severity::Critical
    }

    fn evidence(&self, c: &UnitContext<'_>) -> Vec<Evidence> {
        c.unit.status.map_or_else(Vec::new, |s| {
            vec![
                Evidence::text("authorization", s.authorization.name()),
                Evidence::text("operating_state", s.state.name()),
            ]
        })
    }
}
