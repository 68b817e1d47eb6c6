//! The acceptance test as its users run it.
// A failed assumption should stop a test.
#![allow(clippy::expect_used, clippy::panic)]

mod common;
use common::{Folder, run, scenarios, stdout};
use serde_json::Value;

/// Result and exit code of a test.
fn accept(from: &str, more: &[&str]) -> (Value, i32) {
    let mut args = vec!["accept", "--from", from, "--json", "--speed", "max"];
    args.extend(more);
    let output = run(&args);
    let text = String::from_utf8(output.stdout).expect("UTF-8");
    assert_eq!(text.lines().count(), 1, "{text}");
    (
        serde_json::from_str(&text).expect("JSON"),
        output.status.code().expect("an exit code"),
    )
}

fn criterion<'a>(result: &'a Value, band: &str, name: &str, direction: &str) -> &'a Value {
    let bands = result["bands"].as_array().expect("bands");
    let band = bands.iter().find(|b| b["band"] == band).expect("the band");
    let mut all = band["criteria"].as_array().expect("criteria").iter();
    all.find(|c| c["name"] == name && c["direction"] == direction)
        .unwrap_or_else(|| panic!("{name} {direction}: {band}"))
}

fn record(folder: &Folder, name: &str, scenario: &str, seed: &str) -> String {
    let file = folder.file(name);
    stdout(&[
        "simulate",
        "--scenario",
        scenario,
        "--seed",
        seed,
        "--for",
        "60s",
        "--record",
        &file,
    ]);
    file
}

#[test]
fn every_result_follows_the_published_schema() {
    let schema = serde_json::from_str(include_str!("../schemas/accept.schema.json")).expect("JSON");
    let validator = jsonschema::validator_for(&schema).expect("a schema");
    let folder = Folder::new();
    let before = record(&folder, "before.jsonl", "long-exchange", "1");
    let mut results = vec![accept("sim:long-exchange", &["--baseline", &before]).0];
    results.extend(
        scenarios()
            .iter()
            .map(|s| accept(&format!("sim:{s}"), &["--for", "60s"]).0),
    );
    for result in results {
        if let Err(error) = validator.validate(&result) {
            panic!("{error}: {result}");
        }
    }
}

#[test]
fn good_doubtful_and_bad_sites_are_told_apart() {
    let (good, code) = accept("sim:long-exchange", &[]);
    assert_eq!((&good["result"], code), (&Value::from("pass"), 0));
    assert_eq!(good["first_action"], Value::Null);
    let missing = good["not_judged"].as_array().expect("a list");
    assert!(missing.iter().all(|m| m["essential"] == false), "{missing:?}");

    let (doubtful, code) = accept("sim:observatory", &[]);
    assert_eq!((&doubtful["result"], code), (&Value::from("marginal"), 3));
    assert!(doubtful["first_action"].is_string());

    let (bad, code) = accept("sim:boathouse", &[]);
    assert_eq!((&bad["result"], code), (&Value::from("fail"), 4));
    assert_eq!(bad["limiting"], "loop-margin");
    let margin = criterion(&bad, "B8", "loop-margin", "dl");
    let number = |key: &str| margin[key].as_f64().expect("a number");
    assert!(number("value") < number("limit") - number("uncertainty"));
    assert!((number("value") - number("limit") - number("margin")).abs() < 1e-9);
}

#[test]
fn what_a_plain_unit_cannot_show_is_said_and_is_no_pass() {
    // The overload of this scenario comes later.
    let (result, code) = accept("sim:plain-cottage", &["--for", "30s"]);
    assert_eq!(
        (&result["result"], code),
        (&Value::from("marginal"), 3),
        "{result}"
    );
    let missing = result["not_judged"].as_array().expect("a list");
    assert!(
        missing
            .iter()
            .any(|m| m["name"] == "loop-margin" && m["essential"] == true)
    );
}

#[test]
fn a_recording_is_judged_like_the_session_itself() {
    let folder = Folder::new();
    let file = record(&folder, "visit.jsonl", "boathouse", "7");
    let (live, _) = accept("sim:boathouse", &["--seed", "7"]);
    let (recorded, code) = accept(&file, &[]);
    assert_eq!(live["bands"], recorded["bands"]);
    assert_eq!(code, 4);
}

#[test]
fn a_second_visit_tells_what_changed_and_what_did_not() {
    let folder = Folder::new();
    let file = record(&folder, "before.jsonl", "long-exchange", "3");
    let (same, _) = accept(&file, &["--baseline", &file]);
    let comparisons = same["baseline"].as_array().expect("comparisons");
    assert!(comparisons.len() > 5);
    assert!(
        comparisons.iter().all(|c| c["changed"] == false),
        "{comparisons:?}"
    );

    // Another site: everything that could be compared is another.
    let (other, _) = accept("sim", &["--baseline", &file]);
    let comparisons = other["baseline"].as_array().expect("comparisons");
    assert!(
        comparisons.iter().any(|c| c["before"].is_null()),
        "a band that was not there before"
    );
}

#[test]
fn too_little_data_is_no_pass() {
    let (result, code) = accept("sim:long-exchange", &["--for", "3s"]);
    assert_eq!((&result["result"], code), (&Value::from("fail"), 4));
    assert_eq!(result["limiting"], "data");

    let nothing = run(&[
        "accept",
        "--from",
        "sim:long-exchange",
        "--speed",
        "max",
        "--for",
        "1ms",
    ]);
    assert_eq!(nothing.status.code(), Some(1));
    assert!(nothing.stdout.is_empty());
    let said = String::from_utf8_lossy(&nothing.stderr).into_owned();
    assert!(said.contains("nothing can be judged"), "{said}");
}

#[test]
fn only_required_bands_count() {
    let folder = Folder::new();
    let criteria = folder.file("criteria.toml");
    std::fs::write(&criteria, "[acceptance]\nbands = [\"B12\"]\n").expect("written");
    let (all, code) = accept("sim", &[]);
    assert_eq!((&all["result"], code), (&Value::from("fail"), 4));
    let (required, code) = accept("sim", &["--criteria", &criteria]);
    assert_eq!(
        (&required["result"], code),
        (&Value::from("pass"), 0),
        "{required}"
    );
    assert_eq!(required["bands"][0]["required"], false);
}

#[test]
fn people_read_eighty_columns_with_the_limiting_criterion_first() {
    let output = run(&["accept", "--from", "sim:boathouse", "--speed", "max"]);
    assert_eq!(output.status.code(), Some(4));
    let text = String::from_utf8(output.stdout).expect("UTF-8");
    assert!(text.starts_with("Acceptance test: FAIL"), "{text}");
    assert!(text.contains("Limiting: B8 loop-margin"), "{text}");
    for line in text.lines() {
        assert!(line.chars().count() <= 80, "{line}");
    }
}
