//! Runs the program as its users do.
// Each test uses a part of this; a failed assumption should stop it.
#![allow(dead_code, clippy::expect_used, clippy::panic)]

#[cfg(unix)]
pub mod terminal;

use serde_json::Value;
use std::path::PathBuf;
use std::process::{Command, Output, Stdio};

/// The program with arguments, its environment free of what would change its output.
pub fn program(args: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_loopmargin"));
    command
        .args(args)
        .stdin(Stdio::null())
        .env_remove("NO_COLOR")
        .env_remove("LOOPMARGIN_ADAPTER");
    command
}

/// Runs it to its end.
pub fn run(args: &[&str]) -> Output {
    program(args).output().expect("the program starts")
}

/// Runs it, expects success, and gives its output as text.
pub fn stdout(args: &[&str]) -> String {
    let output = run(args);
    let complaint = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(output.status.success(), "{args:?}: {complaint}");
    String::from_utf8(output.stdout).expect("UTF-8")
}

/// The lines of JSON output.
pub fn json_lines(text: &str) -> Vec<Value> {
    text.lines()
        .map(|l| serde_json::from_str(l).unwrap_or_else(|e| panic!("{e}: {l}")))
        .collect()
}

/// Lines of these types, as text.
pub fn lines_of<'a>(text: &'a str, types: &[&str]) -> Vec<&'a str> {
    let wanted: Vec<String> = types.iter().map(|t| format!("{{\"type\":\"{t}\"")).collect();
    text.lines()
        .filter(|l| wanted.iter().any(|w| l.starts_with(w.as_str())))
        .collect()
}

/// A folder for one test, removed when dropped.
pub struct Folder(tempfile::TempDir);

impl Folder {
    pub fn new() -> Self {
        Self(tempfile::tempdir().expect("a folder for the test"))
    }

    /// Path of a file in it, as text.
    pub fn file(&self, name: &str) -> String {
        self.path(name).display().to_string()
    }

    pub fn path(&self, name: &str) -> PathBuf {
        self.0.path().join(name)
    }
}

/// Names of the scenarios that are built in.
pub fn scenarios() -> Vec<String> {
    stdout(&["simulate", "--list"])
        .lines()
        .filter_map(|l| l.split_whitespace().next())
        .map(str::to_owned)
        .collect()
}

/// Checks the identity of the accounts in a summary line.
pub fn assert_accounts_add_up(summary: &Value) {
    let n = |name: &str| {
        summary[name]
            .as_u64()
            .unwrap_or_else(|| panic!("{name} in {summary}"))
    };
    let parts = [
        "readings",
        "lost_on_air",
        "dropped_on_host",
        "malformed",
        "incomplete",
        "unreadable",
        "outage",
    ];
    assert_eq!(
        n("expected"),
        parts.iter().map(|p| n(p)).sum::<u64>(),
        "{summary}"
    );
}
