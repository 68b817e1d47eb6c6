//! Peers of the console: the same updates as lines of text or JSON.

pub mod aim;
pub mod brief;
pub mod json;
pub mod plain;

use crate::fold::{Fold, Update};
use std::io;

/// Where updates go.
pub trait Output {
    /// Prints one update; `fold` is the state after it.
    ///
    /// # Errors
    /// When the underlying writer fails; a broken pipe is for the caller to treat as the end.
    fn update(&mut self, update: &Update, fold: &Fold) -> io::Result<()>;

    /// Prints in what a session differs from what was expected of it. Comes before the summary.
    ///
    /// # Errors
    /// As [`Output::update`].
    fn difference(&mut self, difference: &str) -> io::Result<()>;

    /// Prints what closes the session.
    ///
    /// # Errors
    /// As [`Output::update`].
    fn summary(&mut self, summary: &Summary<'_>) -> io::Result<()>;
}

/// What is known at the end of a session that the fold does not know.
pub struct Summary<'a> {
    /// State at the end.
    pub fold: &'a Fold,
    /// Events that did not get into the recording.
    pub not_recorded: u64,
    /// Time from arrival to state, of a live session.
    pub latency: Option<Latency>,
}

/// Percentiles of the time from a value's arrival to its being in state, µs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
pub struct Latency {
    /// Half of the values took at most this.
    pub p50: u64,
    /// 99 of 100.
    pub p99: u64,
    /// The slowest.
    pub max: u64,
}
