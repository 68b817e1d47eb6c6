//! Why a scenario was refused.

use std::path::PathBuf;

/// A scenario that cannot be used.
#[derive(Debug, thiserror::Error)]
pub enum ScenarioError {
    /// No scenario of this name is built in.
    #[error("no scenario is called `{name}`{hint}; `loopmargin simulate --list` names them all", hint = did_you_mean(.nearest))]
    UnknownName {
        /// The name as given.
        name: String,
        /// The nearest name there is.
        nearest: Option<String>,
    },
    /// The file could not be read.
    #[error("reading the scenario {}: {source}", path.display())]
    Read {
        /// Which file.
        path: PathBuf,
        /// Why.
        source: std::io::Error,
    },
    /// The text is not a scenario.
    #[error("{origin}, line {line}: {message}{hint}", hint = did_you_mean(.nearest))]
    Syntax {
        /// Which file.
        origin: String,
        /// Line, from 1.
        line: usize,
        /// What is wrong there.
        message: String,
        /// For an unknown key or value: the nearest that exists.
        nearest: Option<String>,
    },
    /// The values contradict each other or lie outside their range.
    #[error("{origin}: {message}")]
    Invalid {
        /// Which file.
        origin: String,
        /// What is wrong, and what would be right.
        message: String,
    },
}

fn did_you_mean(nearest: &Option<String>) -> String {
    nearest
        .as_ref()
        .map(|n| format!("; did you mean `{n}`?"))
        .unwrap_or_default()
}

/// The candidate that takes the fewest edits from `word`, if few enough to be a slip.
pub(super) fn nearest<'a>(word: &str, candidates: impl Iterator<Item = &'a str>) -> Option<String> {
    candidates
        .map(|c| (edits(word, c), c))
        .min()
        .filter(|(distance, c)| *distance <= 1 + c.len() / 3)
        .map(|(_, c)| c.to_owned())
}

/// Edit distance (Levenshtein 1966).
fn edits(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, ca) in a.chars().enumerate() {
        let mut diagonal = row[0];
        row[0] = i + 1;
        for (j, cb) in b.iter().enumerate() {
            let cost = diagonal + usize::from(ca != *cb);
            diagonal = row[j + 1];
            row[j + 1] = cost.min(row[j] + 1).min(diagonal + 1);
        }
    }
    row[b.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_slip_finds_its_word() {
        let words = ["isolation_db", "level_db", "load"];
        assert_eq!(
            nearest("isolaton_db", words.into_iter()).as_deref(),
            Some("isolation_db")
        );
        assert_eq!(nearest("lod", words.into_iter()).as_deref(), Some("load"));
        assert_eq!(nearest("temperature", words.into_iter()), None);
    }
}
