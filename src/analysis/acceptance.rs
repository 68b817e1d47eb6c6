//! Acceptance test: what a period of readings shows about each criterion, per band and direction.
//!
//! Pure and free of clocks: time comes with the readings. What could not be judged is said, and never counts as passed.

mod compare;
mod judge;
mod outcome;
mod prompts;
mod series;
mod sheet;
mod spread;
mod survey;
mod table;
mod unit;

pub use outcome::{Acceptance, BandAcceptance, Bound, Comparison, Criterion, Unjudged, Verdict};
pub use prompts::prompts;
pub use survey::Survey;
