//! Golden sessions: recordings that are kept, and what each must show. `tests/sessions/golden/README.md` says more.

mod common;
use common::{json_lines, run};

const FOLDER: &str = "tests/sessions/golden";

#[test]
fn every_golden_session_shows_what_is_expected_of_it() {
    let output = run(&["replay", FOLDER, "--expect"]);
    let text = String::from_utf8_lossy(&output.stdout);
    let hint = "meant? tests/sessions/golden/README.md says how to write the expectations anew";
    assert_eq!(output.status.code(), Some(0), "{text}{hint}");
    assert!(
        text.lines().count() > 10 && text.contains("all as expected"),
        "{text}"
    );
}

#[test]
fn golden_sessions_are_a_small_archive_with_many_findings() {
    let size: u64 = std::fs::read_dir(FOLDER)
        .into_iter()
        .flatten()
        .filter_map(|entry| entry.ok()?.metadata().ok())
        .map(|m| m.len())
        .sum();
    assert!(size < 1_000_000, "{size} bytes");
    let output = run(&["replay", FOLDER, "--json"]);
    let lines = json_lines(&String::from_utf8_lossy(&output.stdout));
    let totals = lines.last().map(|l| l["findings"].clone()).unwrap_or_default();
    assert!(totals.as_object().is_some_and(|f| f.len() >= 12), "{totals}");
}
