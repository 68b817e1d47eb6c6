//! The published schema and the output agree.

mod common;
use common::{json_lines, scenarios, stdout};
use std::collections::BTreeSet;

#[test]
fn every_line_of_every_scenario_follows_the_published_schema() {
    let schema = serde_json::from_str(include_str!("../schemas/watch.schema.json")).expect("JSON");
    let validator = jsonschema::validator_for(&schema).expect("a schema");
    let mut seen = BTreeSet::new();
    for name in scenarios() {
        let text = stdout(&[
            "watch",
            "--from",
            &format!("sim:{name}"),
            "--json",
            "--speed",
            "max",
            "--for",
            "60s",
        ]);
        for line in json_lines(&text) {
            if let Err(error) = validator.validate(&line) {
                panic!("{name}: {error}: {line}");
            }
            seen.insert(line["type"].as_str().unwrap_or_default().to_owned());
        }
    }
    let all = [
        "cell", "event", "finding", "link", "reading", "session", "summary", "unit",
    ];
    assert!(all.iter().all(|t| seen.contains(*t)), "{seen:?}");
}
