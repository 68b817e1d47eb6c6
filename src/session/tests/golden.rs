//! One small file, byte for byte: a change of the format cannot slip in.

use super::*;

const GOLDEN: &str = include_str!("../../../tests/sessions/every-kind.jsonl");

#[test]
fn the_format_has_not_changed() {
    let bytes = file(&header(), &events(), true);
    assert_eq!(String::from_utf8(bytes).unwrap(), GOLDEN);
}

#[test]
fn every_line_is_json() {
    for line in GOLDEN.lines() {
        serde_json::from_str::<serde_json::Value>(line).unwrap();
    }
}

#[test]
fn the_format_document_names_every_characteristic_state_and_header_key() {
    let document = include_str!("../FORMAT.md");
    let header = serde_json::to_value(header()).unwrap();
    let keys = header.as_object().unwrap().keys().map(String::as_str);
    let names = Characteristic::ALL.iter().map(|c| c.short_name());
    let states = LinkState::ALL.iter().map(|s| s.name());
    for name in names.chain(states).chain(keys) {
        assert!(document.contains(&format!("`{name}`")), "{name}");
    }
}
