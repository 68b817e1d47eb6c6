//! Judging: a value, its limit and how sure the value is make a result.

use super::outcome::{Bound, Criterion, Unjudged, Verdict};
use super::spread::Spread;
use crate::analysis::{Code, Path};
use std::borrow::Cow;

/// What a criterion is, whatever its value.
#[derive(Debug)]
pub(super) struct Test {
    pub(super) name: &'static str,
    pub(super) unit: &'static str,
    pub(super) bound: Bound,
    pub(super) statistic: &'static str,
    /// Its mean can be compared with that of another session; what phones do on the day cannot.
    pub(super) comparable: bool,
    /// Without it nothing is shown to be acceptable.
    pub(super) essential: bool,
    pub(super) source: &'static str,
    /// Findings that tell what to do about it.
    pub(super) codes: &'static [Code],
    /// What to do where no finding says it.
    pub(super) action: &'static str,
}

/// A value to judge.
#[derive(Clone, Copy, Debug)]
pub(super) struct Measured<'a> {
    pub(super) value: Option<f64>,
    pub(super) limit: Option<f64>,
    pub(super) uncertainty: f64,
    /// The series that the value is a statistic of.
    pub(super) series: Option<&'a Spread>,
}

impl Measured<'_> {
    /// A value that is known without uncertainty and is no series, such as a count.
    pub(super) fn exact(value: f64, limit: f64) -> Self {
        Self {
            value: Some(value),
            limit: Some(limit),
            uncertainty: 0.0,
            series: None,
        }
    }
}

/// The criteria of a band or of the unit, as they are judged.
#[derive(Debug, Default)]
pub(super) struct Sheet {
    pub(super) band: Option<String>,
    pub(super) criteria: Vec<(Criterion, &'static Test)>,
    pub(super) missing: Vec<Unjudged>,
}

/// To the digits that can be read.
fn rounded(unit: &str, value: f64) -> f64 {
    let digits = if unit == "share" { 1e3 } else { 10.0 };
    let value = (value * digits).round() / digits;
    // No negative zero in output.
    if value == 0.0 { 0.0 } else { value }
}

impl Sheet {
    pub(super) fn new(band: Option<&str>) -> Self {
        Self {
            band: band.map(str::to_owned),
            ..Self::default()
        }
    }

    /// Judges, or notes why it cannot be.
    pub(super) fn judge(
        &mut self,
        test: &'static Test,
        path: Option<Path>,
        measured: Measured<'_>,
        why_not: &str,
    ) {
        let (Some(value), Some(limit)) = (measured.value, measured.limit) else {
            self.missing(test, path, why_not);
            return;
        };
        let (value, limit) = (rounded(test.unit, value), rounded(test.unit, limit));
        let margin = rounded(
            test.unit,
            match test.bound {
                Bound::AtLeast => value - limit,
                Bound::AtMost => limit - value,
            },
        );
        let uncertainty = measured.uncertainty;
        let result = if margin >= uncertainty {
            Verdict::Pass
        } else if margin >= -uncertainty && uncertainty > 0.0 {
            Verdict::Marginal
        } else {
            Verdict::Fail
        };
        let series = measured.series;
        let worst = series.and_then(|s| match test.bound {
            Bound::AtLeast => s.min(),
            Bound::AtMost => s.max(),
        });
        let tenths = |value: f64| rounded("", value);
        let criterion = Criterion {
            name: test.name,
            direction: path.map(Path::name),
            value,
            limit,
            margin,
            result,
            source: test.source,
            unit: test.unit,
            bound: test.bound,
            uncertainty,
            statistic: Cow::Borrowed(test.statistic),
            median: series.and_then(|s| s.percentile(50.0)).map(tenths),
            worst: worst.map(tenths),
            mean: series
                .filter(|_| test.comparable)
                .and_then(Spread::mean)
                .map(|m| rounded("share", m)),
            standard_error: series
                .filter(|_| test.comparable)
                .and_then(Spread::standard_error)
                .map(|e| rounded("share", e)),
        };
        self.criteria.push((criterion, test));
    }

    /// Notes what cannot be judged.
    pub(super) fn missing(&mut self, test: &'static Test, path: Option<Path>, why: &str) {
        self.missing.push(Unjudged {
            band: self.band.clone(),
            name: test.name,
            direction: path.map(Path::name),
            reason: why.to_owned(),
            essential: test.essential,
        });
    }

    /// The worst result; at best marginal while something essential is missing.
    pub(super) fn result(&self) -> Verdict {
        let shown = if self.missing.iter().any(|m| m.essential) {
            Verdict::Marginal
        } else {
            Verdict::Pass
        };
        self.criteria
            .iter()
            .map(|(c, _)| c.result)
            .fold(shown, Verdict::max)
    }

    /// The criterion that decides: the worst one, and of equally bad ones that with the least room.
    pub(super) fn limiting(&self) -> Option<&(Criterion, &'static Test)> {
        self.criteria
            .iter()
            .min_by(|(a, _), (b, _)| b.result.cmp(&a.result).then(room(a).total_cmp(&room(b))))
    }
}

/// Margin in terms of the uncertainty of the value; counts and shares that pass have all the room there is.
pub(super) fn room(criterion: &Criterion) -> f64 {
    if criterion.uncertainty > 0.0 {
        criterion.margin / criterion.uncertainty
    } else if criterion.result == Verdict::Pass {
        f64::INFINITY
    } else {
        // A condition that is not fulfilled leaves nothing to weigh.
        f64::NEG_INFINITY
    }
}
