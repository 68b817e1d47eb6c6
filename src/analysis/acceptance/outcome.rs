//! The result of an acceptance test, as printed by `accept --json` and drawn by the report.

use serde::{Deserialize, Serialize};
use std::borrow::Cow;

/// Result of a criterion, a band, a session. The worse one is the greater one.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    /// Within the limit by more than the uncertainty of the value.
    Pass,
    /// So near the limit that the uncertainty of the value decides, or not fully shown.
    Marginal,
    /// Beyond the limit by more than the uncertainty.
    Fail,
}

impl Verdict {
    /// Name in output.
    pub const fn name(self) -> &'static str {
        match self {
            Verdict::Pass => "pass",
            Verdict::Marginal => "marginal",
            Verdict::Fail => "fail",
        }
    }
}

/// Which side of the limit is good.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Bound {
    /// The value must not be below the limit.
    AtLeast,
    /// The value must not be above the limit.
    AtMost,
}

/// One criterion, judged. Values are rounded to tenths (shares to thousandths).
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Criterion {
    /// Name, such as `loop-margin`.
    pub name: &'static str,
    /// `dl` or `ul`; `None` where both or neither is meant.
    pub direction: Option<&'static str>,
    /// What was compared with the limit.
    pub value: f64,
    /// The limit.
    pub limit: f64,
    /// Distance from the limit; negative is beyond it.
    pub margin: f64,
    /// The result.
    pub result: Verdict,
    /// Where the limit comes from.
    pub source: &'static str,
    /// Unit of value, limit, margin and uncertainty: `dB`, `dBm`, `dBm/MHz`, `°C`, `share`, or empty for counts.
    pub unit: &'static str,
    /// Which side of the limit is good.
    pub bound: Bound,
    /// Half width of the grey zone about the limit that yields *marginal*.
    pub uncertainty: f64,
    /// Which statistic of the period the value is, in words: `median`, `1st percentile of the worst minute`.
    pub statistic: Cow<'static, str>,
    /// Median of the period; `None` where the value is no series.
    pub median: Option<f64>,
    /// Worst value of the period.
    pub worst: Option<f64>,
    /// Mean of the period: what comparisons with another session compare.
    pub mean: Option<f64>,
    /// Standard error of the mean, autocorrelation considered.
    pub standard_error: Option<f64>,
}

/// One band.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BandAcceptance {
    /// Name, such as `B2`.
    pub band: String,
    /// Worst of its criteria; at best marginal while something essential could not be judged.
    pub result: Verdict,
    /// Whether it counts for the result of the session.
    pub required: bool,
    /// Criteria that could be judged.
    pub criteria: Vec<Criterion>,
}

/// What could not be judged, and why.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Unjudged {
    /// Band; `None` for the unit.
    pub band: Option<String>,
    /// Name of the criterion.
    pub name: &'static str,
    /// `dl` or `ul`.
    pub direction: Option<&'static str>,
    /// Why, as a sentence without its full stop.
    pub reason: String,
    /// Whether its absence keeps the result from being a pass.
    pub essential: bool,
}

/// One criterion, before and now.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Comparison {
    /// Band; `None` for the unit.
    pub band: Option<String>,
    /// Name of the criterion.
    pub name: &'static str,
    /// `dl` or `ul`.
    pub direction: Option<&'static str>,
    /// Mean of the earlier session; `None` where it could not be judged then.
    pub before: Option<f64>,
    /// Mean of this session; `None` where it could not be judged now.
    pub now: Option<f64>,
    /// Difference (95 %) that wander and measurement alone would make.
    pub uncertainty: Option<f64>,
    /// Whether it changed by more than that.
    pub changed: bool,
    /// Unit of the values.
    pub unit: &'static str,
}

/// The whole test.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Acceptance {
    /// Worst of the required bands and the unit.
    pub result: Verdict,
    /// Bands in the order of the band table.
    pub bands: Vec<BandAcceptance>,
    /// Name of the criterion that decides: the worst, and of equally bad ones that with the least margin in terms of
    /// its uncertainty. `None` when nothing was judged.
    pub limiting: Option<&'static str>,
    /// Its band; `None` for the unit.
    pub limiting_band: Option<String>,
    /// Its direction.
    pub limiting_direction: Option<&'static str>,
    /// What to do first; `None` where there is nothing to do.
    pub first_action: Option<String>,
    /// Comparison with an earlier session; `None` where there was none.
    pub baseline: Option<Vec<Comparison>>,
    /// Criteria of the unit as a whole.
    pub unit: Vec<Criterion>,
    /// What could not be judged, and why.
    pub not_judged: Vec<Unjudged>,
    /// Session time that the test covers, s.
    pub duration_s: f64,
}
