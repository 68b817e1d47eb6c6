//! Colours. Roles, not colours, are what the views ask for.
//!
//! Hues follow Okabe and Ito's set, which people with the common kinds of colour blindness can tell apart.

use super::glyphs::{ASCII, Glyphs, UNICODE};
use ratatui::style::{Color, Modifier, Style};

/// A theme.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, clap::ValueEnum)]
pub enum ThemeName {
    /// For a dark terminal.
    #[default]
    Dark,
    /// For a light terminal.
    Light,
    /// For sunlight: black on white, whatever the terminal's own colours.
    HighContrast,
}

impl ThemeName {
    /// Every theme.
    pub const ALL: &[ThemeName] = &[ThemeName::Dark, ThemeName::Light, ThemeName::HighContrast];
}

/// How many colours the terminal has.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum ColorDepth {
    /// None, or none wanted: bold, dim and reversed remain.
    None,
    /// The terminal's own sixteen.
    #[default]
    Sixteen,
    /// Any.
    Full,
}

impl ColorDepth {
    /// What the environment says, for `--color auto`: `NO_COLOR`, `COLORTERM`, `TERM`. Values are `None` where the
    /// variable is not set.
    pub fn detect(no_color: Option<&str>, colorterm: Option<&str>, term: Option<&str>) -> Self {
        if no_color.is_some_and(|v| !v.is_empty()) || term == Some("dumb") {
            return ColorDepth::None;
        }
        Self::supported(colorterm)
    }

    /// What the terminal can do, for `--color always`.
    pub fn supported(colorterm: Option<&str>) -> Self {
        match colorterm {
            Some("truecolor" | "24bit") => ColorDepth::Full,
            _ => ColorDepth::Sixteen,
        }
    }
}

/// Colours and signs: everything that `--theme`, `--color` and `--ascii` decide.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Look {
    /// Plain text and the background.
    pub(super) text: Style,
    /// Labels, rules, what is old.
    pub(super) dim: Style,
    /// What stands out without being a state.
    pub(super) strong: Style,
    /// The selected view or entry.
    pub(super) selected: Style,
    pub(super) good: Style,
    pub(super) warn: Style,
    pub(super) bad: Style,
    pub(super) info: Style,
    pub(super) glyphs: Glyphs,
}

const ORANGE: Color = Color::Rgb(0xE6, 0x9F, 0x00);
const SKY_BLUE: Color = Color::Rgb(0x56, 0xB4, 0xE9);
const BLUISH_GREEN: Color = Color::Rgb(0x00, 0x9E, 0x73);
const BLUE: Color = Color::Rgb(0x00, 0x72, 0xB2);
const VERMILLION: Color = Color::Rgb(0xD5, 0x5E, 0x00);
const WHITE: Color = Color::Rgb(0xFF, 0xFF, 0xFF);
const BLACK: Color = Color::Rgb(0x00, 0x00, 0x00);

fn fg(color: Color) -> Style {
    Style::new().fg(color)
}

fn on(color: Color, background: Color) -> Style {
    Style::new().fg(color).bg(background)
}

impl Look {
    /// The look of a theme at a colour depth, with plain ASCII signs or not.
    pub fn new(theme: ThemeName, depth: ColorDepth, ascii: bool) -> Self {
        let plain = Self {
            text: Style::new(),
            dim: Style::new().add_modifier(Modifier::DIM),
            strong: Style::new().add_modifier(Modifier::BOLD),
            selected: Style::new().add_modifier(Modifier::REVERSED),
            good: Style::new(),
            warn: Style::new().add_modifier(Modifier::BOLD),
            bad: Style::new().add_modifier(Modifier::BOLD | Modifier::REVERSED),
            info: Style::new(),
            glyphs: if ascii { ASCII } else { UNICODE },
        };
        // Light backgrounds swallow orange and yellow text: there they lie under black letters instead.
        match (depth, theme) {
            (ColorDepth::None, _) => plain,
            (ColorDepth::Full, ThemeName::Dark) => Self {
                dim: fg(Color::Rgb(0x8A, 0x8A, 0x8A)),
                good: fg(BLUISH_GREEN),
                warn: fg(ORANGE).add_modifier(Modifier::BOLD),
                bad: on(BLACK, VERMILLION).add_modifier(Modifier::BOLD),
                info: fg(SKY_BLUE),
                ..plain
            },
            (ColorDepth::Full, ThemeName::Light) => Self {
                dim: fg(Color::Rgb(0x60, 0x60, 0x60)),
                good: fg(BLUE),
                warn: on(BLACK, ORANGE).add_modifier(Modifier::BOLD),
                bad: on(BLACK, VERMILLION).add_modifier(Modifier::BOLD),
                info: fg(BLUE),
                ..plain
            },
            (ColorDepth::Full, ThemeName::HighContrast) => Self {
                text: on(BLACK, WHITE),
                dim: fg(Color::Rgb(0x40, 0x40, 0x40)),
                selected: on(WHITE, BLACK).add_modifier(Modifier::BOLD),
                good: fg(BLACK),
                warn: on(BLACK, ORANGE).add_modifier(Modifier::BOLD),
                bad: on(BLACK, VERMILLION).add_modifier(Modifier::BOLD),
                info: fg(BLACK),
                ..plain
            },
            (ColorDepth::Sixteen, ThemeName::Dark) => Self {
                good: fg(Color::Green),
                warn: fg(Color::Yellow).add_modifier(Modifier::BOLD),
                bad: on(Color::White, Color::Red).add_modifier(Modifier::BOLD),
                info: fg(Color::Cyan),
                ..plain
            },
            (ColorDepth::Sixteen, ThemeName::Light) => Self {
                good: fg(Color::Blue),
                warn: on(Color::Black, Color::Yellow).add_modifier(Modifier::BOLD),
                bad: on(Color::White, Color::Red).add_modifier(Modifier::BOLD),
                info: fg(Color::Blue),
                ..plain
            },
            (ColorDepth::Sixteen, ThemeName::HighContrast) => Self {
                text: on(Color::Black, Color::White),
                dim: Style::new(),
                selected: on(Color::White, Color::Black).add_modifier(Modifier::BOLD),
                good: fg(Color::Black),
                warn: on(Color::Black, Color::Yellow).add_modifier(Modifier::BOLD),
                bad: on(Color::White, Color::Red).add_modifier(Modifier::BOLD),
                info: fg(Color::Black),
                ..plain
            },
        }
    }

    /// Colour of a bar for a state: the hue alone, without what makes letters legible.
    pub(super) fn fill(&self, style: Style) -> Style {
        match (style.bg, style.fg) {
            (Some(hue), _) | (None, Some(hue)) => fg(hue),
            (None, None) => Style::new(),
        }
    }

    /// Black on white, for a code that a camera reads.
    pub(super) fn paper(&self) -> Style {
        match self.bad.bg {
            // Without colour, the other way round is light in most terminals.
            None => Style::new().add_modifier(Modifier::REVERSED),
            Some(Color::Rgb(..)) => on(BLACK, WHITE),
            Some(_) => on(Color::Black, Color::White),
        }
    }

    /// Whether signs are plain ASCII.
    pub(super) fn is_ascii(&self) -> bool {
        self.glyphs == ASCII
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn without_colour_no_colour_is_used() {
        for theme in ThemeName::ALL {
            let look = Look::new(*theme, ColorDepth::None, false);
            for style in [
                look.text,
                look.dim,
                look.strong,
                look.selected,
                look.good,
                look.warn,
                look.bad,
                look.info,
            ] {
                assert_eq!((style.fg, style.bg), (None, None));
            }
        }
    }

    #[test]
    fn the_environment_decides_on_colour() {
        let detect = ColorDepth::detect;
        assert_eq!(
            detect(Some("1"), Some("truecolor"), Some("xterm")),
            ColorDepth::None
        );
        assert_eq!(
            detect(Some(""), Some("truecolor"), Some("xterm")),
            ColorDepth::Full
        );
        assert_eq!(detect(None, None, Some("dumb")), ColorDepth::None);
        assert_eq!(detect(None, None, Some("xterm-256color")), ColorDepth::Sixteen);
        assert_eq!(detect(None, Some("24bit"), None), ColorDepth::Full);
    }
}
