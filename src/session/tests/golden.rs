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
