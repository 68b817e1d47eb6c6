//! The findings of a session: which are open, which changed.

use super::catalogue::{Facts, words};
use super::{Code, Evidence, Finding, Severity, Subject};
use crate::event::SessionTime;

/// Open findings and changes that nobody has taken yet.
#[derive(Debug, Default)]
pub(super) struct Findings {
    open: Vec<Finding>,
    changes: Vec<Finding>,
}

impl Findings {
    /// Open findings, worst first, then oldest first.
    pub(super) fn open(&self) -> &[Finding] {
        &self.open
    }

    pub(super) fn drain_changes(&mut self, into: &mut Vec<Finding>) {
        into.append(&mut self.changes);
    }

    pub(super) fn raise(
        &mut self,
        code: Code,
        severity: Severity,
        subject: Subject,
        at: SessionTime,
        evidence: Vec<Evidence>,
        facts: &Facts<'_>,
    ) {
        let words = words(code, facts);
        let finding = Finding {
            code,
            severity,
            subject,
            raised: at,
            cleared: None,
            evidence,
            meaning: words.meaning,
            causes: words.causes,
            remedies: words.remedies,
        };
        self.changes.push(finding.clone());
        self.open.push(finding);
        self.open
            .sort_by(|a, b| b.severity.cmp(&a.severity).then(a.raised.cmp(&b.raised)));
    }

    pub(super) fn clear(&mut self, code: Code, subject: Subject, at: SessionTime) {
        if let Some(index) = self
            .open
            .iter()
            .position(|f| f.code == code && f.subject == subject)
        {
            let mut finding = self.open.remove(index);
            finding.cleared = Some(at);
            self.changes.push(finding);
        }
    }
}
