//! What a good analyser finds at a site; tests compare with it.

use super::Way;
use serde::Deserialize;

/// Every finding code of the analyser (design/analysis.md).
pub const FINDING_CODES: &[&str] = &[
    "donor-overload",
    "front-end-overload",
    "near-far",
    "weak-donor",
    "noisy-donor",
    "low-loop-margin",
    "oscillation",
    "oscillation-unflagged",
    "latched-off",
    "gain-held-back",
    "uplink-noise",
    "uplink-overload",
    "uplink-muted",
    "gain-imbalance",
    "step-loss",
    "creeping-loss",
    "swaying-level",
    "sync-lost",
    "hot-unit",
    "supply-dip",
    "restarting",
    "port-fault",
    "not-authorized",
    "lossy-telemetry",
    "stale-telemetry",
    "implausible-reading",
];

/// One finding that should be raised.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Expectation {
    /// Code of the finding.
    pub code: String,
    /// Band by its name; not given for the whole unit.
    pub band: Option<String>,
    /// Direction, where it matters.
    pub direction: Option<Way>,
    /// Earliest time at which it may be raised, s.
    #[serde(default)]
    pub from_s: f64,
    /// Latest time at which it must have been raised, s.
    pub by_s: f64,
    /// Latest time at which it must have been cleared again, s.
    pub cleared_by_s: Option<f64>,
}
