//! What may stand in a criteria file: the nearest known key to a mistyped one, and the range of each value.

use super::CriteriaError;
use crate::suggest::nearest;
use std::ops::RangeInclusive;

/// The nearest of the keys that an error of the TOML reader expected, from its words: "unknown field `a`, expected one
/// of `b`, `c`".
pub(super) fn hint(message: &str) -> Option<&str> {
    let mut quoted = message.split('`').skip(1).step_by(2);
    let typed = quoted.next().filter(|_| message.contains("unknown field"))?;
    nearest(typed, quoted)
}

/// Range of a value, by the unit that its key ends with.
fn range(key: &str) -> RangeInclusive<f64> {
    match key {
        "min-sinr-db" => -30.0..=40.0,
        "min-rsrq-db" => -50.0..=0.0,
        "factor" => 0.01..=100.0,
        _ if key.ends_with("-percentile") => 0.0..=100.0,
        _ if key.ends_with("-share") || key.ends_with("-drop") => 0.0..=1.0,
        _ if key.ends_with("-dbm") => -200.0..=100.0,
        _ if key.ends_with("-db") => 0.0..=100.0,
        _ if key.ends_with("-c") => -50.0..=150.0,
        _ if key.ends_with("-s") => 0.0..=86_400.0,
        _ => 0.0..=1_000.0,
    }
}

/// The first value of a file that is out of its range.
pub(super) fn out_of_range(text: &str) -> Option<CriteriaError> {
    let document: toml::Table = text.parse().ok()?;
    document.iter().find_map(|(table, keys)| {
        keys.as_table()?.iter().find_map(|(key, value)| {
            let number = value
                .as_float()
                .or_else(|| value.as_integer().map(|n| n as f64))?;
            let range = range(key);
            (!range.contains(&number)).then(|| CriteriaError::Range {
                line: line(text, table, key),
                key: format!("{table}.{key}"),
                value: number,
                low: *range.start(),
                high: *range.end(),
            })
        })
    })
}

/// Line of a key, from 1; 0 where it is written in a way that this does not look for.
fn line(text: &str, table: &str, key: &str) -> usize {
    let header = format!("[{table}]");
    let mut within = false;
    for (index, line) in text.lines().enumerate() {
        let line = line.trim();
        if line.starts_with('[') {
            within = line.starts_with(&header);
        }
        let named = line
            .strip_prefix(key)
            .is_some_and(|rest| rest.trim_start().starts_with('='));
        if within && named {
            return index + 1;
        }
    }
    0
}
