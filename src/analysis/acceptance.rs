//! Acceptance test: what a period of readings shows about each criterion, per band and direction.
//!
//! Pure and free of clocks: time comes with the readings. What could not be judged is said, and never counts as passed.

mod outcome;

pub use outcome::{Acceptance, BandAcceptance, Bound, Comparison, Criterion, Unjudged, Verdict};
