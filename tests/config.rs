//! The user's configuration through the program.

// A failed assumption should stop the test.
#![allow(clippy::expect_used, clippy::panic)]

mod common;

use common::{Folder, run, stdout};

fn said(args: &[&str]) -> (Option<i32>, String) {
    let output = run(args);
    (
        output.status.code(),
        String::from_utf8_lossy(&output.stderr).into_owned(),
    )
}

#[test]
fn defaults_are_written_once_and_are_sound() {
    let folder = Folder::new();
    let file = folder.file("deep/er/config.toml");
    let call = |command: &'static str| ["config", command, "--config", file.as_str()];
    stdout(&call("init"));
    assert!(stdout(&call("check")).contains("is sound"));
    let shown = stdout(&call("show"));
    assert!(
        shown.contains("theme = \"dark\"") && shown.contains("confirm = [\"ctrl-y\"]"),
        "{shown}"
    );
    std::fs::write(&file, "theme = \"light\"\n").expect("a file");
    let (code, error) = said(&call("init"));
    assert_eq!(code, Some(1), "{error}");
    let kept = std::fs::read_to_string(&file).expect("the file");
    assert_eq!(
        kept, "theme = \"light\"\n",
        "an existing file is never overwritten"
    );
}

#[test]
fn errors_come_with_their_line_wherever_the_file_is_used() {
    let folder = Folder::new();
    let file = folder.file("config.toml");
    std::fs::write(&file, "fps = 5\n[keys]\nquti = \"x\"\n").expect("a file");
    for command in [
        &["config", "check"][..],
        &[
            "watch", "--from", "sim", "--for", "1s", "--speed", "max", "--json",
        ],
    ] {
        let args = [command, &["--config", &file]].concat();
        let (code, error) = said(&args);
        assert_eq!(code, Some(1), "{error}");
        assert!(
            error.contains("line 3: `quti` is not known; did you mean `quit`?"),
            "{error}"
        );
    }
}
