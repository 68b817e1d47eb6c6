//! The user's configuration: how the console looks and which keys it obeys. Pure: text in, settings or one error with
//! its line out.

mod reader;
#[cfg(test)]
mod tests;

use crate::console::{BINDINGS, Key, KeyMap, ThemeName, View};
use clap::ValueEnum;
use std::fmt::Write;

/// When to use colours.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, clap::ValueEnum)]
pub enum When {
    /// As the terminal and the environment say.
    #[default]
    Auto,
    /// In any case.
    Always,
    /// Not at all.
    Never,
}

/// Most redraws per second that may be asked for.
pub const MOST_FPS: u16 = 60;

/// What the configuration says. What it does not name is as built in.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Config {
    /// Theme.
    pub theme: Option<ThemeName>,
    /// Colours.
    pub color: Option<When>,
    /// Plain ASCII signs.
    pub ascii: Option<bool>,
    /// Data redraws per second at most, 1 to [`MOST_FPS`].
    pub fps: Option<u16>,
    /// View to start with.
    pub view: Option<View>,
    /// Keys in effect.
    pub keys: KeyMap,
}

/// What is wrong with a configuration.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("line {line}: {what}")]
pub struct ConfigError {
    /// Line, from 1.
    pub line: usize,
    /// What is wrong, with the next step.
    pub what: String,
}

impl Config {
    /// Reads a configuration.
    ///
    /// # Errors
    /// [`ConfigError`] for what is not TOML, names that are not known (with the nearest known one), values out of
    /// range, and keys that stand for two things.
    pub fn parse(text: &str) -> Result<Self, ConfigError> {
        reader::read(text)
    }

    /// This configuration as a file with every setting and a word on each; [`Config::parse`] reads it back.
    pub fn to_toml(&self) -> String {
        let mut out = String::from(
            "# Loopmargin: look and keys of the console. Options on the command line go before what stands here.\n\n",
        );
        let name = |value: Option<clap::builder::PossibleValue>| {
            value.map_or_else(String::new, |v| v.get_name().to_owned())
        };
        let mut setting = |comment: &str, key: &str, value: &str| {
            let _ = writeln!(out, "# {comment}\n{key} = {value}");
        };
        let quoted = |text: String| format!("\"{text}\"");
        let theme = self.theme.unwrap_or_default();
        setting(
            &choices::<ThemeName>(),
            "theme",
            &quoted(name(theme.to_possible_value())),
        );
        let color = self.color.unwrap_or_default();
        setting(
            &choices::<When>(),
            "color",
            &quoted(name(color.to_possible_value())),
        );
        setting(
            "plain ASCII signs only",
            "ascii",
            &self.ascii.unwrap_or(false).to_string(),
        );
        setting(
            "most redraws per second for new data, 1 to 60; a key redraws at once",
            "fps",
            &self.fps.unwrap_or(10).to_string(),
        );
        let view = self.view.unwrap_or_default();
        setting(
            &format!("first view: {}", choices::<View>()),
            "view",
            &quoted(name(view.to_possible_value())),
        );
        out.push_str(
            "\n# Keys: letters, enter, esc, tab, shift-tab, space, backspace, up, down, left, right, page-up, page-down,\n\
             # home, end, f1 to f12; ctrl- before a letter. A key stands for one thing only.\n[keys]\n",
        );
        for (binding, keys) in self.keys.rows() {
            let keys: Vec<String> = keys
                .iter()
                .map(|k| quoted(k.name().replace('\\', "\\\\").replace('"', "\\\"")))
                .collect();
            let _ = writeln!(out, "{} = [{}] # {}", binding.name, keys.join(", "), binding.help);
        }
        out
    }
}

/// The names that a setting may take.
fn choices<T: ValueEnum>() -> String {
    let names: Vec<String> = T::value_variants()
        .iter()
        .filter_map(|v| Some(v.to_possible_value()?.get_name().to_owned()))
        .collect();
    names.join(", ")
}

/// Names of all bindings.
fn binding_names() -> impl Iterator<Item = &'static str> {
    BINDINGS.iter().map(|b| b.name)
}

/// Whether a binding may have this key: what changes a unit is not confirmed by a key that is hit by accident.
fn is_fit(name: &str, key: Key) -> bool {
    name != "confirm" || key.is_deliberate()
}
