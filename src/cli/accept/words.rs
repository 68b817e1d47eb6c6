//! The result of an acceptance test, for people: 80 columns, and no colour that would have to be seen.

use crate::analysis::acceptance::{Acceptance, Bound, Comparison, Criterion, Unjudged, Verdict};
use std::io::{self, Write};

/// Before the test. Local codes and licensed practice come first.
pub(super) const CAUTIONS: [&str; 2] = [
    "The unit transmits: keep the exposure distance, and stay behind other transmitters' antennas. Local codes and \
     licensed practice come first.",
    "People on roof or ladder come down before the test begins. No test calls to emergency numbers.",
];

const COLUMNS: usize = 80;

/// Prints the whole result.
pub(super) fn result(out: &mut impl Write, outcome: &Acceptance) -> io::Result<()> {
    writeln!(
        out,
        "Acceptance test: {} ({:.0} s)",
        word(outcome.result),
        outcome.duration_s
    )?;
    if let Some(name) = outcome.limiting {
        let place = place(outcome.limiting_band.as_deref(), name, outcome.limiting_direction);
        writeln!(out, "Limiting: {place}")?;
    }
    if let Some(action) = &outcome.first_action {
        paragraph(out, "First: ", action)?;
    }
    for band in &outcome.bands {
        let required = if band.required { "" } else { ", does not count" };
        writeln!(out)?;
        writeln!(out, "{}: {}{required}", band.band, word(band.result))?;
        criteria(out, &band.criteria)?;
    }
    writeln!(out)?;
    writeln!(out, "Unit")?;
    criteria(out, &outcome.unit)?;
    not_judged(out, &outcome.not_judged)?;
    if let Some(comparisons) = &outcome.baseline {
        baseline(out, comparisons)?;
    }
    sources(out, outcome)
}

/// Results in capitals where something is to be done: seen without colour.
fn word(result: Verdict) -> &'static str {
    match result {
        Verdict::Pass => "pass",
        Verdict::Marginal => "MARGINAL",
        Verdict::Fail => "FAIL",
    }
}

fn place(band: Option<&str>, name: &str, direction: Option<&str>) -> String {
    let parts = [band, Some(name), direction];
    parts.into_iter().flatten().collect::<Vec<_>>().join(" ")
}

fn criteria(out: &mut impl Write, criteria: &[Criterion]) -> io::Result<()> {
    for c in criteria {
        let digits = if c.unit == "share" { 3 } else { 1 };
        let sign = match c.bound {
            Bound::AtLeast => ">=",
            Bound::AtMost => "<=",
        };
        let grey = if c.uncertainty > 0.0 {
            format!("+-{:.1}", c.uncertainty)
        } else {
            String::new()
        };
        let name = place(None, c.name, c.direction);
        writeln!(
            out,
            "  {name:<26} {:>8.digits$} {sign} {:>8.digits$} {:<7} {:>+6.digits$} {grey:<6} {}",
            c.value,
            c.limit,
            c.unit,
            c.margin,
            word(c.result)
        )?;
        if c.result > Verdict::Pass {
            paragraph(out, "      ", &c.statistic)?;
        }
    }
    Ok(())
}

fn not_judged(out: &mut impl Write, missing: &[Unjudged]) -> io::Result<()> {
    if missing.is_empty() {
        return Ok(());
    }
    writeln!(out)?;
    writeln!(out, "Not judged")?;
    for m in missing {
        let place = place(m.band.as_deref(), m.name, m.direction);
        let essential = if m.essential {
            " (without it the result is no pass)"
        } else {
            ""
        };
        paragraph(out, "  ", &format!("{place}: {}{essential}", m.reason))?;
    }
    Ok(())
}

fn baseline(out: &mut impl Write, comparisons: &[Comparison]) -> io::Result<()> {
    writeln!(out)?;
    writeln!(
        out,
        "Against the earlier session (means; +- is what chance alone makes)"
    )?;
    let value = |value: Option<f64>| value.map_or("?".to_owned(), |v| format!("{v:.1}"));
    for c in comparisons {
        let place = place(c.band.as_deref(), c.name, c.direction);
        let said = match (c.before.zip(c.now), c.changed) {
            (Some((before, now)), true) => format!("CHANGED by {:+.1}", now - before),
            (Some(_), false) => "unchanged".to_owned(),
            (None, _) => "cannot be compared".to_owned(),
        };
        writeln!(
            out,
            "  {place:<30} {:>7} -> {:>7} {:<4} {:<6} {said}",
            value(c.before),
            value(c.now),
            c.unit,
            c.uncertainty.map_or(String::new(), |u| format!("+-{u:.1}")),
        )?;
    }
    Ok(())
}

/// Where each limit comes from, once.
fn sources(out: &mut impl Write, outcome: &Acceptance) -> io::Result<()> {
    writeln!(out)?;
    writeln!(out, "Where the limits come from")?;
    let mut said: Vec<(&str, &str)> = Vec::new();
    let all = outcome
        .bands
        .iter()
        .flat_map(|b| &b.criteria)
        .chain(&outcome.unit);
    for c in all {
        if !said.contains(&(c.name, c.source)) {
            said.push((c.name, c.source));
            paragraph(out, "  ", &format!("{}: {}", c.name, c.source))?;
        }
    }
    Ok(())
}

/// Words filled into lines; those after the first are set in by four.
fn paragraph(out: &mut impl Write, before: &str, text: &str) -> io::Result<()> {
    let mut line = before.to_owned();
    let mut empty = true;
    for word in text.split_whitespace() {
        if !empty && line.chars().count() + 1 + word.chars().count() > COLUMNS {
            writeln!(out, "{line}")?;
            line = format!("{:1$}", "", before.len() - before.trim_start().len() + 4);
            empty = true;
        }
        if !empty {
            line.push(' ');
        }
        line.push_str(word);
        empty = false;
    }
    writeln!(out, "{line}")
}
