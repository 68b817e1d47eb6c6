//! Findings from readings: a deterministic fold whose only clock is the data.
//!
//! Same events in, same findings out, at any speed. A rule (in `rules/`) judges one thing; the words, causes and
//! remedies of its finding stand in the catalogue; when a judgement becomes a finding, and when it clears, is decided
//! in one place (`latch`).

pub mod acceptance;
mod analyser;
mod catalogue;
pub mod criteria;
mod finding;
mod findings;
mod latch;
mod memory;
mod remedy;
mod rules;
mod unit;
mod wording;

pub use analyser::{Analyser, NotJudged};
pub use criteria::Criteria;
pub use finding::{Code, Evidence, EvidenceValue, Finding, Path, Severity, Subject};
pub use remedy::{Measure, Remedy, Work};
pub use rules::weak_input_dbm;
pub use wording::{evidence, subject, title};
