//! Exit codes and what stands on standard error.
// A failed assumption should stop the test.
#![allow(clippy::expect_used, clippy::panic)]

mod common;
use common::{Folder, assert_accounts_add_up, json_lines, program, run, stdout};
use std::io::{BufRead, BufReader, Read};
use std::process::Stdio;

#[test]
fn wrong_usage_is_2() {
    for args in [
        &["watch", "--from", "no-such-file.jsonl"][..],
        &["watch", "--speed", "0"],
        &["watch", "--for", "soon"],
        &["watch", "--plain", "--json"],
        &["simulate"],
        &["simulate", "--record", "x.jsonl"],
        &["replay"],
        &["no-such-command"],
        &["watch", "--no-such-option"],
    ] {
        let output = run(args);
        assert_eq!(output.status.code(), Some(2), "{args:?}");
        assert!(!output.stderr.is_empty(), "{args:?}");
    }
}

#[test]
fn what_cannot_be_done_is_1_with_one_line() {
    for args in [
        &["replay", "no-such-file.jsonl"][..],
        &["watch", "--from", "sim:no-such-site", "--json"],
        &[
            "watch",
            "--from",
            "sim",
            "--json",
            "--for",
            "1s",
            "--criteria",
            "no-such-file.toml",
        ],
    ] {
        let output = run(args);
        assert_eq!(output.status.code(), Some(1), "{args:?}");
        assert!(
            String::from_utf8_lossy(&output.stderr).starts_with("loopmargin: "),
            "{args:?}"
        );
    }
}

/// Ends a session with a signal after its first line and gives exit code and output.
#[cfg(unix)]
fn signalled(args: &[&str], signal: &str) -> (Option<i32>, String) {
    let mut child = program(args).stdout(Stdio::piped()).spawn().expect("starts");
    let mut out = BufReader::new(child.stdout.take().expect("a pipe"));
    let mut text = String::new();
    out.read_line(&mut text).expect("a line");
    let sent = std::process::Command::new("kill")
        .args(["-s", signal, &child.id().to_string()])
        .status();
    assert!(sent.expect("kill").success());
    out.read_to_string(&mut text).expect("the rest");
    (child.wait().expect("ended").code(), text)
}

#[cfg(unix)]
#[test]
fn signals_end_the_session_properly_and_show_in_the_exit_code() {
    for (signal, code) in [("INT", 130), ("TERM", 143), ("HUP", 129)] {
        let (exit, text) = signalled(&["watch", "--from", "sim", "--json"], signal);
        assert_eq!(exit, Some(code), "{signal}");
        let lines = json_lines(&text);
        assert_eq!(lines.last().expect("lines")["type"], "summary", "{signal}");
    }
}

#[cfg(unix)]
#[test]
fn a_signal_ends_a_replay_with_a_summary_of_what_was_replayed() {
    let folder = Folder::new();
    let file = folder.file("hour.jsonl");
    stdout(&["simulate", "--for", "1h", "--record", &file]);
    let (exit, text) = signalled(&["replay", &file, "--json"], "INT");
    assert_eq!(exit, Some(130));
    let lines = json_lines(&text);
    let summary = lines.last().expect("lines");
    assert_eq!(summary["type"], "summary");
    assert_accounts_add_up(summary);
}

#[test]
fn a_reader_that_goes_away_is_no_error() {
    let mut child = program(&[
        "watch", "--from", "sim", "--json", "--speed", "max", "--for", "1h",
    ])
    .stdout(Stdio::piped())
    .stderr(Stdio::piped())
    .spawn()
    .expect("starts");
    drop(child.stdout.take());
    let output = child.wait_with_output().expect("ended");
    assert_eq!(output.status.code(), Some(0));
    assert!(
        output.stderr.is_empty(),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
}
