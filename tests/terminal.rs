//! The console in a real pseudo-terminal: start, keys, quit, signal; the terminal is given back.

// A failed assumption should stop the test.
#![allow(clippy::expect_used, clippy::panic)]
#![cfg(unix)]

mod common;

use common::terminal::{Terminal, settings};
use common::{Folder, json_lines, stdout};
use loopmargin::analysis::Criteria;
use loopmargin::console::{Action, Console, Options, Surroundings, background_fault};
use loopmargin::fold::Fold;
use portable_pty::PtySize;

#[test]
fn keys_change_the_view_and_q_ends_with_the_terminal_given_back() {
    let folder = Folder::new();
    let file = folder.file("session.jsonl");
    let mut terminal = Terminal::start(&["watch", "--from", "sim", "--record", &file]);
    terminal.wait_for("the console", vt100::Screen::alternate_screen);
    terminal.wait_for_text("B2");
    terminal.press("2");
    terminal.wait_for_text("finding so far");
    terminal.press("3");
    terminal.wait_for_text("expected readings");
    terminal.press("?");
    terminal.wait_for_text("End and close the recording");
    // A mark without a word, then another view.
    terminal.press("m\r");
    terminal.press("1");
    terminal.wait_for_text("loop margin");
    terminal.press("q");
    assert_eq!(terminal.end(), 0);
    let lines = json_lines(&stdout(&["replay", &file, "--json"]));
    assert!(lines.iter().any(|l| l["type"] == "mark"));
    assert!(lines.iter().any(|l| l["type"] == "reading"));
}

#[test]
fn sigterm_gives_the_terminal_back_and_closes_the_recording() {
    let folder = Folder::new();
    let file = folder.file("session.jsonl");
    let terminal = Terminal::start(&["watch", "--from", "sim", "--record", &file]);
    terminal.wait_for_text("B2");
    let pid = terminal.child.process_id().expect("a process").to_string();
    let sent = std::process::Command::new("kill")
        .args(["-s", "TERM", &pid])
        .status();
    assert!(sent.expect("kill").success());
    assert_eq!(terminal.end(), 143);
    // A recording that was closed is sound: nothing on standard error.
    let output = common::run(&["replay", &file, "--json"]);
    assert!(
        output.stderr.is_empty(),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
}

#[test]
fn ctrl_c_is_130() {
    let mut terminal = Terminal::start(&["watch", "--from", "sim"]);
    terminal.wait_for_text("B2");
    terminal.press("\u{3}");
    assert_eq!(terminal.end(), 130);
}

#[test]
fn control_is_allowed_confirmed_by_its_own_key_answered_and_recorded() {
    let folder = Folder::new();
    let file = folder.file("session.jsonl");
    let args = ["watch", "--from", "sim", "--allow-control", "--record", &file];
    let mut terminal = Terminal::start(&args);
    terminal.wait_for_text("data good");
    terminal.press("c");
    terminal.wait_for_text("what may be asked of this unit");
    // Enter as often as one likes only shows what would be done.
    terminal.press("\r\r\r");
    terminal.wait_for_text("Nothing is sent yet");
    terminal.wait_for_text("emergency call");
    terminal.press("\u{19}");
    terminal.wait_for_text("Done: uplink off, gain held down");
    terminal.wait_for_text("Aim-safe:");
    terminal.press("q");
    assert_eq!(terminal.end(), 0);
    let recorded = std::fs::read_to_string(&file).expect("the recording");
    assert_eq!(
        recorded.matches("\"unit-control\"").count(),
        2,
        "the request and its answer"
    );
}

#[test]
fn control_without_permission_says_how_to_allow_it() {
    let mut terminal = Terminal::start(&["watch", "--from", "sim"]);
    terminal.wait_for_text("data good");
    terminal.press("c\r\u{19}");
    terminal.wait_for_text("start again with --allow-control");
    terminal.press("q");
    assert_eq!(terminal.end(), 0);
}

#[test]
fn a_recording_is_held_stepped_and_gone_through_back_and_forth() {
    let folder = Folder::new();
    let file = folder.file("session.jsonl");
    stdout(&[
        "simulate",
        "--scenario",
        "quarry-office",
        "--for",
        "5m",
        "--record",
        &file,
    ]);
    let mut terminal = Terminal::start(&["watch", "--from", &file]);
    terminal.wait_for_text("finding 0 of 1");
    terminal.press(" ");
    terminal.wait_for_text("held");
    // The end is told by the link, the beginning by the length of the time shown.
    terminal.press(")");
    terminal.wait_for_text("5:00 \u{2595}");
    terminal.press("(");
    terminal.wait_for_text(" 0.0 s \u{2595}");
    terminal.press("}]");
    terminal.wait_for_text("1:10 \u{2595}");
    terminal.press("[");
    terminal.wait_for_text("1:00 \u{2595}");
    terminal.press("(n");
    terminal.wait_for_text("finding 1 of");
    terminal.press("Nn+");
    terminal.wait_for_text("x2");
    terminal.press("c");
    terminal.wait_for_text("this is a recording, there is no unit to ask");
    terminal.press(".q");
    assert_eq!(terminal.end(), 0);
}

#[test]
fn keys_and_first_view_come_from_the_configuration() {
    let folder = Folder::new();
    let file = folder.file("config.toml");
    std::fs::write(&file, "view = \"link\"\n[keys]\nquit = \"x\"\n").expect("a file");
    let mut terminal = Terminal::start(&["watch", "--from", "sim", "--config", &file]);
    terminal.wait_for_text("Readings arrive");
    terminal.wait_for_text("x quit");
    terminal.press("qx");
    assert_eq!(terminal.end(), 0);
}

/// Not a test of its own but the program that the next one looks at.
#[test]
#[ignore = "run by the next test, in its terminal"]
fn console_whose_tasks_panic() {
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()
        .expect("a runtime");
    runtime.block_on(async {
        let mut console = Console::open(Options::default()).expect("a terminal");
        let fold = Fold::new(Criteria::default());
        let mut about = Surroundings::default();
        let task = std::thread::spawn(|| panic!("some task"));
        assert!(task.join().is_err());
        loop {
            about.fault = background_fault();
            console.draw(&fold, &about).expect("a drawing");
            let input = console.input().await.expect("a key");
            let asked = console.handle(input, &fold, &about).expect("a drawing");
            assert!(asked != Some(Action::Quit), "the drawing thread");
        }
    });
}

#[test]
fn a_panicking_task_does_not_end_the_console_and_a_panicking_console_gives_the_terminal_back() {
    let program = std::env::current_exe().expect("this program");
    let args = [
        "--exact",
        "console_whose_tasks_panic",
        "--ignored",
        "--nocapture",
        "--test-threads=1",
    ];
    let mut terminal = Terminal::start_program(program.to_str().expect("a path"), &args);
    terminal.wait_for_text("Fault inside this program");
    terminal.wait_for_text("some task");
    terminal.press("2");
    terminal.wait_for_text("No finding so far");
    terminal.press("q");
    assert_eq!(terminal.end(), 101);
}

#[test]
fn the_view_to_start_with_can_be_chosen() {
    let mut terminal = Terminal::start(&["watch", "--from", "sim", "--view", "link"]);
    terminal.wait_for_text("Readings arrive");
    terminal.press("q");
    assert_eq!(terminal.end(), 0);
}

#[test]
fn a_resized_terminal_is_drawn_anew() {
    let mut terminal = Terminal::start(&["watch", "--from", "sim"]);
    terminal.wait_for_text("B2");
    assert_ne!(settings(&*terminal.master), terminal.before);
    let (rows, cols) = (10, 50);
    let size = PtySize {
        rows,
        cols,
        ..PtySize::default()
    };
    terminal
        .screen
        .0
        .lock()
        .expect("the screen")
        .screen_mut()
        .set_size(rows, cols);
    terminal.master.resize(size).expect("another size");
    terminal.wait_for_text("Loopmargin needs 60 columns");
    terminal.press("q");
    assert_eq!(terminal.end(), 0);
}

#[test]
fn it_goes_to_the_background_and_comes_back() {
    let mut shell = Terminal::start_program("sh", &["-i"]);
    shell.press(concat!(env!("CARGO_BIN_EXE_loopmargin"), " watch --from sim\n"));
    // By its key, and by the signal that another program may send.
    for stop in ["\u{1a}", "signal"] {
        shell.wait_for("the console", |s| {
            s.alternate_screen() && s.contents().contains("data good")
        });
        if stop == "signal" {
            let group = shell.master.process_group_leader().expect("a job").to_string();
            let sent = std::process::Command::new("kill")
                .args(["-s", "TSTP", &group])
                .status();
            assert!(sent.expect("kill").success());
        } else {
            shell.press(stop);
        }
        shell.wait_for("the shell", |s| !s.alternate_screen() && !s.hide_cursor());
        shell.wait_for_text("Stopped");
        shell.press("clear; fg\n");
    }
    shell.wait_for("the console", |s| {
        s.alternate_screen() && s.contents().contains("data good")
    });
    shell.press("q");
    shell.wait_for("the shell", |s| !s.alternate_screen());
    shell.press("exit\n");
    assert_eq!(shell.end(), 0);
}
