//! Values and names in the words of the screen.

use super::glyphs::Glyphs;
use crate::analysis::{Evidence, Finding, Subject};
pub(super) use crate::analysis::{evidence, subject, title};
use crate::telemetry::Identity;
use booster_profile::{
    Characteristic, Direction, DirectionState, EventCode, Reasons, TenthDb, TenthDbm, UnitEvent,
};
use std::time::Duration;

/// As [`subject`], for a narrow column: `B12 UL`.
pub(super) fn short_subject(subject: Subject, identity: &Identity) -> String {
    let place = subject.band.map_or("unit", |b| identity.name(b));
    match subject.path {
        Some(path) => format!("{place} {}", path.name().to_uppercase()),
        None => place.to_owned(),
    }
}

/// Severity and title: `critical: oscillation`.
pub(super) fn heading(finding: &Finding) -> String {
    format!("{}: {}", finding.severity.name(), title(finding.code))
}

/// A span of time in one or two units.
pub(crate) fn span(d: Duration) -> String {
    let s = d.as_secs();
    match s {
        0..60 => format!("{s} s"),
        60..3_600 => format!("{} min {:02} s", s / 60, s % 60),
        _ => format!("{} h {:02} min", s / 3_600, s / 60 % 60),
    }
}

/// A bearing, with a decimal only where it has one.
pub(super) fn bearing(degrees: f64, glyphs: &Glyphs) -> String {
    let tenths = (degrees * 10.0).round() / 10.0;
    let decimals = usize::from(tenths.fract() != 0.0);
    format!("{tenths:.decimals$}{}", glyphs.degree)
}

/// A size of a file.
pub(super) fn bytes(n: u64) -> String {
    match n {
        0..1_000 => format!("{n} B"),
        1_000..1_000_000 => format!("{:.1} kB", n as f64 / 1e3),
        1_000_000..1_000_000_000 => format!("{:.1} MB", n as f64 / 1e6),
        _ => format!("{:.2} GB", n as f64 / 1e9),
    }
}

/// A time of the program itself, in µs or ms.
pub(super) fn micros(us: u64) -> String {
    if us < 10_000 {
        format!("{us} µs")
    } else {
        format!("{:.1} ms", us as f64 / 1e3)
    }
}

/// A number, or a dash where it is not known.
pub(super) fn number(value: Option<f64>, glyphs: &Glyphs) -> String {
    value.map_or_else(|| glyphs.dash.to_owned(), |v| format!("{v:.1}"))
}

/// As [`number`], for a level.
pub(super) fn dbm(value: Option<TenthDbm>, glyphs: &Glyphs) -> String {
    number(value.map(TenthDbm::dbm), glyphs)
}

/// As [`number`], for a ratio.
pub(super) fn db(value: Option<TenthDb>, glyphs: &Glyphs) -> String {
    number(value.map(TenthDb::db), glyphs)
}

/// What one direction does, and why if it is held back.
pub(super) fn direction(state: DirectionState, reasons: Reasons) -> String {
    let what = match state {
        DirectionState::Guard => "guard acting",
        DirectionState::LatchedOff => "latched off",
        state => state.name(),
    };
    // What the guard does is done by the guard: only other reasons are worth saying.
    let by_guard = matches!(state, DirectionState::Guard | DirectionState::LatchedOff);
    let why: Vec<&str> = reasons
        .names()
        .filter(|name| !(by_guard && *name == "guard"))
        .collect();
    if why.is_empty() {
        return what.to_owned();
    }
    format!("{what} by {}", why.join(", "))
}

/// Every piece of evidence of a finding, in a line.
pub(crate) fn proof(finding: &Finding, ascii: bool) -> String {
    let one = |e: &Evidence| {
        let (name, value) = evidence(e);
        format!("{name} {value}")
    };
    let all: Vec<String> = finding.evidence.iter().map(one).collect();
    all.join(if ascii { ", " } else { " · " })
}

/// A unit event in words.
pub(super) fn unit_event(event: &UnitEvent, identity: &Identity) -> String {
    let what = match event.code {
        EventCode::Unknown(code) => format!("event {code} (not known to this version)"),
        code => code.name().replace('-', " "),
    };
    let place = match event.band.map(|index| identity.position(index)) {
        Some(Some(position)) => format!("{} ", identity.name(position)),
        Some(None) => "band ? ".to_owned(),
        None => String::new(),
    };
    let way = match event.direction {
        Direction::Downlink => "DL ",
        Direction::Uplink => "UL ",
        Direction::Both | Direction::Unknown(_) => "",
    };
    let value = event.value.and_then(|v| event_value(event.code, v));
    format!(
        "{place}{way}{what}{}",
        value.map_or_else(String::new, |v| format!(", {v}"))
    )
}

/// A characteristic in words: its name in the profile document is the one it has here, in capitals and together.
pub(super) fn characteristic(c: Characteristic) -> String {
    let mut words = String::new();
    for letter in format!("{c:?}").chars() {
        if letter.is_uppercase() && !words.is_empty() {
            words.push(' ');
        }
        words.extend(letter.to_lowercase());
    }
    words
}

/// The value of an event; its meaning depends on the code.
fn event_value(code: EventCode, value: i16) -> Option<String> {
    use EventCode as E;
    let tenths = f64::from(value) / 10.0;
    Some(match code {
        E::OscillationDetected | E::OscillationCleared => format!("gain {tenths:.1} dB"),
        E::GuardActed => format!("restart {value}"),
        E::LatchedOff => format!("after {value} restarts"),
        E::OverloadStart | E::OverloadEnd => format!("input {tenths:.1} dBm"),
        E::HeatStart | E::HeatEnd => format!("{tenths:.1} °C"),
        E::SupplyLow | E::SupplyRestored => format!("{tenths:.1} V"),
        E::AimSafeOn => format!("for {value} s"),
        E::IsolationTested => format!("isolation {tenths:.1} dB"),
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_direction_says_why_it_is_held_back() {
        let reasons = Reasons::INPUT.with(Reasons::RULE);
        assert_eq!(
            direction(DirectionState::Limited, reasons),
            "limited by input, rule"
        );
        assert_eq!(
            direction(DirectionState::LatchedOff, Reasons::default()),
            "latched off"
        );
        assert_eq!(direction(DirectionState::Guard, Reasons::GUARD), "guard acting");
        assert_eq!(
            direction(DirectionState::Guard, Reasons::GUARD.with(Reasons::HEAT)),
            "guard acting by heat"
        );
    }

    #[test]
    fn a_characteristic_reads_as_words() {
        assert_eq!(characteristic(Characteristic::BandTelemetry), "band telemetry");
    }

    #[test]
    fn spans_take_the_units_they_need() {
        let s = |s| span(Duration::from_secs(s));
        assert_eq!(
            [s(0), s(59), s(61), s(3_661)],
            ["0 s", "59 s", "1 min 01 s", "1 h 01 min"]
        );
    }
}
