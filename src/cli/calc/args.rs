//! Arguments of a calculator: checked keys, and values read as numbers, words and lists.

use super::{CalcError, Calculator};
use crate::suggest::nearest;

/// One input of a calculator.
pub struct Input {
    /// Its key, unit included.
    pub key: &'static str,
    /// Whether it may be left out.
    pub presence: Presence,
}

/// What happens when an input is not given.
#[derive(Clone, Copy)]
pub enum Presence {
    /// The calculator cannot do without.
    Required,
    /// This value is taken, and the result says so.
    Default(&'static str),
    /// The calculator decides which of several it needs.
    Optional,
}

/// An input that must be given.
pub const fn required(key: &'static str) -> Input {
    Input {
        key,
        presence: Presence::Required,
    }
}

/// An input with a stated default.
pub const fn default(key: &'static str, value: &'static str) -> Input {
    Input {
        key,
        presence: Presence::Default(value),
    }
}

/// An input that may stay unknown.
pub const fn optional(key: &'static str) -> Input {
    Input {
        key,
        presence: Presence::Optional,
    }
}

/// The arguments given to one calculator.
pub struct Args<'a> {
    calculator: &'a Calculator,
    pairs: &'a [(&'a str, &'a str)],
}

impl<'a> Args<'a> {
    /// Checks that every key is known, given once, and that none is missing.
    pub(super) fn new(
        calculator: &'a Calculator,
        pairs: &'a [(&'a str, &'a str)],
    ) -> Result<Self, CalcError> {
        let args = Self { calculator, pairs };
        let keys = || calculator.inputs.iter().map(|input| input.key);
        for (at, (key, _)) in pairs.iter().enumerate() {
            if !keys().any(|known| known == *key) {
                let all = keys().collect::<Vec<_>>().join(", ");
                let hint = nearest(key, keys()).map_or_else(
                    || format!("it takes {all}"),
                    |near| format!("did you mean {near}?"),
                );
                return Err(args.usage(&format!("{key:?} is not an input; {hint}")));
            }
            if pairs[..at].iter().any(|(earlier, _)| earlier == key) {
                return Err(args.usage(&format!("{key} is given twice; give it once")));
            }
        }
        let missing: Vec<_> = calculator
            .inputs
            .iter()
            .filter(|input| matches!(input.presence, Presence::Required) && args.given(input.key).is_none())
            .map(|input| input.key)
            .collect();
        if missing.is_empty() {
            Ok(args)
        } else {
            Err(args.missing(&missing.join(", ")))
        }
    }

    /// A usage error that names the calculator.
    pub fn usage(&self, what: &str) -> CalcError {
        CalcError::Usage(format!("calc {}: {what}", self.calculator.name))
    }

    /// The usage error for inputs that are not given.
    pub fn missing(&self, keys: &str) -> CalcError {
        self.usage(&format!(
            "{keys} not given; for example: loopmargin calc {} {}",
            self.calculator.name, self.calculator.example
        ))
    }

    /// The text given for a key.
    pub fn given(&self, key: &str) -> Option<&'a str> {
        self.pairs
            .iter()
            .find(|(given, _)| *given == key)
            .map(|(_, value)| *value)
    }

    /// The text given for a key, or its default.
    fn text(&self, key: &str) -> Result<&'a str, CalcError> {
        let default = || {
            self.calculator
                .inputs
                .iter()
                .find_map(|input| match input.presence {
                    Presence::Default(value) if input.key == key => Some(value),
                    _ => None,
                })
        };
        self.given(key).or_else(default).ok_or_else(|| self.missing(key))
    }

    /// A number.
    pub fn number(&self, key: &str) -> Result<f64, CalcError> {
        self.parse_number(key, self.text(key)?)
    }

    /// A number, or nothing when the key is not given.
    pub fn optional_number(&self, key: &str) -> Result<Option<f64>, CalcError> {
        self.given(key)
            .map(|text| self.parse_number(key, text))
            .transpose()
    }

    /// A whole number from 0 to `most`.
    pub fn whole(&self, key: &str, most: u32) -> Result<u32, CalcError> {
        let number = self.number(key)?;
        if number.fract() != 0.0 {
            return Err(self.usage(&format!(
                "{key}={number} is not a whole number; give it without a fraction"
            )));
        }
        if (0.0..=f64::from(most)).contains(&number) {
            Ok(number as u32)
        } else {
            Err(CalcError::Refused(format!(
                "calc {}: {key}={number} is out of range (0 to {most}); check the number",
                self.calculator.name
            )))
        }
    }

    /// Numbers separated by commas.
    pub fn numbers(&self, key: &str) -> Result<Vec<f64>, CalcError> {
        self.text(key)?
            .split(',')
            .map(|text| self.parse_number(key, text))
            .collect()
    }

    /// Pairs `a:b` separated by commas.
    pub fn number_pairs(&self, key: &str) -> Result<Vec<(f64, f64)>, CalcError> {
        let pair = |text: &str| {
            let (a, b) = text.split_once(':').ok_or_else(|| {
                self.usage(&format!(
                    "{key}: {text:?} is not angle:level; write for example {key}=0:-70,30:-66"
                ))
            })?;
            Ok((self.parse_number(key, a)?, self.parse_number(key, b)?))
        };
        self.text(key)?.split(',').map(pair).collect()
    }

    /// One of several words, as the value that stands beside it.
    pub fn word<T: Copy>(&self, key: &str, choices: &[(&str, T)]) -> Result<T, CalcError> {
        let text = self.text(key)?;
        let found = choices
            .iter()
            .find(|(word, _)| word.eq_ignore_ascii_case(text))
            .map(|(_, value)| *value);
        found.ok_or_else(|| {
            let words = || choices.iter().map(|(word, _)| *word);
            let all = words().collect::<Vec<_>>().join(", ");
            let hint = nearest(text, words())
                .map(|near| format!("; did you mean {near}?"))
                .unwrap_or_default();
            self.usage(&format!("{key}={text:?} is none of {all}{hint}"))
        })
    }

    /// What was assumed for inputs that were not given.
    pub(super) fn assumptions(&self) -> impl Iterator<Item = String> {
        self.calculator
            .inputs
            .iter()
            .filter_map(|input| match input.presence {
                Presence::Default(value) if self.given(input.key).is_none() => {
                    Some(format!("{} not given: {value} assumed", input.key))
                }
                _ => None,
            })
    }

    fn parse_number(&self, key: &str, text: &str) -> Result<f64, CalcError> {
        // A pasted minus sign is often the typographic one.
        let text = &text.trim().replace('−', "-");
        match text.parse::<f64>() {
            Ok(number) if number.is_finite() => Ok(number),
            Ok(_) => Err(self.usage(&format!(
                "{key}={text} is not a finite number; give a measured or planned value"
            ))),
            Err(_) => {
                let digits = text.trim_end_matches(|c: char| !c.is_ascii_digit());
                let hint = if !digits.is_empty() && digits.len() < text.len() && digits.parse::<f64>().is_ok()
                {
                    format!("the unit is in the key's name: {key}={digits}")
                } else {
                    format!("for example: {}", self.calculator.example)
                };
                Err(self.usage(&format!("{key}={text:?} is not a number; {hint}")))
            }
        }
    }
}
