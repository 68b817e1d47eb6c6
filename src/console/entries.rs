//! What the Findings view lists: open findings, past ones, and what cannot be judged.

use crate::analysis::{Code, Finding, NotJudged, Subject};
use crate::event::SessionTime;
use crate::fold::Fold;

/// A line of the list.
#[derive(Clone, Debug)]
pub(super) enum Entry<'a> {
    /// Holds now.
    Open(&'a Finding),
    /// Held once.
    Past(&'a Finding),
    /// A rule that lacks its values.
    NotJudged(NotJudged),
}

/// What stays the same of an entry while the list around it changes: a finding that clears stays selected.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum EntryKey {
    /// A finding, by kind, subject and time.
    Finding(Code, Subject, SessionTime),
    /// A rule that lacks its values in a band.
    NotJudged(NotJudged),
}

impl Entry<'_> {
    pub(super) fn key(&self) -> EntryKey {
        match self {
            Entry::Open(f) | Entry::Past(f) => EntryKey::Finding(f.code, f.subject, f.raised),
            Entry::NotJudged(n) => EntryKey::NotJudged(*n),
        }
    }
}

/// Open findings worst first, past ones latest first, then what cannot be judged.
pub(super) fn entries(fold: &Fold) -> Vec<Entry<'_>> {
    let open = fold.findings().iter().map(Entry::Open);
    let past = fold.past_findings().iter().rev().map(Entry::Past);
    let not_judged = fold.analyser().not_judged().into_iter().map(Entry::NotJudged);
    open.chain(past).chain(not_judged).collect()
}
