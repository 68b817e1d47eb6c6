//! Findings in words, the same on screen and paper.

use super::{Code, Evidence, EvidenceValue, Subject};
use crate::telemetry::Identity;

/// Name of a finding: its code as words.
pub fn title(code: Code) -> String {
    code.name().replace('-', " ")
}

/// What a finding is about: `B12 uplink`, `B12`, `unit`.
pub fn subject(subject: Subject, identity: &Identity) -> String {
    let place = subject.band.map_or("unit", |b| identity.name(b));
    match subject.path {
        Some(path) => format!("{place} {}", path.word()),
        None => place.to_owned(),
    }
}

/// A piece of evidence: its name in words, its value with the unit that the name ends with.
pub fn evidence(e: &Evidence) -> (String, String) {
    const UNITS: &[(&str, &str)] = &[
        ("_dbm", " dBm"),
        ("_db", " dB"),
        ("_mhz", " MHz"),
        ("_deg", "°"),
        ("_s", " s"),
    ];
    let split = UNITS
        .iter()
        .find_map(|(suffix, unit)| Some((e.name.strip_suffix(suffix)?, *unit)));
    let (name, unit) = split.unwrap_or((e.name, ""));
    let value = match &e.value {
        EvidenceValue::Number(v) if e.name.ends_with("_share") => format!("{:.0} %", v * 100.0),
        EvidenceValue::Number(v) if unit.is_empty() && v.fract() == 0.0 => format!("{v:.0}"),
        EvidenceValue::Number(v) => format!("{v:.1}{unit}"),
        EvidenceValue::Text(text) => text.clone(),
    };
    (name.trim_end_matches("_share").replace('_', " "), value)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn evidence_reads_as_words_with_its_unit() {
        let read = |e: Evidence| {
            let (name, value) = evidence(&e);
            format!("{name} {value}")
        };
        assert_eq!(
            read(Evidence::number("loop_margin_db", 12.34)),
            "loop margin 12.3 dB"
        );
        assert_eq!(
            read(Evidence::number("dl_input_dbm", -38.0)),
            "dl input -38.0 dBm"
        );
        assert_eq!(read(Evidence::number("missing_share", 0.2)), "missing 20 %");
        assert_eq!(read(Evidence::number("restarts", 3.0)), "restarts 3");
        assert_eq!(
            read(Evidence::text("operating_state", "off")),
            "operating state off"
        );
    }
}
