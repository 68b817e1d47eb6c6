//! What the state means for the person at the screen: how bad, how old, whether to trust it.

use super::Look;
use crate::analysis::{Code, Finding, Severity};
use crate::event::{LinkState, SessionTime};
use crate::fold::Fold;
use ratatui::style::Style;
use std::time::Duration;

/// How things stand, worst last.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Level {
    Good,
    Info,
    Warn,
    Bad,
}

impl From<Severity> for Level {
    fn from(severity: Severity) -> Self {
        match severity {
            Severity::Info => Level::Info,
            Severity::Warning => Level::Warn,
            Severity::Critical => Level::Bad,
        }
    }
}

impl Level {
    pub(super) fn glyph(self, look: &Look) -> &'static str {
        let g = &look.glyphs;
        match self {
            Level::Good => g.good,
            Level::Info => g.info,
            Level::Warn => g.warn,
            Level::Bad => g.bad,
        }
    }

    pub(super) fn style(self, look: &Look) -> Style {
        match self {
            Level::Good => look.good,
            Level::Info => look.info,
            Level::Warn => look.warn,
            Level::Bad => look.bad,
        }
    }
}

/// Whether the values on the screen can be trusted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Data {
    /// Nothing has come yet.
    None,
    /// They are current and complete.
    Good,
    /// They are not; the text says why.
    Bad(&'static str),
}

/// Judges the data as a whole.
pub(crate) fn data(fold: &Fold, now: SessionTime) -> Data {
    let ages: Vec<Duration> = (0..fold.bands().len())
        .filter_map(|p| age(fold, p, now))
        .collect();
    let open = |code| fold.findings().iter().any(|f| f.code == code);
    if ages.is_empty() {
        Data::None
    } else if fold.link().state != LinkState::Live {
        Data::Bad("old values")
    } else if ages.iter().any(|a| *a > stale_after(fold)) || open(Code::StaleTelemetry) {
        Data::Bad("no new readings")
    } else if open(Code::LossyTelemetry) {
        Data::Bad("readings missing")
    } else if open(Code::ImplausibleReading) {
        Data::Bad("values contradict each other")
    } else {
        Data::Good
    }
}

/// Age of a band's last reading; `None` before the first.
pub(crate) fn age(fold: &Fold, position: usize, now: SessionTime) -> Option<Duration> {
    let latest = fold.bands().get(position)?.latest?;
    Some(now - latest.at)
}

/// Whether a band's values are current: only then may they look so.
pub(crate) fn is_current(fold: &Fold, position: usize, now: SessionTime) -> bool {
    fold.link().state == LinkState::Live
        && age(fold, position, now).is_some_and(|age| age <= stale_after(fold))
}

/// Age from which on values no longer count as current: the limits of `stale-telemetry`.
fn stale_after(fold: &Fold) -> Duration {
    let limits = &fold.analyser().criteria().telemetry;
    let feature = fold.telemetry().identity().feature;
    let interval = Duration::from_millis(feature.map_or(1_000, |f| u64::from(f.default_interval_ms)));
    let least = Duration::try_from_secs_f64(limits.stale_min_s).unwrap_or(Duration::from_secs(1));
    interval.saturating_mul(limits.stale_intervals).max(least)
}

/// Open findings of a band, worst first.
pub(super) fn findings_of(fold: &Fold, position: usize) -> impl Iterator<Item = &Finding> {
    fold.findings()
        .iter()
        .filter(move |f| f.subject.band == Some(position))
}

/// How a band stands.
pub(crate) fn level(fold: &Fold, position: usize) -> Level {
    findings_of(fold, position)
        .map(|f| Level::from(f.severity))
        .max()
        .unwrap_or(Level::Good)
}

/// Positions of all bands, worst first, then in the order of the band table: bands must not change places for a tenth
/// of a dB.
pub(crate) fn worst_first(fold: &Fold) -> Vec<usize> {
    let mut order: Vec<usize> = (0..fold.telemetry().identity().bands.bands.len()).collect();
    order.sort_by_key(|p| std::cmp::Reverse(level(fold, *p)));
    order
}
