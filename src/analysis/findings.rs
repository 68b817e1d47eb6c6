//! The findings of a session: which are open, which changed.

use super::catalogue::{Facts, Figures, Situation, words};
use super::{Code, Evidence, Finding, Severity, Subject};
use crate::event::SessionTime;
use std::time::Duration;

/// Advice is sized anew when the finding has grown or shrunk by this much, dB.
const RESIZE_DB: f64 = 1.0;
/// And has stayed so for this long: a signal that comes or goes passes through every size.
const RESIZE: Duration = Duration::from_secs(5);

/// What the advice of an open finding goes by.
#[derive(Clone, Copy, Debug)]
struct Sized {
    code: Code,
    subject: Subject,
    db: Option<f64>,
    situation: Situation,
    /// Since when the finding differs from that.
    differs: Option<SessionTime>,
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
            differs: None,
        });
    }

    /// Whether an open finding has another size or other circumstances by now than its advice goes by.
    pub(super) fn outgrown(
        &mut self,
        code: Code,
        subject: Subject,
        at: SessionTime,
        figures: &Figures,
        situation: Situation,
    ) -> bool {
        let sized = self
            .sizes
            .iter_mut()
            .find(|s| s.code == code && s.subject == subject);
        sized.is_some_and(|s| {
            let resized = match (s.db, figures.shortfall_db) {
                (Some(then), Some(now)) => (now - then).abs() >= RESIZE_DB,
                // Known for the first time: a guard may let the loop be measured for a moment only.
                (None, Some(_)) => return true,
                (_, None) => false,
            };
            if !resized && situation == s.situation {
                s.differs = None;
                return false;
            }
            at.since(*s.differs.get_or_insert(at)) >= RESIZE
        })
    }

    /// Advice, causes and proof of an open finding as they are now. Nothing is told: it is the same finding.
    pub(super) fn renew(&mut self, code: Code, subject: Subject, evidence: Vec<Evidence>, facts: &Facts<'_>) {
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
                differs: None,
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

#[cfg(test)]
mod tests {
    use super::super::catalogue::Known;
    use super::*;

    fn facts(db: f64) -> Facts<'static> {
        Facts {
            name: "B2",
            path: None,
            figures: Figures {
                shortfall_db: Some(db),
                ..Figures::default()
            },
            situation: Situation::Plain,
            came_about: true,
            known: Known::default(),
        }
    }

    #[test]
    fn advice_follows_a_size_that_lasts_and_no_other() {
        let (code, subject, second) = (Code::LowLoopMargin, Subject::UNIT, SessionTime::from_millis);
        let mut findings = Findings::default();
        findings.raise(
            code,
            Severity::Warning,
            subject,
            second(0),
            Vec::new(),
            &facts(2.0),
        );
        let mut at = |ms, db: f64| {
            let due = findings.outgrown(code, subject, second(ms), &facts(db).figures, Situation::Plain);
            if due {
                findings.renew(code, subject, Vec::new(), &facts(db));
            }
            (due, findings.open()[0].remedies[0].dl_effect_db)
        };
        assert_eq!(at(1_000, 9.0), (false, Some(3.0)));
        assert_eq!(at(4_000, 2.0), (false, Some(3.0)), "it was for seconds only");
        assert_eq!(at(5_000, 9.0), (false, Some(3.0)));
        assert_eq!(at(10_000, 9.2), (true, Some(11.0)));
        assert_eq!(at(11_000, 9.0), (false, Some(11.0)));
    }
}
