//! One event as one line, and back.
//!
//! Values make up nearly all of a recording, so their lines are written and read by hand; everything else goes
//! through serde, as does a value line that some other tool has laid out differently.

use super::hex;
use crate::event::{Event, EventKind, LinkState, Mark, Origin, RawBytes, SessionTime};
use booster_profile::Characteristic;
use serde::{Deserialize, Deserializer};
use std::borrow::Cow;

/// Appends the line of an event, newline included.
pub fn push(out: &mut Vec<u8>, event: &Event) {
    out.extend_from_slice(b"{\"t\":");
    push_number(out, event.at.0);
    match &event.kind {
        EventKind::Value {
            characteristic,
            origin,
            bytes,
        } => {
            let key = match origin {
                Origin::Pushed => b",\"v\":\"",
                Origin::Read => b",\"r\":\"",
            };
            push_value(out, key, *characteristic, bytes);
        }
        EventKind::Written {
            characteristic,
            bytes,
        } => push_value(out, b",\"w\":\"", *characteristic, bytes),
        EventKind::Link { state, detail } => {
            push_text(out, "link", state.name());
            if let Some(detail) = detail {
                push_text(out, "why", detail);
            }
        }
        EventKind::Dropped { count } => {
            out.extend_from_slice(b",\"dropped\":");
            push_number(out, u64::from(*count));
        }
        EventKind::Deadline => out.extend_from_slice(b",\"deadline\":true"),
        EventKind::Mark(mark) => {
            out.extend_from_slice(b",\"mark\":");
            push_json(out, mark);
        }
        EventKind::Key { name } => push_text(out, "key", name),
        EventKind::Setting { name, value } => {
            push_text(out, "set", name);
            push_text(out, "to", value);
        }
        EventKind::Unreadable { lines } => {
            out.extend_from_slice(b",\"missing\":");
            match lines {
                Some(n) => push_number(out, *n),
                None => out.extend_from_slice(b"null"),
            }
        }
        EventKind::End => out.extend_from_slice(b",\"end\":true"),
    }
    out.extend_from_slice(b"}\n");
}

fn push_value(out: &mut Vec<u8>, key: &[u8; 6], characteristic: Characteristic, bytes: &[u8]) {
    out.extend_from_slice(key);
    out.extend_from_slice(characteristic.short_name().as_bytes());
    out.extend_from_slice(b"\",\"x\":\"");
    hex::push(out, bytes);
    out.push(b'"');
}

fn push_text(out: &mut Vec<u8>, key: &str, text: &str) {
    out.extend_from_slice(b",\"");
    out.extend_from_slice(key.as_bytes());
    out.extend_from_slice(b"\":");
    push_json(out, text);
}

/// Appends a value as compact JSON. Neither strings nor marks can fail to serialise, and a vector takes every byte.
pub fn push_json(out: &mut Vec<u8>, value: &(impl serde::Serialize + ?Sized)) {
    let start = out.len();
    if serde_json::to_writer(&mut *out, value).is_err() {
        out.truncate(start);
        out.extend_from_slice(b"null");
    }
}

/// Appends a number in decimal.
pub fn push_number(out: &mut Vec<u8>, mut number: u64) {
    // 2⁶⁴ has 20 digits.
    let mut digits = [b'0'; 20];
    let mut first = digits.len();
    loop {
        first -= 1;
        digits[first] = b'0' + (number % 10) as u8;
        number /= 10;
        if number == 0 {
            break;
        }
    }
    out.extend_from_slice(&digits[first..]);
}

/// Takes one event off the front of `lines`: the event, if the line is one, and what follows the line.
pub fn take(lines: &[u8]) -> (Option<Event>, &[u8]) {
    if let Some((event, rest)) = take_value(lines) {
        return (Some(event), rest);
    }
    let end = memchr::memchr(b'\n', lines).unwrap_or(lines.len());
    (parse(&lines[..end]), lines.get(end + 1..).unwrap_or_default())
}

/// Takes a value line that is laid out as [`push`] lays it out.
fn take_value(lines: &[u8]) -> Option<(Event, &[u8])> {
    let (at, rest) = take_number(lines.strip_prefix(b"{\"t\":")?)?;
    if let Some(rest) = rest.strip_prefix(b",\"v\":\"band-telemetry\",\"x\":\"") {
        // Nearly every line.
        let (digits, rest) = rest.split_at_checked(memchr::memchr(b'"', rest)?)?;
        let kind = EventKind::Value {
            characteristic: Characteristic::BandTelemetry,
            origin: Origin::Pushed,
            bytes: raw_bytes(digits)?,
        };
        let at = SessionTime(at);
        return Some((Event { at, kind }, rest.strip_prefix(b"\"}\n")?));
    }
    let (key, rest) = rest.strip_prefix(b",\"")?.split_first()?;
    let rest = rest.strip_prefix(b"\":\"")?;
    let (name, rest) = rest.split_at_checked(memchr::memchr(b'"', rest)?)?;
    let characteristic = characteristic(name)?;
    let rest = rest.strip_prefix(b"\",\"x\":\"")?;
    let (digits, rest) = rest.split_at_checked(memchr::memchr(b'"', rest)?)?;
    let rest = rest.strip_prefix(b"\"}\n")?;
    let bytes = raw_bytes(digits)?;
    let kind = match key {
        b'v' => EventKind::Value {
            characteristic,
            origin: Origin::Pushed,
            bytes,
        },
        b'r' => EventKind::Value {
            characteristic,
            origin: Origin::Read,
            bytes,
        },
        b'w' => EventKind::Written {
            characteristic,
            bytes,
        },
        _ => return None,
    };
    Some((
        Event {
            at: SessionTime(at),
            kind,
        },
        rest,
    ))
}

/// Takes decimal digits off the front: at most 19, so that the number fits. A longer one goes the slow way.
pub fn take_number(text: &[u8]) -> Option<(u64, &[u8])> {
    let mut number = 0;
    for (i, byte) in text.iter().enumerate() {
        match byte {
            b'0'..=b'9' if i < 19 => number = number * 10 + u64::from(byte - b'0'),
            b'0'..=b'9' => return None,
            _ => return (i > 0).then_some((number, &text[i..])),
        }
    }
    None
}

fn characteristic(name: &[u8]) -> Option<Characteristic> {
    if name == b"band-telemetry" {
        return Some(Characteristic::BandTelemetry);
    }
    Characteristic::from_short_name(std::str::from_utf8(name).ok()?)
}

fn raw_bytes(digits: &[u8]) -> Option<RawBytes> {
    let len = digits.len() / 2;
    let mut inline = [0; 48];
    match inline.get_mut(..len) {
        Some(room) => {
            hex::decode(digits, room)?;
            Some(RawBytes::from_buf_and_len(inline, len))
        }
        None => {
            let mut bytes = RawBytes::from_elem(0, len);
            hex::decode(digits, &mut bytes)?;
            Some(bytes)
        }
    }
}

/// Every key that a line of this format version can have.
#[derive(Deserialize)]
struct Line<'a> {
    t: u64,
    #[serde(borrow)]
    v: Option<Cow<'a, str>>,
    #[serde(borrow)]
    r: Option<Cow<'a, str>>,
    #[serde(borrow)]
    w: Option<Cow<'a, str>>,
    #[serde(borrow)]
    x: Option<Cow<'a, str>>,
    #[serde(borrow)]
    link: Option<Cow<'a, str>>,
    why: Option<String>,
    dropped: Option<u32>,
    deadline: Option<bool>,
    mark: Option<Mark>,
    key: Option<String>,
    set: Option<String>,
    to: Option<String>,
    #[serde(default, deserialize_with = "present")]
    missing: Option<Option<u64>>,
    end: Option<bool>,
}

/// Tells `null` from an absent key.
fn present<'de, D: Deserializer<'de>>(d: D) -> Result<Option<Option<u64>>, D::Error> {
    Option::deserialize(d).map(Some)
}

/// The event of any line; `None` if it is none that this format version knows.
fn parse(line: &[u8]) -> Option<Event> {
    let line: Line = serde_json::from_slice(line).ok()?;
    let at = SessionTime(line.t);
    let value = |name: Cow<str>| {
        let bytes = raw_bytes(line.x.as_ref()?.as_bytes())?;
        Some((characteristic(name.as_bytes())?, bytes))
    };
    let kind = if let Some(name) = line.v {
        let (characteristic, bytes) = value(name)?;
        EventKind::Value {
            characteristic,
            origin: Origin::Pushed,
            bytes,
        }
    } else if let Some(name) = line.r {
        let (characteristic, bytes) = value(name)?;
        EventKind::Value {
            characteristic,
            origin: Origin::Read,
            bytes,
        }
    } else if let Some(name) = line.w {
        let (characteristic, bytes) = value(name)?;
        EventKind::Written {
            characteristic,
            bytes,
        }
    } else if let Some(name) = line.link {
        EventKind::Link {
            state: LinkState::from_name(&name)?,
            detail: line.why,
        }
    } else if let Some(count) = line.dropped {
        EventKind::Dropped { count }
    } else if let Some(true) = line.deadline {
        EventKind::Deadline
    } else if let Some(mark) = line.mark {
        EventKind::Mark(Box::new(mark))
    } else if let Some(name) = line.key {
        EventKind::Key { name }
    } else if let (Some(name), Some(value)) = (line.set, line.to) {
        EventKind::Setting { name, value }
    } else if let Some(lines) = line.missing {
        EventKind::Unreadable { lines }
    } else if let Some(true) = line.end {
        EventKind::End
    } else {
        return None;
    };
    Some(Event { at, kind })
}
