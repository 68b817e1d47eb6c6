//! The findings of a session: which are open, which changed.

use super::catalogue::{Facts, Figures, Situation, words};
use super::{Code, Evidence, Finding, Severity, Subject};
use crate::event::SessionTime;
use std::time::Duration;

/// Advice is sized anew when the finding has grown or shrunk by this much, dB.
const RESIZE_DB: f64 = 1.0;
/// But not more often than this.
const RESIZE: Duration = Duration::from_secs(5);

/// What the advice of an open finding goes by.
#[derive(Clone, Copy, Debug)]
struct Sized {
    code: Code,
    subject: Subject,
    db: Option<f64>,
    situation: Situation,
    at: SessionTime,
}

/// Open findings and changes that nobody has taken yet.
#[derive(Debug, Default)]
pub(super) struct Findings {
    open: Vec<Finding>,
    sizes: Vec<Sized>,
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
        self.sizes.push(Sized {
            code,
            subject,
            db: facts.figures.shortfall_db,
            situation: facts.situation,
            at,
        });
    }

    /// Whether an open finding has another size or other circumstances by now than its advice goes by.
    pub(super) fn outgrown(
        &self,
        code: Code,
        subject: Subject,
        at: SessionTime,
        figures: &Figures,
        situation: Situation,
    ) -> bool {
        let sized = self.sizes.iter().find(|s| s.code == code && s.subject == subject);
        sized.is_some_and(|s| {
            let differs = match (s.db, figures.shortfall_db) {
                (Some(then), Some(now)) => (now - then).abs() >= RESIZE_DB,
                (None, now) => now.is_some(),
                (Some(_), None) => false,
            };
            (differs || situation != s.situation) && at.since(s.at) >= RESIZE
        })
    }

    /// Advice, causes and proof of an open finding as they are now. Nothing is told: it is the same finding.
    pub(super) fn renew(
        &mut self,
        code: Code,
        subject: Subject,
        at: SessionTime,
        evidence: Vec<Evidence>,
        facts: &Facts<'_>,
    ) {
        let of = |f: &&mut Finding| f.code == code && f.subject == subject;
        let sized = self
            .sizes
            .iter_mut()
            .find(|s| s.code == code && s.subject == subject);
        if let Some((finding, sized)) = self.open.iter_mut().find(of).zip(sized) {
            let words = words(code, facts);
            finding.evidence = evidence;
            finding.meaning = words.meaning;
            finding.causes = words.causes;
            finding.remedies = words.remedies;
            *sized = Sized {
                db: facts.figures.shortfall_db,
                situation: facts.situation,
                at,
                ..*sized
            };
        }
    }

    pub(super) fn clear(&mut self, code: Code, subject: Subject, at: SessionTime) {
        self.sizes.retain(|s| !(s.code == code && s.subject == subject));
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
