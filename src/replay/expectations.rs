//! What a session is expected to show: a file beside it, written by a replay and kept by people.
//!
//! The format is written down in `src/replay/EXPECTATIONS.md`.

use super::find::stem;
use super::{Bound, Outcome, Seen};
use crate::analysis::acceptance::Verdict;
use crate::event::SessionTime;
use crate::telemetry::Accounts;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::io;
use std::path::{Path, PathBuf};

/// Name of the format.
pub const FORMAT: &str = "loopmargin-expectations";
/// Version of the format.
pub const VERSION: u32 = 1;
/// How far a finding may be from its time, unless a file says otherwise, s.
const TOLERANCE_S: f64 = 1.0;

/// Expectations of one session.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Expectations {
    /// [`FORMAT`].
    pub format: String,
    /// [`VERSION`].
    pub version: u32,
    /// How far a finding's times may be from those given, s.
    pub time_tolerance_s: f64,
    /// Result as a whole.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub verdict: Option<Verdict>,
    /// Bounds on the accounts of all bands together, by name, both included.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub accounts: BTreeMap<String, [u64; 2]>,
    /// Findings that must be there; no others may.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub findings: Vec<ExpectedFinding>,
    /// Bounds on figures, by band, quantity and figure, both included.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub bands: BTreeMap<String, BTreeMap<String, BTreeMap<Bound, [f64; 2]>>>,
}

/// A finding that must be there.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ExpectedFinding {
    /// Code.
    pub code: String,
    /// Severity when raised; any, if absent.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub severity: Option<String>,
    /// Band; absent for the whole unit.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub band: Option<String>,
    /// Direction; absent for both.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub direction: Option<String>,
    /// When it is raised, s.
    pub raised_s: f64,
    /// When it clears, s; absent if it still holds at the end.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub cleared_s: Option<f64>,
    /// In place of the file's tolerance, s.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub time_tolerance_s: Option<f64>,
}

/// Why an expectation file cannot be used.
#[derive(Debug, thiserror::Error)]
pub enum ExpectationsError {
    /// There is none.
    #[error("there is no {}; write it with --write-expect and look at it", .0.display())]
    Missing(PathBuf),
    /// It cannot be read or written.
    #[error("{}: {error}; check the folder", path.display())]
    Io {
        /// The file.
        path: PathBuf,
        /// What the system says.
        error: io::Error,
    },
    /// It says something that is not understood.
    #[error("{}: {why}; EXPECTATIONS.md says what may stand there", path.display())]
    Content {
        /// The file.
        path: PathBuf,
        /// What is wrong, and where.
        why: String,
    },
}

/// The accounts that can be bounded, by name.
pub(super) fn accounts(a: &Accounts) -> [(&'static str, u64); 10] {
    [
        ("expected", a.expected),
        ("readings", a.readings),
        ("lost_on_air", a.lost_on_air),
        ("dropped_on_host", a.dropped_on_host),
        ("malformed", a.malformed),
        ("incomplete", a.incomplete),
        ("unreadable", a.unreadable),
        ("outage", a.outage),
        ("duplicates", a.duplicates),
        ("out_of_order", a.out_of_order),
    ]
}

/// Milliseconds are as exact as a person needs them.
fn rounded(at: SessionTime) -> f64 {
    (at.seconds() * 1e3).round() / 1e3
}

impl Expectations {
    /// What a session shows, as expectations: accounts as they are, figures rounded outwards to tenths.
    pub fn of(outcome: &Outcome) -> Self {
        let finding = |f: &Seen| ExpectedFinding {
            code: f.code.to_owned(),
            severity: Some(f.severity.name().to_owned()),
            band: f.band.clone(),
            direction: f.direction.map(str::to_owned),
            raised_s: rounded(f.raised),
            cleared_s: f.cleared.map(rounded),
            time_tolerance_s: None,
        };
        let outwards = |figure: f64| [(figure * 10.0).floor() / 10.0, (figure * 10.0).ceil() / 10.0];
        let band = |(position, (name, _)): (usize, &(String, Accounts))| {
            let quantities: BTreeMap<_, _> = outcome
                .statistics
                .iter()
                .flat_map(|s| s.of(position))
                .map(|(quantity, tally)| {
                    let bounds = Bound::ALL.into_iter();
                    let bounds = bounds.filter_map(|b| Some((b, outwards(tally.figure(b)?))));
                    (quantity.name.to_owned(), bounds.collect())
                })
                .collect();
            (!quantities.is_empty()).then(|| (name.clone(), quantities))
        };
        Self {
            format: FORMAT.to_owned(),
            version: VERSION,
            time_tolerance_s: TOLERANCE_S,
            verdict: Some(outcome.verdict),
            accounts: accounts(&outcome.accounts)
                .into_iter()
                .map(|(name, n)| (name.to_owned(), [n, n]))
                .collect(),
            findings: outcome.findings.iter().map(finding).collect(),
            bands: outcome.bands.iter().enumerate().filter_map(band).collect(),
        }
    }

    /// The expectation file that belongs to a recording: `visit.expect.toml` beside `visit.jsonl` or `visit.jsonl.zst`.
    pub fn path_for(recording: &Path) -> PathBuf {
        let name = recording.file_name().unwrap_or_default().to_string_lossy();
        recording.with_file_name(format!("{}.expect.toml", stem(&name)))
    }

    /// Reads the file.
    ///
    /// # Errors
    /// [`ExpectationsError`].
    pub fn load(path: &Path) -> Result<Self, ExpectationsError> {
        let text = std::fs::read_to_string(path).map_err(|error| match error.kind() {
            io::ErrorKind::NotFound => ExpectationsError::Missing(path.to_owned()),
            _ => ExpectationsError::Io {
                path: path.to_owned(),
                error,
            },
        })?;
        let content = |why| ExpectationsError::Content {
            path: path.to_owned(),
            why,
        };
        let read: Self = toml::from_str(&text).map_err(|e| content(e.to_string().trim_end().to_owned()))?;
        if (read.format.as_str(), read.version) != (FORMAT, VERSION) {
            return Err(content(format!(
                "format {} version {} is not known here",
                read.format, read.version
            )));
        }
        Ok(read)
    }

    /// Writes the file in place of the one that is there, whose tolerances stay: a person set them.
    ///
    /// # Errors
    /// [`ExpectationsError`]; a file that is there but is not understood is not replaced.
    pub fn save(mut self, path: &Path) -> Result<(), ExpectationsError> {
        match Self::load(path) {
            Ok(before) => self.keep_tolerances(&before),
            Err(ExpectationsError::Missing(_)) => {}
            Err(other) => return Err(other),
        }
        let content = |why: toml::ser::Error| ExpectationsError::Content {
            path: path.to_owned(),
            why: why.to_string(),
        };
        let text = toml::to_string(&self).map_err(content)?;
        std::fs::write(path, text).map_err(|error| ExpectationsError::Io {
            path: path.to_owned(),
            error,
        })
    }

    fn keep_tolerances(&mut self, before: &Self) {
        self.time_tolerance_s = before.time_tolerance_s;
        let key = |f: &ExpectedFinding| (f.code.clone(), f.band.clone(), f.direction.clone());
        for finding in &mut self.findings {
            let same = before.findings.iter().find(|b| key(b) == key(finding));
            finding.time_tolerance_s = same.and_then(|b| b.time_tolerance_s);
        }
    }
}
