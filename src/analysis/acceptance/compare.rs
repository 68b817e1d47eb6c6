//! Comparison with an earlier session: a real change told apart from measurement scatter.
//!
//! The means of both sessions are compared. A mean is uncertain by its own standard error (the series' effective
//! number of independent samples) and by wander slower than a session, which no session of minutes can see of itself.

use super::outcome::{Acceptance, Comparison, Criterion};
use crate::analysis::criteria::AcceptanceLimits;
use std::f64::consts::SQRT_2;

/// Half width of a 95 % interval in standard deviations.
const INTERVAL: f64 = 1.96;
/// Criteria that traffic moves from one visit to the next.
const BY_TRAFFIC: &[&str] = &["overload", "donor-level", "rsrq", "gain-held-back"];

impl Acceptance {
    /// Compares with an earlier session judged by the same criteria, and keeps the comparison.
    pub fn compare(&mut self, before: &Acceptance, limits: &AcceptanceLimits) {
        let now = self.all();
        let mut comparisons: Vec<Comparison> = now
            .iter()
            .map(|(band, criterion)| compared(*band, before.find(*band, criterion), Some(criterion), limits))
            .collect();
        let gone = before
            .all()
            .into_iter()
            .filter(|(band, criterion)| self.find(*band, criterion).is_none());
        comparisons.extend(gone.map(|(band, criterion)| compared(band, Some(criterion), None, limits)));
        comparisons.retain(|c| c.before.is_some() || c.now.is_some());
        self.baseline = Some(comparisons);
    }

    /// Every criterion that is a measured series, with its band.
    fn all(&self) -> Vec<(Option<&str>, &Criterion)> {
        let bands = self
            .bands
            .iter()
            .flat_map(|b| b.criteria.iter().map(|c| (Some(b.band.as_str()), c)));
        bands
            .chain(self.unit.iter().map(|c| (None, c)))
            .filter(|(_, c)| c.mean.is_some())
            .collect()
    }

    fn find(&self, band: Option<&str>, like: &Criterion) -> Option<&Criterion> {
        self.all()
            .into_iter()
            .find(|(b, c)| *b == band && c.name == like.name && c.direction == like.direction)
            .map(|(_, criterion)| criterion)
    }
}

fn compared(
    band: Option<&str>,
    before: Option<&Criterion>,
    now: Option<&Criterion>,
    limits: &AcceptanceLimits,
) -> Comparison {
    let like = now.or(before);
    let name = like.map_or("", |c| c.name);
    let uncertainty = before.zip(now).map(|(a, b)| {
        let measured = a
            .standard_error
            .unwrap_or(0.0)
            .hypot(b.standard_error.unwrap_or(0.0));
        let traffic = if BY_TRAFFIC.contains(&name) {
            limits.traffic_db
        } else {
            0.0
        };
        let slow = SQRT_2 * limits.wander_db.hypot(traffic);
        INTERVAL * measured.hypot(slow)
    });
    let tenths = |value: f64| (value * 10.0).round() / 10.0;
    let mean = |criterion: Option<&Criterion>| criterion.and_then(|c| c.mean);
    let moved = mean(before).zip(mean(now)).map(|(a, b)| (b - a).abs());
    Comparison {
        band: band.map(str::to_owned),
        name,
        direction: like.and_then(|c| c.direction),
        before: mean(before).map(tenths),
        now: mean(now).map(tenths),
        uncertainty: uncertainty.map(tenths),
        changed: moved.zip(uncertainty).is_some_and(|(moved, u)| moved > u),
        unit: like.map_or("", |c| c.unit),
    }
}
