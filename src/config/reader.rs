//! Reads the configuration key by key, so that every error has its line.

use super::{Config, ConfigError, MOST_FPS, binding_names, choices, is_fit};
use crate::console::Key;
use crate::suggest::nearest;
use clap::ValueEnum;
use std::ops::Range;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

const SETTINGS: [&str; 6] = ["theme", "color", "ascii", "fps", "view", "keys"];

/// The text, to tell lines.
struct Lines<'a>(&'a str);

impl Lines<'_> {
    fn error(&self, span: Range<usize>, what: String) -> ConfigError {
        let before = self.0.get(..span.start).unwrap_or(self.0);
        ConfigError {
            line: before.matches('\n').count() + 1,
            what,
        }
    }
}

pub(super) fn read(text: &str) -> Result<Config, ConfigError> {
    let lines = Lines(text);
    let table = DeTable::parse(text)
        .map_err(|e| lines.error(e.span().unwrap_or_default(), format!("not TOML: {}", e.message())))?;
    let mut config = Config::default();
    let mut entries: Vec<_> = table.get_ref().iter().collect();
    entries.sort_by_key(|(key, _)| key.span().start);
    for (key, value) in entries {
        match key.get_ref().as_ref() {
            "theme" => config.theme = Some(choice(&lines, value)?),
            "color" => config.color = Some(choice(&lines, value)?),
            "view" => config.view = Some(choice(&lines, value)?),
            "ascii" => match value.get_ref() {
                DeValue::Boolean(on) => config.ascii = Some(*on),
                _ => return Err(lines.error(value.span(), "ascii is true or false".to_owned())),
            },
            "fps" => config.fps = Some(fps(&lines, value)?),
            "keys" => keys(&lines, value, &mut config)?,
            other => return Err(unknown(&lines, key.span(), other, SETTINGS)),
        }
    }
    Ok(config)
}

fn unknown<'a>(
    lines: &Lines<'_>,
    span: Range<usize>,
    name: &str,
    known: impl IntoIterator<Item = &'a str> + Clone,
) -> ConfigError {
    let hint = match nearest(name, known.clone()) {
        Some(near) => format!("did you mean `{near}`?"),
        None => format!("known are {}", known.into_iter().collect::<Vec<_>>().join(", ")),
    };
    lines.error(span, format!("`{name}` is not known; {hint}"))
}

fn choice<T: ValueEnum>(lines: &Lines<'_>, value: &Spanned<DeValue<'_>>) -> Result<T, ConfigError> {
    let name = match value.get_ref() {
        DeValue::String(name) => name.as_ref(),
        _ => "",
    };
    T::from_str(name, false).map_err(|_| {
        let what = format!("`{name}` is none of {}", choices::<T>());
        lines.error(value.span(), what)
    })
}

fn fps(lines: &Lines<'_>, value: &Spanned<DeValue<'_>>) -> Result<u16, ConfigError> {
    let number = match value.get_ref() {
        DeValue::Integer(number) if number.radix() == 10 => number.as_str().parse().ok(),
        _ => None,
    };
    number.filter(|n| (1..=MOST_FPS).contains(n)).ok_or_else(|| {
        lines.error(
            value.span(),
            format!("fps is a whole number from 1 to {MOST_FPS}"),
        )
    })
}

fn keys(lines: &Lines<'_>, value: &Spanned<DeValue<'_>>, config: &mut Config) -> Result<(), ConfigError> {
    let DeValue::Table(table) = value.get_ref() else {
        return Err(lines.error(
            value.span(),
            "keys is a table: `[keys]` on a line of its own".to_owned(),
        ));
    };
    let mut rows: Vec<_> = table.iter().collect();
    rows.sort_by_key(|(name, _)| name.span().start);
    for (name, value) in &rows {
        let bound = bound(lines, name.get_ref(), value)?;
        if !config.keys.bind(name.get_ref(), bound) {
            let known: Vec<&str> = binding_names().collect();
            return Err(unknown(lines, name.span(), name.get_ref(), known));
        }
    }
    match config.keys.clash() {
        None => Ok(()),
        Some((key, one, other)) => {
            // Told at the later of the two lines that the file has.
            let of_pair = |n: &&(&Spanned<_>, _)| [one, other].contains(&AsRef::<str>::as_ref(n.0.get_ref()));
            let span = rows
                .iter()
                .rev()
                .find(of_pair)
                .map_or(value.span(), |(n, _)| n.span());
            let what = format!(
                "key `{}` stands for both `{one}` and `{other}`; give one of them another key",
                key.name()
            );
            Err(lines.error(span, what))
        }
    }
}

/// The keys of a row: one, or a list.
fn bound(lines: &Lines<'_>, name: &str, value: &Spanned<DeValue<'_>>) -> Result<Vec<Key>, ConfigError> {
    let one = |value: &Spanned<DeValue<'_>>| {
        let text = match value.get_ref() {
            DeValue::String(text) => text.as_ref(),
            _ => "",
        };
        let key = Key::parse(text).ok_or_else(|| {
            lines.error(
                value.span(),
                format!("`{text}` is no key; write a letter, `enter`, `f5`, `ctrl-l`"),
            )
        })?;
        if is_fit(name, key) {
            return Ok(key);
        }
        let what = format!("`{text}` is hit by accident; `confirm` takes a key with ctrl-, or f1 to f12");
        Err(lines.error(value.span(), what))
    };
    match value.get_ref() {
        DeValue::Array(list) => list.iter().map(one).collect(),
        _ => Ok(vec![one(value)?]),
    }
}
