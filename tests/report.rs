//! `report`: documents of whole sessions.
// A failed assumption should stop the test.
#![allow(clippy::expect_used)]

mod common;
use common::{Folder, run, scenarios, stdout};

fn page(session: &[&str], folder: &Folder) -> String {
    let out = folder.file("report.html");
    let args = [&["report"], session, &["--out", &out, "--force"]].concat();
    stdout(&args);
    std::fs::read_to_string(out).expect("a document")
}

#[test]
fn every_scenario_gives_a_document_and_twice_the_same() {
    for name in scenarios() {
        let folder = Folder::new();
        let file = folder.file("session.jsonl");
        stdout(&["simulate", "--scenario", &name, "--for", "70s", "--record", &file]);
        let first = page(&[&file], &folder);
        assert!(
            first.starts_with("<!DOCTYPE html>") && first.ends_with("</html>"),
            "{name}"
        );
        for id in [
            "result",
            "site",
            "bands",
            "findings",
            "course",
            "walk",
            "cautions",
            "checklist",
            "signatures",
            "criteria",
            "about",
        ] {
            assert!(first.contains(&format!("<h2 id=\"{id}\">")), "{name}: {id}");
        }
        assert!(first == page(&[&file], &folder), "{name}");
    }
}

#[test]
fn an_aim_is_drawn_and_two_sessions_are_compared() {
    let folder = Folder::new();
    let (aim, later) = (folder.file("aim.jsonl"), folder.file("later.jsonl"));
    stdout(&["aim", "--from", "sim", "--stops", "8", "--auto", "--record", &aim]);
    stdout(&[
        "simulate",
        "--scenario",
        &scenarios()[0],
        "--for",
        "30s",
        "--record",
        &later,
    ]);
    let page = page(&[&aim, &later], &folder);
    assert!(page.contains("Compared with the earlier visit"));
    let page = self::page(&[&aim], &folder);
    assert!(page.contains("Aiming the donor antenna") && page.contains("★ chosen"));
}

#[test]
fn a_document_is_not_overwritten_unless_told_to() {
    let folder = Folder::new();
    let (file, out) = (folder.file("session.jsonl"), folder.file("report.html"));
    stdout(&[
        "simulate",
        "--scenario",
        &scenarios()[0],
        "--for",
        "3s",
        "--record",
        &file,
    ]);
    std::fs::write(&out, "something else").expect("a file");
    let refused = run(&["report", &file, "--out", &out]);
    assert_eq!(refused.status.code(), Some(1));
    assert!(String::from_utf8_lossy(&refused.stderr).contains("--force"));
    assert_eq!(std::fs::read_to_string(&out).expect("a file"), "something else");
    stdout(&["report", &file, "--out", &out, "--force"]);
    assert!(
        std::fs::read_to_string(&out)
            .expect("a file")
            .starts_with("<!DOCTYPE html>")
    );
}

#[test]
fn what_cannot_be_read_leaves_no_document() {
    let folder = Folder::new();
    let (file, out) = (folder.file("notes.txt"), folder.path("report.html"));
    std::fs::write(&file, "no session").expect("a file");
    let refused = run(&["report", &file, "--out", &out.display().to_string()]);
    assert_eq!(refused.status.code(), Some(1));
    assert!(!out.exists());
    assert_eq!(run(&["report", &file]).status.code(), Some(2));
}
