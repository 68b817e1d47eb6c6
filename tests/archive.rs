//! An archive of recordings: folders, many at a time, expectations, JUnit XML.

// A failed assumption should stop a test.
#![allow(clippy::expect_used)]

mod common;
use common::{Folder, json_lines, run, stdout};
use std::fs;

/// A folder with a few short recordings of different sites, below it and below that.
fn archive() -> Folder {
    let folder = Folder::new();
    fs::create_dir(folder.path("attic")).expect("a folder");
    let names = common::scenarios();
    for (file, name, length) in [
        ("b.jsonl", &names[0], "25s"),
        ("a.jsonl.zst", &names[1], "15s"),
        ("attic/c.jsonl", &names[2], "20s"),
    ] {
        let path = folder.file(file);
        stdout(&["simulate", "--scenario", name, "--for", length, "--record", &path]);
    }
    folder
}

#[test]
fn the_output_is_in_the_order_of_the_arguments_whatever_the_number_of_jobs() {
    let folder = archive();
    let (whole, one) = (folder.file(""), folder.file("b.jsonl"));
    let replay = |jobs: &str| stdout(&["replay", &one, &whole, "--json", "--jobs", jobs]);
    let text = replay("1");
    for jobs in ["2", "7"] {
        assert!(replay(jobs) == text, "{jobs} jobs");
    }
    let lines = json_lines(&text);
    let schema = serde_json::from_str(include_str!("../schemas/watch.schema.json")).expect("JSON");
    let validator = jsonschema::validator_for(&schema).expect("a schema");
    assert!(lines.iter().all(|l| validator.is_valid(l)));
    let of = |kind: &str| lines.iter().filter(|l| l["type"] == kind).collect::<Vec<_>>();
    let paths: Vec<_> = of("session")
        .iter()
        .map(|l| l["path"].as_str().unwrap_or(""))
        .collect();
    let ends = ["b.jsonl", "a.jsonl.zst", "attic/c.jsonl", "b.jsonl"];
    assert!(paths.iter().zip(ends).all(|(p, e)| p.ends_with(e)), "{paths:?}");
    let totals = lines.last().expect("totals");
    assert_eq!(
        (&totals["type"], &totals["sessions"]),
        (&"totals".into(), &4.into())
    );
    let readings: u64 = of("summary").iter().filter_map(|l| l["readings"].as_u64()).sum();
    assert_eq!(totals["readings"].as_u64(), Some(readings));
    assert_eq!(of("reading").len() as u64, readings);

    let brief = stdout(&["replay", &whole]);
    assert_eq!(brief.lines().count(), 4, "{brief}");
    assert!(
        brief.lines().last().is_some_and(|l| l.starts_with("3 sessions")),
        "{brief}"
    );
}

#[test]
fn expectations_are_written_met_and_missed() {
    let folder = archive();
    let (whole, junit) = (folder.file(""), folder.file("junit.xml"));
    let without = run(&["replay", &whole, "--expect"]);
    assert_eq!(
        without.status.code(),
        Some(4),
        "a missing expectation file is a difference"
    );

    stdout(&["replay", &whole, "--write-expect"]);
    let met = stdout(&["replay", &whole, "--expect", "--junit", &junit]);
    assert!(met.contains("all as expected"), "{met}");
    let xml = fs::read_to_string(&junit).expect("JUnit XML");
    assert!(xml.contains("tests=\"3\" failures=\"0\" errors=\"0\""), "{xml}");

    // One account and one tolerance changed by hand.
    let file = folder.path("b.expect.toml");
    let text = fs::read_to_string(&file).expect("expectations");
    let mut table: toml::Table = toml::from_str(&text).expect("TOML");
    table["accounts"]["readings"] = vec![1_000_000, 1_000_001].into();
    table["time_tolerance_s"] = 2.5.into();
    fs::write(&file, table.to_string()).expect("written");
    let missed = run(&["replay", &whole, "--expect", "--json", "--junit", &junit]);
    assert_eq!(missed.status.code(), Some(4));
    let lines = json_lines(&String::from_utf8_lossy(&missed.stdout));
    let differences: Vec<_> = lines.iter().filter(|l| l["type"] == "difference").collect();
    assert_eq!(differences.len(), 1, "{differences:?}");
    let said = differences[0]["difference"].as_str().unwrap_or_default();
    assert!(
        said.starts_with("accounts: readings expected 1000000 to 1000001, is "),
        "{said}"
    );
    assert_eq!(lines.last().map(|l| &l["different"]), Some(&1.into()));
    let xml = fs::read_to_string(&junit).expect("JUnit XML");
    assert!(
        xml.contains("failures=\"1\"") && xml.contains("<failure"),
        "{xml}"
    );

    // Written again, the person's tolerance stays.
    stdout(&["replay", &whole, "--write-expect"]);
    let text = fs::read_to_string(&file).expect("expectations");
    assert!(text.contains("time_tolerance_s = 2.5"), "{text}");
    stdout(&["replay", &whole, "--expect"]);
}

#[test]
fn one_bad_recording_does_not_hide_the_others() {
    let folder = archive();
    fs::write(folder.path("aa.jsonl"), "buy cable ties\n").expect("written");
    let output = run(&["replay", &folder.file(""), "--json"]);
    assert_eq!(output.status.code(), Some(1));
    let lines = json_lines(&String::from_utf8_lossy(&output.stdout));
    let totals = lines.last().expect("totals");
    assert_eq!((&totals["sessions"], &totals["failed"]), (&3.into(), &1.into()));
    assert!(String::from_utf8_lossy(&output.stderr).contains("aa.jsonl"));
}

#[test]
fn a_folder_is_exported_as_it_is_laid_out() {
    let folder = archive();
    for (format, end) in [("csv", "csv"), ("pcapng", "pcapng")] {
        let out = folder.file(format);
        let source = folder.file("attic");
        let told = stdout(&["export", &source, "--format", format, "--out", &out, "--json"]);
        assert_eq!(json_lines(&told)[0]["sessions"], 1);
        assert!(folder.path(format).join(format!("c.{end}")).is_file(), "{told}");
        let again = run(&["export", &source, "--format", format, "--out", &out]);
        assert_eq!(again.status.code(), Some(1));
    }
    let schema = serde_json::from_str(include_str!("../schemas/export.schema.json")).expect("JSON");
    let validator = jsonschema::validator_for(&schema).expect("a schema");
    let out = folder.file("table");
    let told = stdout(&[
        "export",
        &folder.file(""),
        "--format",
        "parquet",
        "--out",
        &out,
        "--json",
    ]);
    assert!(validator.is_valid(&json_lines(&told)[0]), "{told}");
    let files = json_lines(&told)[0]["files"].clone();
    assert!(
        files.as_array().is_some_and(|f| f.iter().any(|f| {
            f.as_str()
                .is_some_and(|f| f.contains("/unit=") && f.ends_with("/date=2026-01-01/attic-c.parquet"))
        })),
        "{files}"
    );
}
