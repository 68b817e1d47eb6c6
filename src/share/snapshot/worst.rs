//! The worst finding on the page, and when to sound the alarm.

use super::BandPicture;
use crate::analysis::{Code, Remedy, subject, title};
use crate::console::words;
use crate::event::SessionTime;
use crate::fold::Fold;
use serde::Serialize;

/// The worst open finding with its first remedy.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FindingPicture {
    /// `info`, `warning` or `critical`.
    pub severity: &'static str,
    /// Its name in words.
    pub title: String,
    /// What it is about.
    pub subject: String,
    /// How long it has been open.
    pub since: String,
    /// What it means.
    pub meaning: String,
    /// Proof.
    pub proof: String,
    /// What to do first.
    pub action: Option<String>,
    /// What that brings.
    pub effect: Option<String>,
    /// What it costs.
    pub cost: Option<String>,
    /// What to watch out for.
    pub caution: Option<String>,
    /// How many other findings are open.
    pub others: usize,
}

impl FindingPicture {
    /// The worst; `None` when none is open.
    pub(super) fn worst(fold: &Fold, now: SessionTime) -> Option<Self> {
        let finding = fold.findings().first()?;
        let first = finding.remedies.first();
        Some(Self {
            severity: finding.severity.name(),
            title: title(finding.code),
            subject: subject(finding.subject, fold.telemetry().identity()),
            since: words::span(now - finding.raised),
            meaning: finding.meaning.clone(),
            proof: words::proof(finding, false),
            action: first.map(|r| r.action.clone()),
            effect: first.and_then(Remedy::effect_words),
            cost: first.and_then(|r| r.cost.clone()),
            caution: first.and_then(|r| r.caution.clone()),
            others: fold.findings().len() - 1,
        })
    }
}

/// What the ear should know at once: an oscillation before an overload. A reading says so sooner than a finding, which
/// has to hold for a while; a finding says it where the unit does not.
pub(super) fn alarm(fold: &Fold, bands: &[BandPicture]) -> Option<&'static str> {
    let open = |codes: &[Code]| fold.findings().iter().any(|f| codes.contains(&f.code));
    let current = || bands.iter().filter(|b| b.current);
    let overloaded = |band: &BandPicture| band.values.iter().any(|v| v.word == "overload");
    if current().any(|b| b.guard) || open(&[Code::Oscillation, Code::OscillationUnflagged, Code::LatchedOff])
    {
        Some("oscillation")
    } else if current().any(overloaded)
        || open(&[Code::DonorOverload, Code::FrontEndOverload, Code::UplinkOverload])
    {
        Some("overload")
    } else {
        None
    }
}
