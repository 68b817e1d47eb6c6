//! Tables of the document.

use crate::read;

/// The document, below `protocol-spec/`.
pub const DOCUMENT: &str = "booster-telemetry-profile.md";

/// Rows of the table that follows `<!-- table: name -->`, without its head.
pub fn table(name: &str) -> Vec<Vec<String>> {
    tables()
        .into_iter()
        .find(|(n, _)| n == name)
        .unwrap_or_else(|| panic!("no table {name}"))
        .1
}

/// Every marked table of the document.
pub fn tables() -> Vec<(String, Vec<Vec<String>>)> {
    let text = read(DOCUMENT);
    let mut tables = Vec::new();
    let mut lines = text.lines();
    while let Some(line) = lines.next() {
        let Some(name) = line
            .strip_prefix("<!-- table: ")
            .and_then(|rest| rest.strip_suffix(" -->"))
        else {
            continue;
        };
        let rows = lines
            .by_ref()
            .take_while(|line| line.starts_with('|'))
            .skip(2)
            .map(cells)
            .collect();
        tables.push((name.to_owned(), rows));
    }
    tables
}

fn cells(line: &str) -> Vec<String> {
    let inner = line.trim_matches('|');
    inner.split('|').map(|cell| cell.trim().to_owned()).collect()
}
