//! `loopmargin calc` as a program: what it prints where, and its exit codes.

#![allow(
    clippy::unwrap_used,
    reason = "a program that cannot be run should stop the test"
)]

use std::process::{Command, Output};

use loopmargin::cli::calc::{CALCULATORS, answer};

fn loopmargin(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_loopmargin"))
        .args(arguments)
        .output()
        .unwrap()
}

#[test]
fn json_is_the_only_line() {
    let output = loopmargin(&["calc", "loop-from-ripple", "ripple_db=3.1224", "--json"]);
    assert_eq!(output.status.code(), Some(0));
    let text = String::from_utf8(output.stdout).unwrap();
    assert_eq!(text.lines().count(), 1);
    let result: serde_json::Value = serde_json::from_str(&text).unwrap();
    assert!((result["margin_db"].as_f64().unwrap() - 15.0).abs() < 0.01);
    assert!(output.stderr.is_empty());
}

#[test]
fn wrong_use_is_two_and_impossible_is_one() {
    for (arguments, code, part) in [
        (
            &["calc", "coax", "cable=rg58", "f_mhz=850", "lenght_m=3"][..],
            2,
            "did you mean length_m?",
        ),
        (&["calc", "loop", "10"], 2, "margin_db=10"),
        (&["calc", "looop"], 2, "did you mean loop?"),
        (&["calc", "loop", "margin_db=-3"], 1, "lower the gain"),
        (
            &["calc", "gain-step", "margin_db=6", "step_db=3"],
            1,
            "step_db=-3",
        ),
    ] {
        let output = loopmargin(arguments);
        assert_eq!(output.status.code(), Some(code), "{arguments:?}");
        assert!(output.stdout.is_empty(), "{arguments:?}");
        let reason = String::from_utf8(output.stderr).unwrap();
        assert!(reason.contains(part), "{arguments:?}: {reason}");
        assert_eq!(reason.lines().count(), 1, "{reason}");
    }
}

#[test]
fn alone_it_lists_the_calculators() {
    let output = loopmargin(&["calc"]);
    assert_eq!(output.status.code(), Some(0));
    let text = String::from_utf8(output.stdout).unwrap();
    assert!(text.find("  loop ").unwrap() < text.find("  free-space ").unwrap());
}

#[test]
fn every_result_follows_the_published_schema() {
    let schema: serde_json::Value =
        serde_json::from_str(include_str!("../schemas/calc.schema.json")).unwrap();
    let cases = CALCULATORS
        .iter()
        .map(|calculator| (calculator.name, calculator.example))
        .chain([
            ("mismatch", "vswr=1"),
            ("peak", "phi3_deg=60 points=0:-70,20:-71"),
            ("channel", "nr_arfcn=384000"),
            ("exposure", "eirp_dbm=30 f_mhz=850"),
            ("us-limits", "f_mhz=836.5"),
        ]);
    for (name, inputs) in cases {
        let rules = &schema["$defs"][name];
        assert!(rules.is_object(), "no schema for {name}");
        let arguments: Vec<String> = inputs.split(' ').map(str::to_owned).collect();
        let text = answer(Some(name), &arguments, true).unwrap();
        let result = serde_json::from_str(&text).unwrap();
        let errors: Vec<_> = jsonschema::validator_for(rules)
            .unwrap()
            .iter_errors(&result)
            .map(|e| e.to_string())
            .collect();
        assert!(errors.is_empty(), "{name} {inputs}: {errors:?}");
    }
}
