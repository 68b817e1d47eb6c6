//! A recording that cannot go on, or cannot even begin: the session goes on live, says so, and counts.
#![cfg(target_os = "linux")]
// A failed assumption should stop a test.
#![allow(clippy::expect_used)]

mod common;
use common::{Folder, assert_accounts_add_up, json_lines, run};
use std::process::{Command, Output};

fn told(output: &Output) -> (serde_json::Value, String) {
    assert_eq!(output.status.code(), Some(0), "{output:?}");
    let summary = json_lines(&String::from_utf8_lossy(&output.stdout))
        .pop()
        .expect("a summary");
    assert_accounts_add_up(&summary);
    (summary, String::from_utf8_lossy(&output.stderr).into_owned())
}

const LIVE: [&str; 8] = [
    "watch", "--from", "sim", "--json", "--speed", "max", "--for", "60s",
];

#[test]
fn a_folder_that_may_not_be_written_to_costs_the_recording_and_not_the_session() {
    // Not even root may create a file there.
    let output = run(&[&LIVE[..], &["--record", "/sys/visit.jsonl"]].concat());
    let (summary, complaint) = told(&output);
    assert!(
        summary["readings"].as_u64().is_some_and(|n| n > 1_000),
        "{summary}"
    );
    assert!(
        summary["not_recorded"].as_u64().is_some_and(|n| n > 1_000),
        "{summary}"
    );
    assert_eq!(complaint.lines().count(), 1, "{complaint}");
    assert!(
        complaint.contains("not recording") && complaint.contains("choose a folder"),
        "{complaint}"
    );
}

#[test]
fn a_file_that_may_not_grow_costs_what_came_after() {
    for name in ["visit.jsonl", "visit.jsonl.zst"] {
        let folder = Folder::new();
        let file = folder.file(name);
        // Sixteen blocks of 512 bytes.
        let output = Command::new("sh")
            .args([
                "-c",
                "ulimit -f 16; exec \"$0\" \"$@\"",
                env!("CARGO_BIN_EXE_loopmargin"),
            ])
            .args(LIVE)
            .args(["--record", &file])
            .output()
            .expect("sh");
        let (summary, complaint) = told(&output);
        let lost = summary["not_recorded"].as_u64().unwrap_or_default();
        assert!(complaint.contains("not recording: writing"), "{complaint}");
        let kept = run(&["session", "info", &file, "--json"]);
        let info = json_lines(&String::from_utf8_lossy(&kept.stdout))
            .pop()
            .expect("one object");
        // What the file holds and what it does not are all there was.
        let whole = folder.file("whole.jsonl");
        let all = run(&["simulate", "--for", "60s", "--record", &whole]);
        assert_eq!(all.status.code(), Some(0));
        let whole = run(&["session", "info", &whole, "--json"]);
        let whole = json_lines(&String::from_utf8_lossy(&whole.stdout))
            .pop()
            .expect("one object");
        let events = |of: &serde_json::Value| of["integrity"]["events"].as_u64().unwrap_or_default();
        assert_eq!(events(&info) + lost, events(&whole), "{name}: {info}");
        assert!(events(&info) > 0, "{name}: {info}");
    }
}
