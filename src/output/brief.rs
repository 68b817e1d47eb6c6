//! One line for a whole session: for archives.

use super::{Output, Summary};
use crate::fold::{Fold, Update};
use std::collections::BTreeMap;
use std::io::{self, Write};

/// Prints one line at the end of a session.
pub struct Brief<W> {
    out: W,
    name: String,
}

impl<W: Write> Brief<W> {
    /// Prints to `out`; the line begins with `name`.
    pub fn new(out: W, name: &str) -> Self {
        Self {
            out,
            name: name.to_owned(),
        }
    }
}

impl<W: Write> Output for Brief<W> {
    fn update(&mut self, _: &Update, _: &Fold) -> io::Result<()> {
        Ok(())
    }

    fn difference(&mut self, difference: &str) -> io::Result<()> {
        writeln!(self.out, "{}: DIFFERS: {difference}", self.name)
    }

    fn summary(&mut self, summary: &Summary<'_>) -> io::Result<()> {
        let total = summary.fold.telemetry().total();
        let missing = match total.missing() {
            0 => "none missing".to_owned(),
            n => format!("{n} missing"),
        };
        writeln!(
            self.out,
            "{}: {} readings, {missing}; findings: {}; {}",
            self.name,
            total.readings,
            findings(summary.fold.raised()),
            summary.fold.now(),
        )
    }
}

/// Findings by name with how often they were raised, `none` if there are none.
pub fn findings(raised: &BTreeMap<&'static str, u64>) -> String {
    if raised.is_empty() {
        return "none".to_owned();
    }
    let each: Vec<String> = raised.iter().map(|(code, n)| format!("{code} {n}")).collect();
    each.join(", ")
}
