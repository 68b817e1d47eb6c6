//! What a calculator gives back, for programs and for people.

use serde::ser::{Serialize, SerializeMap, Serializer};

/// One result.
#[derive(Clone, Debug, PartialEq)]
pub enum Value {
    /// A number, in the unit its key names.
    Number(f64),
    /// A whole number.
    Count(u32),
    /// A word.
    Word(String),
    /// Yes or no.
    Flag(bool),
    /// Several of them.
    List(Vec<Value>),
    /// Not known, or not asked for: null, never 0.
    Unknown,
}

impl Serialize for Value {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match self {
            Self::Number(number) => serializer.serialize_f64(*number),
            Self::Count(count) => serializer.serialize_u32(*count),
            Self::Word(word) => serializer.serialize_str(word),
            Self::Flag(flag) => serializer.serialize_bool(*flag),
            Self::List(values) => serializer.collect_seq(values),
            Self::Unknown => serializer.serialize_unit(),
        }
    }
}

impl From<f64> for Value {
    fn from(number: f64) -> Self {
        Self::Number(number)
    }
}

impl From<Option<f64>> for Value {
    fn from(number: Option<f64>) -> Self {
        number.map_or(Self::Unknown, Self::Number)
    }
}

/// A result under its key.
#[derive(Clone, Debug, PartialEq)]
pub struct Field {
    /// The key, unit included.
    pub key: &'static str,
    /// The value.
    pub value: Value,
    /// The unit, for people.
    pub unit: &'static str,
    /// What people read instead of the number, where that would mislead ("≥ 70 dB").
    pub shown: Option<String>,
}

/// The results of one calculation in the order of the table.
#[derive(Clone, Debug, PartialEq)]
pub struct Outcome {
    /// The results.
    pub fields: Vec<Field>,
    /// Where a number could be trusted too far.
    pub cautions: Vec<String>,
    /// The formula in short.
    pub formula: &'static str,
    /// Where it comes from, and whether that text was seen.
    pub source: &'static str,
}

impl Outcome {
    /// An outcome without results yet.
    pub fn new(formula: &'static str, source: &'static str) -> Self {
        Self {
            fields: Vec::new(),
            cautions: Vec::new(),
            formula,
            source,
        }
    }

    /// Adds a result.
    #[must_use]
    pub fn with(mut self, key: &'static str, value: impl Into<Value>, unit: &'static str) -> Self {
        self.fields.push(Field {
            key,
            value: value.into(),
            unit,
            shown: None,
        });
        self
    }

    /// Changes what people read for the last result.
    #[must_use]
    pub fn shown_as(mut self, text: Option<String>) -> Self {
        if let Some(field) = self.fields.last_mut() {
            field.shown = text;
        }
        self
    }

    /// Adds a caution.
    #[must_use]
    pub fn caution(mut self, text: impl Into<String>) -> Self {
        self.cautions.push(text.into());
        self
    }

    /// Adds a caution where it applies.
    #[must_use]
    pub fn caution_if(self, applies: bool, text: &str) -> Self {
        if applies { self.caution(text) } else { self }
    }

    /// The result under a key.
    #[must_use]
    pub fn get(&self, key: &str) -> Option<&Value> {
        self.fields
            .iter()
            .find(|field| field.key == key)
            .map(|field| &field.value)
    }

    /// Lines for people: results with units, formula, source, cautions.
    #[must_use]
    pub fn for_people(&self, name: &str) -> String {
        let width = self.fields.iter().map(|field| field.key.len()).max().unwrap_or(0);
        let mut text = format!("{name}\n");
        for field in &self.fields {
            let shown = field
                .shown
                .clone()
                .unwrap_or_else(|| shown(&field.value, field.unit));
            text += &format!("  {:width$}  {shown}\n", field.key);
        }
        text += &format!("  formula: {}\n  source: {}\n", self.formula, self.source);
        for caution in &self.cautions {
            text += &format!("  caution: {caution}\n");
        }
        text
    }
}

/// Results first, in their order, then cautions, formula and source.
impl Serialize for Outcome {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(Some(self.fields.len() + 3))?;
        for field in &self.fields {
            map.serialize_entry(field.key, &field.value)?;
        }
        map.serialize_entry("cautions", &self.cautions)?;
        map.serialize_entry("formula", self.formula)?;
        map.serialize_entry("source", self.source)?;
        map.end()
    }
}

fn shown(value: &Value, unit: &str) -> String {
    match value {
        Value::Number(number) if unit.starts_with("dB") => {
            // Adding zero turns a rounded −0.00 into 0.00.
            join(&format!("{:.2}", (number * 100.0).round() / 100.0 + 0.0), unit)
        }
        Value::Number(number) => join(&format!("{}", (number * 1000.0).round() / 1000.0 + 0.0), unit),
        Value::Count(count) => join(&count.to_string(), unit),
        Value::Word(word) => join(word, unit),
        Value::Flag(flag) => (if *flag { "yes" } else { "no" }).to_owned(),
        Value::List(values) if values.is_empty() => "none".to_owned(),
        Value::List(values) => {
            let all: Vec<_> = values.iter().map(|value| shown(value, "")).collect();
            join(&all.join(", "), unit)
        }
        Value::Unknown => "unknown".to_owned(),
    }
}

fn join(text: &str, unit: &str) -> String {
    match unit {
        "" => text.to_owned(),
        "°" => format!("{text}°"),
        unit => format!("{text} {unit}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn for_programs_and_for_people() {
        let outcome = Outcome::new("a formula", "a source")
            .with("gain_db", 10.0 / 3.0, "dB")
            .with("offset_db", -0.001, "dB")
            .with("rise_db", None, "dB")
            .with("f_mhz", 3799.995, "MHz")
            .with("bands", Value::List(vec![Value::Word("n77".into())]), "")
            .with("isolation_db", 74.1, "dB")
            .shown_as(Some("≥ 70 dB".into()))
            .caution("take care");
        assert_eq!(
            serde_json::to_string(&outcome).unwrap(),
            "{\"gain_db\":3.3333333333333335,\"offset_db\":-0.001,\"rise_db\":null,\"f_mhz\":3799.995,\
             \"bands\":[\"n77\"],\"isolation_db\":74.1,\"cautions\":[\"take care\"],\"formula\":\"a formula\",\
             \"source\":\"a source\"}"
        );
        let text = outcome.for_people("x");
        for line in [
            "3.33 dB",
            "0.00 dB",
            "unknown",
            "3799.995 MHz",
            "n77",
            "≥ 70 dB",
            "caution: take care",
        ] {
            assert!(text.contains(line), "{line}: {text}");
        }
        assert!(!text.contains("-0.00"));
    }
}
