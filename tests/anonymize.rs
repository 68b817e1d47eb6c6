//! A recording given away: nothing in it says whose it is, and it says the same about the booster.

mod common;
use common::{Folder, json_lines, run, scenarios, stdout};
use serde_json::Value;

/// The lines of a replay without what anonymising replaces.
fn about_the_booster(path: &str) -> Vec<Value> {
    let mut lines = json_lines(&stdout(&["replay", path, "--json"]));
    for line in &mut lines {
        let replaced: &[&str] = match line["type"].as_str() {
            Some("session") => {
                line["unit"]["serial"] = Value::Null;
                &["path", "source"]
            }
            Some("link") => &["detail"],
            Some("mark") => &["spot", "room", "note"],
            Some("cell") => &["operator"],
            _ => &[],
        };
        replaced.iter().for_each(|field| line[*field] = Value::Null);
    }
    lines
}

#[test]
fn readings_and_findings_of_every_scenario_stay_the_same() {
    for name in scenarios() {
        let folder = Folder::new();
        let (file, copy) = (folder.file("a.jsonl"), folder.file("b.jsonl.zst"));
        stdout(&["simulate", "--scenario", &name, "--for", "40s", "--record", &file]);
        let line = stdout(&[
            "session",
            "anonymize",
            &file,
            "--out",
            &copy,
            "--operators",
            "--json",
        ]);
        let told = &json_lines(&line)[0];
        assert_eq!(told["replaced"]["serial"], 1, "{told}");
        assert!(stdout(&["session", "verify", &copy]).starts_with("sound"));
        let (a, b) = (about_the_booster(&file), about_the_booster(&copy));
        let different = a.iter().zip(&b).find(|(x, y)| x != y);
        assert!(different.is_none() && a.len() == b.len(), "{name}: {different:?}");
    }
}

#[test]
fn a_key_gives_the_same_stand_ins_in_every_file_and_no_file_is_overwritten() {
    let folder = Folder::new();
    let key = folder.file("key");
    std::fs::write(&key, b"known to nobody else").expect("a file");
    let serial = |seed: &str, key: Option<&str>| {
        let (file, copy) = (
            folder.file(&format!("{seed}.jsonl")),
            folder.file(&format!("{seed}-copy.jsonl")),
        );
        let _ = std::fs::remove_file(&file);
        let _ = std::fs::remove_file(&copy);
        stdout(&[
            "simulate",
            "--scenario",
            &scenarios()[0],
            "--seed",
            seed,
            "--for",
            "3s",
            "--record",
            &file,
        ]);
        let mut args = vec!["session", "anonymize", &file, "--out", &copy];
        args.extend(key.iter().flat_map(|key| ["--key", *key]));
        assert!(stdout(&args).contains("look before you publish"));
        let again = run(&args);
        assert_eq!(again.status.code(), Some(1));
        assert!(String::from_utf8_lossy(&again.stderr).contains("the file exists"));
        let info = stdout(&["session", "info", &copy, "--json"]);
        let header = &json_lines(&info)[0]["header"];
        assert_eq!(header["anonymized"], true);
        header["unit"]["serial"].as_str().map(str::to_owned)
    };
    assert_eq!(serial("1", None).as_deref(), Some("serial-1"));
    let keyed = serial("1", Some(&key));
    assert_ne!(keyed.as_deref(), Some("serial-1"));
    assert_eq!(serial("2", Some(&key)), keyed);
}

#[test]
fn nothing_is_left_behind_when_there_is_nothing_to_copy() {
    let folder = Folder::new();
    let (file, copy) = (folder.file("notes.txt"), folder.path("copy.jsonl"));
    std::fs::write(&file, "no session").expect("a file");
    let output = run(&[
        "session",
        "anonymize",
        &file,
        "--out",
        &copy.display().to_string(),
    ]);
    assert_eq!(output.status.code(), Some(1));
    assert!(!copy.exists());
}
