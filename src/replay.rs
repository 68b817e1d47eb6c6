//! Recordings replayed by the hundred: found, run in parallel, compared with what is expected of them.
//!
//! Files are read and folded here; what is printed, and where to, is the command's business.

mod compare;
mod criteria;
mod expectations;
mod find;
pub mod junit;
mod outcome;
mod pool;
mod statistics;

pub use compare::compare;
pub use expectations::{Expectations, ExpectationsError, FORMAT, VERSION};
pub use find::{Found, find};
pub use outcome::{Outcome, Replay, ReplayError, Seen, replay};
pub use pool::{Piece, Then, in_order};
pub use statistics::{Bound, Quantity, Statistics, Tally};
