//! `loopmargin aim` as a program: result, replay, exit codes, published schema.
// A failed assumption should stop the test.
#![allow(clippy::expect_used, clippy::unwrap_used, clippy::panic)]

mod common;
use common::run;
use serde_json::Value;

fn result(args: &[&str]) -> (String, Value) {
    let output = run(args);
    assert_eq!(output.status.code(), Some(0), "{args:?}");
    let text = String::from_utf8(output.stdout).unwrap();
    assert_eq!(text.lines().count(), 1);
    let value = serde_json::from_str(&text).unwrap();
    (text, value)
}

#[test]
fn the_recording_of_an_aim_gives_the_same_result() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("aim.jsonl");
    let file = file.to_str().unwrap();
    let (live, value) = result(&[
        "aim", "--from", "sim", "--stops", "8", "--auto", "--json", "--record", file,
    ]);
    let (replayed, _) = result(&["aim", "--from", file, "--json"]);
    assert_eq!(live, replayed);
    // The wanted cells stand at 140°.
    assert_eq!(value["best_bearing_deg"], 135.0);
    assert!(value["probability_within_1db"].as_f64().unwrap() >= 0.98);
    assert_eq!(value["stops"].as_array().unwrap().len(), 8);
    let peak = value["peak_bearing_deg"].as_f64().unwrap();
    assert!((peak - 140.0).abs() < 15.0, "{peak}");
    assert!(value["turns"].as_u64().unwrap() <= 9);
    // A replay says the same, in its last line but one, and follows the published schema.
    let text = marks(file).0;
    let lines: Vec<&str> = text.lines().rev().take(2).collect();
    assert!(lines[0].starts_with(r#"{"type":"summary""#));
    assert_eq!(lines[1], live.trim_end());
    let schema: Value = serde_json::from_str(include_str!("../schemas/watch.schema.json")).unwrap();
    assert!(
        jsonschema::validator_for(&schema).unwrap().is_valid(&value),
        "{value}"
    );
    // A recording is never overwritten.
    let again = run(&["aim", "--from", "sim", "--stops", "8", "--auto", "--record", file]);
    assert_eq!(again.status.code(), Some(1));
    // Marks and readings are in the session for every other tool too.
    let (_, marks) = marks(file);
    assert_eq!(marks as u64, value["turns"].as_u64().unwrap() + 1);
}

fn marks(file: &str) -> (String, usize) {
    let output = run(&["replay", file, "--json"]);
    assert_eq!(output.status.code(), Some(0));
    let text = String::from_utf8(output.stdout).unwrap();
    let count = text
        .lines()
        .filter(|l| l.starts_with(r#"{"type":"mark""#))
        .count();
    (text, count)
}

#[test]
fn every_objective_and_free_bearings() {
    let schema: Value = serde_json::from_str(include_str!("../schemas/aim.schema.json")).unwrap();
    let schema = jsonschema::validator_for(&schema).unwrap();
    // Without aim-safe the fire door of this site closes during the aim, and the echo rules the SINR of one band.
    for objective in ["service", "level", "quality"] {
        let args = [
            "aim",
            "--from",
            "sim",
            "--bearings",
            "100,120,140,160,250",
            "--start",
            "250",
            "--auto",
            "--json",
        ];
        let more = [
            "--objective",
            objective,
            "--bands",
            "2,12",
            "--weights",
            "2,1",
            "--beam-width",
            "65",
            "--allow-control",
        ];
        let (_, value) = result(&[&args[..], &more[..]].concat());
        assert!(schema.is_valid(&value), "{value}");
        assert_eq!(value["objective"], objective);
        let best = value["best_bearing_deg"].as_f64().unwrap();
        assert!((120.0..=160.0).contains(&best), "{objective}: {best}");
    }
}

#[test]
fn aim_safe_holds_the_unit_down_only_where_it_may() {
    let folder = tempfile::tempdir().unwrap();
    for (allowed, expected) in [(true, true), (false, false)] {
        let file = folder.path().join(format!("{allowed}.jsonl"));
        let mut args = vec![
            "aim",
            "--from",
            "sim",
            "--stops",
            "4",
            "--auto",
            "--json",
            "--record",
            file.to_str().unwrap(),
        ];
        if allowed {
            args.push("--allow-control");
        }
        let output = run(&args);
        let said = String::from_utf8(output.stderr).unwrap();
        assert_eq!(said.contains("aim-safe on: uplink off"), expected);
        assert_eq!(said.contains("at the unit before you turn"), !expected);
        assert_eq!(
            said.contains("aim-safe is still on"),
            expected,
            "it ends only on purpose"
        );
        let (text, _) = marks(file.to_str().unwrap());
        assert_eq!(text.contains("aim-safe-on"), expected);
    }
}

/// Turned at the server antenna, the donor antenna closes the loop of this site: the unit oscillates and its guard
/// mutes it again and again. Held down it does neither, and the loop margin stays.
#[test]
fn without_aim_safe_the_server_antenna_in_the_beam_makes_the_unit_oscillate() {
    let folder = tempfile::tempdir().unwrap();
    let aimed = |name: &str, more: &[&str]| {
        let file = folder.path().join(name).to_str().unwrap().to_owned();
        let args = [
            "aim",
            "--from",
            "sim:bell-tower",
            "--stops",
            "8",
            "--auto",
            "--json",
            "--record",
            &file,
        ];
        let (_, value) = result(&[&args[..], more].concat());
        let (text, _) = marks(&file);
        let lines: Vec<Value> = text.lines().map(|l| serde_json::from_str(l).unwrap()).collect();
        let oscillations = lines.iter().filter(|l| l["code"] == "oscillation").count();
        let margins = lines.iter().filter_map(|l| l["loop_margin_db"].as_f64());
        (value, oscillations, margins.fold(f64::INFINITY, f64::min))
    };
    let (open, oscillations, margin_db) = aimed("open", &[]);
    assert_eq!(open["held_down"], false);
    assert!(oscillations > 0 && margin_db < 1.0, "{oscillations} {margin_db}");
    let (held, oscillations, margin_db) = aimed("held", &["--allow-control"]);
    assert_eq!(held["held_down"], true);
    assert!(oscillations == 0 && margin_db > 5.0, "{oscillations} {margin_db}");
}

#[test]
fn wrong_usage_is_2_and_no_aim_is_1() {
    for args in [
        &["aim", "--from", "sim", "--auto"][..],
        &["aim", "--from", "sim", "--auto", "--stops", "1"],
        &["aim", "--from", "sim", "--auto", "--bearings", "10"],
        &["aim", "--from", "sim", "--auto", "--bearings", "10,370"],
        &["aim", "--from", "sim", "--auto", "--bearings", "10,10,20"],
        &[
            "aim",
            "--from",
            "sim",
            "--auto",
            "--stops",
            "8",
            "--bands",
            "2",
            "--weights",
            "1,2",
        ],
        &[
            "aim",
            "--from",
            "sim",
            "--auto",
            "--stops",
            "8",
            "--beam-width",
            "0",
        ],
        &["aim", "--from", "ble", "--auto", "--stops", "8"],
        &["aim", "--from", "no-such-file", "--stops", "8"],
    ] {
        let output = run(args);
        assert_eq!(output.status.code(), Some(2), "{args:?}");
        assert!(output.stdout.is_empty(), "{args:?}");
    }
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("watch.jsonl");
    let file = file.to_str().unwrap();
    assert_eq!(
        run(&["simulate", "--for", "5s", "--record", file]).status.code(),
        Some(0)
    );
    let output = run(&["aim", "--from", file, "--json"]);
    assert_eq!(output.status.code(), Some(1));
    assert!(
        String::from_utf8(output.stderr)
            .unwrap()
            .contains("no aim was recorded")
    );
}

/// `q` before the first bearing used to be passed over: there was no way out but a signal.
#[test]
fn an_aim_can_be_given_up_before_it_has_begun() {
    use std::io::Write;
    use std::process::Stdio;
    let mut child = common::program(&["aim", "--from", "sim", "--stops", "4", "--plain"])
        .stdin(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    // Held open: the end of the input would end the aim too.
    let mut keys = child.stdin.take().unwrap();
    keys.write_all(b"q\n").unwrap();
    let output = child.wait_with_output().unwrap();
    drop(keys);
    assert_eq!(output.status.code(), Some(1));
    let said = String::from_utf8(output.stderr).unwrap();
    assert!(said.contains("nothing was measured"), "{said}");
}
