//! Findings over a session: when each held, what was done meanwhile, and what the values were before and after.

use super::recent::{Means, Recent};
use crate::analysis::{Code, Finding, Severity, Subject};
use crate::event::SessionTime;
use std::time::Duration;

/// Times that a finding is told of in full; further ones are counted.
const TOLD: usize = 12;
/// Values after a finding are those of this long after it cleared, so that they lie wholly behind it.
const AFTERWARDS: Duration = Duration::from_secs(6);

/// One time that a finding held.
#[derive(Clone, Debug)]
pub(super) struct Episode {
    /// As it was raised; `cleared` is filled in.
    pub(super) finding: Finding,
    /// Values of its band when it was raised.
    pub(super) before: Means,
    /// Values of its band after it had cleared; `None` while that is not known.
    pub(super) after: Option<Means>,
}

/// A finding and every time that it held.
#[derive(Clone, Debug)]
pub(super) struct Trouble {
    pub(super) code: Code,
    pub(super) subject: Subject,
    /// The worst that it was.
    pub(super) severity: Severity,
    /// The first times in full.
    pub(super) episodes: Vec<Episode>,
    /// Times that are only counted.
    pub(super) more: u64,
    /// Time that it held in all, up to the last clearing, µs.
    held_us: u64,
    open_since: Option<SessionTime>,
}

impl Trouble {
    /// Whether it holds at the end.
    pub(super) fn is_open(&self) -> bool {
        self.open_since.is_some()
    }

    /// Time that it held in all, until `end`.
    pub(super) fn held(&self, end: SessionTime) -> Duration {
        let open = self.open_since.map_or(Duration::ZERO, |since| end - since);
        Duration::from_micros(self.held_us) + open
    }

    /// How often it was raised.
    pub(super) fn times(&self) -> u64 {
        self.episodes.len() as u64 + self.more
    }

    /// When it was first raised.
    pub(super) fn first(&self) -> Option<SessionTime> {
        self.episodes.first().map(|e| e.finding.raised)
    }
}

/// Every finding of a session.
#[derive(Clone, Debug, Default)]
pub(super) struct Troubles {
    all: Vec<Trouble>,
    /// Episodes whose values afterwards are still to be taken.
    waiting: usize,
}

impl Troubles {
    /// In the order in which they were first raised.
    pub(super) fn all(&self) -> &[Trouble] {
        &self.all
    }

    /// Takes in a finding that was raised or cleared.
    pub(super) fn change(&mut self, finding: &Finding, bands: &[Recent]) {
        let same = |t: &&mut Trouble| (t.code, t.subject) == (finding.code, finding.subject);
        match (self.all.iter_mut().find(same), finding.cleared) {
            (Some(trouble), Some(cleared)) => self.waiting += usize::from(trouble.clear(finding, cleared)),
            (Some(trouble), None) => trouble.raise(finding, bands),
            (None, _) => {
                let mut trouble = Trouble {
                    code: finding.code,
                    subject: finding.subject,
                    severity: finding.severity,
                    episodes: Vec::new(),
                    more: 0,
                    held_us: 0,
                    open_since: None,
                };
                trouble.raise(finding, bands);
                self.all.push(trouble);
            }
        }
    }

    /// Time has passed: values after what has cleared can be taken.
    pub(super) fn pass(&mut self, now: SessionTime, bands: &[Recent]) {
        if self.waiting == 0 {
            return;
        }
        for trouble in &mut self.all {
            let subject = trouble.subject;
            for episode in &mut trouble.episodes {
                let due = |cleared: SessionTime| cleared + AFTERWARDS <= now;
                if episode.after.is_none() && episode.finding.cleared.is_some_and(due) {
                    episode.after = Some(means(subject, bands, now));
                    self.waiting -= 1;
                }
            }
        }
    }
}

impl Trouble {
    fn raise(&mut self, finding: &Finding, bands: &[Recent]) {
        self.severity = self.severity.max(finding.severity);
        self.open_since = Some(finding.raised);
        if self.episodes.len() < TOLD {
            self.episodes.push(Episode {
                finding: finding.clone(),
                before: means(self.subject, bands, finding.raised),
                after: None,
            });
        } else {
            self.more += 1;
        }
    }

    /// Whether the episode that ends is one told in full.
    fn clear(&mut self, finding: &Finding, cleared: SessionTime) -> bool {
        self.open_since = None;
        let held = cleared - finding.raised;
        self.held_us += u64::try_from(held.as_micros()).unwrap_or(u64::MAX);
        let same = |e: &&mut Episode| e.finding.raised == finding.raised;
        let told = self.episodes.iter_mut().rev().find(same);
        let is_told = told.is_some();
        if let Some(episode) = told {
            episode.finding.cleared = Some(cleared);
        }
        is_told
    }
}

/// Values of the band that a finding is about; of the first band where it is about the unit.
fn means(subject: Subject, bands: &[Recent], now: SessionTime) -> Means {
    bands
        .get(subject.band.unwrap_or(0))
        .map_or([None; _], |recent| recent.means(now))
}
