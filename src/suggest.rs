//! The nearest known name to a mistyped one.

/// The candidate that needs the fewest changes, when they are few enough to be a slip.
pub fn nearest<'a>(typed: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let longest_slip = 1 + typed.chars().count() / 3;
    candidates
        .into_iter()
        .map(|candidate| (distance(typed, candidate), candidate))
        .filter(|(changes, _)| *changes <= longest_slip)
        .min_by_key(|(changes, _)| *changes)
        .map(|(_, candidate)| candidate)
}

/// Insertions, deletions and replacements from one word to the other, case ignored.
fn distance(from: &str, to: &str) -> usize {
    let to: Vec<char> = to.to_lowercase().chars().collect();
    let mut row: Vec<usize> = (0..=to.len()).collect();
    for (i, a) in from.to_lowercase().chars().enumerate() {
        let mut diagonal = row[0];
        row[0] = i + 1;
        for (j, b) in to.iter().enumerate() {
            let replaced = diagonal + usize::from(a != *b);
            diagonal = row[j + 1];
            row[j + 1] = replaced.min(diagonal + 1).min(row[j] + 1);
        }
    }
    row[to.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slips_are_understood_and_guesses_are_not() {
        assert_eq!(nearest("f_mhzz", ["f_mhz", "d_km"]), Some("f_mhz"));
        assert_eq!(nearest("Loop", ["free-space", "loop"]), Some("loop"));
        assert_eq!(nearest("colour", ["f_mhz", "d_km"]), None);
        assert_eq!(nearest("", ["f_mhz"]), None);
    }
}
