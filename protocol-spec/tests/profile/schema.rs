//! `profile.toml`, and a reader of values that follows it alone.

use crate::{hex, read};
use serde_json::{Map, Value, json};

/// The tables.
pub struct Profile(pub Value);

/// Meaning of the fields of a value, by name.
pub type Fields = Map<String, Value>;

/// Length of a type in bytes.
pub fn width(kind: &str) -> usize {
    match kind {
        "uint8" | "sint8" => 1,
        "uint16" | "sint16" => 2,
        "uint24" | "octets3" => 3,
        "uint32" => 4,
        other => panic!("unknown type {other}"),
    }
}

/// Unsigned little-endian integer.
fn integer(bytes: &[u8]) -> u64 {
    bytes.iter().rev().fold(0, |sum, b| sum << 8 | u64::from(*b))
}

impl Profile {
    /// Loads `protocol-spec/profile.toml`.
    pub fn load() -> Self {
        Self(toml::from_str(&read("profile.toml")).unwrap())
    }

    /// An array of tables.
    pub fn array(&self, name: &str) -> &[Value] {
        self.0[name].as_array().unwrap()
    }

    /// A layout by name.
    pub fn layout(&self, name: &str) -> &Value {
        self.array("layout")
            .iter()
            .find(|l| l["name"] == name)
            .unwrap_or_else(|| panic!("no layout {name}"))
    }

    /// Fields of a layout.
    pub fn layout_fields(&self, name: &str) -> &[Value] {
        self.layout(name)["fields"].as_array().unwrap()
    }

    /// Mandatory bytes of a layout.
    pub fn length(&self, name: &str) -> usize {
        self.layout(name)["length"].as_u64().unwrap() as usize
    }

    /// An enumeration or a set of flags as (number, name), in order of the number.
    pub fn codes(&self, group: &str, name: &str) -> Vec<(u64, String)> {
        let table = self.0[group][name]
            .as_object()
            .unwrap_or_else(|| panic!("no {group} {name}"));
        let mut codes: Vec<_> = table
            .iter()
            .map(|(code, text)| (code.parse().unwrap(), text.as_str().unwrap().to_owned()))
            .collect();
        codes.sort();
        codes
    }

    fn meaning(&self, field: &Value, raw: u64) -> Value {
        let kind = field["type"].as_str().unwrap();
        let (shift, bits) = match field.get("bits") {
            Some(bits) => {
                let (low, high) = (bits[0].as_u64().unwrap(), bits[1].as_u64().unwrap());
                (low, high - low + 1)
            }
            None => (0, 8 * width(kind) as u64),
        };
        let raw = (raw >> shift) & ((1 << bits) - 1);
        if field.get("not_known").is_some_and(|pattern| *pattern == raw) {
            return Value::Null;
        }
        if let Some(name) = field.get("enum") {
            let codes = self.codes("enum", name.as_str().unwrap());
            return codes
                .iter()
                .find(|(code, _)| *code == raw)
                .map_or(json!(raw), |(_, text)| json!(text));
        }
        if let Some(name) = field.get("flags") {
            let names = self.codes("flags", name.as_str().unwrap());
            return (0..bits)
                .filter(|bit| raw >> bit & 1 == 1)
                .map(|bit| bit + shift)
                .map(|bit| match names.iter().find(|(b, _)| *b == bit) {
                    Some((_, text)) => json!(text),
                    None => json!(format!("bit-{bit}")),
                })
                .collect();
        }
        match kind {
            "octets3" => json!(hex(&raw.to_le_bytes()[..3])),
            "sint8" => json!(raw as u8 as i8),
            "sint16" => json!(raw as u16 as i16),
            _ => json!(raw),
        }
    }

    /// The mandatory fields of a value.
    pub fn unpack(&self, layout: &str, value: &[u8]) -> Fields {
        self.layout_fields(layout)
            .iter()
            .map(|field| {
                let at = field["offset"].as_u64().unwrap() as usize;
                let raw = integer(&value[at..at + width(field["type"].as_str().unwrap())]);
                (
                    field["name"].as_str().unwrap().to_owned(),
                    self.meaning(field, raw),
                )
            })
            .collect()
    }

    /// The optional fields that `flags` announce.
    pub fn unpack_optional(&self, layout: &str, flags: u16, mut value: &[u8]) -> Fields {
        let mut fields = Fields::new();
        for field in self.layout_fields(layout) {
            if flags >> field["bit"].as_u64().unwrap() & 1 == 1 {
                let (head, rest) = value.split_at(width(field["type"].as_str().unwrap()));
                fields.insert(
                    field["name"].as_str().unwrap().to_owned(),
                    self.meaning(field, integer(head)),
                );
                value = rest;
            }
        }
        fields
    }

    /// The bits of a layout's mandatory bytes that some field has; the others are reserved.
    pub fn mask(&self, layout: &str) -> Vec<u8> {
        let mut mask = vec![0; self.length(layout)];
        for field in self.layout_fields(layout) {
            let at = field["offset"].as_u64().unwrap() as usize;
            let bytes = width(field["type"].as_str().unwrap());
            let bits = match field.get("bits") {
                Some(bits) => {
                    let (low, high) = (bits[0].as_u64().unwrap(), bits[1].as_u64().unwrap());
                    ((1_u64 << (high + 1)) - 1) & !((1 << low) - 1)
                }
                None => u64::MAX,
            };
            for (byte, defined) in mask[at..at + bytes].iter_mut().zip(bits.to_le_bytes()) {
                *byte |= defined;
            }
        }
        mask
    }
}
