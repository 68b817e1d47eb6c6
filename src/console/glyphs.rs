//! Signs beside the words. A state is always a word, a sign and a colour: any one of them may be lost.
//!
//! Only signs that are one column wide in every terminal; none that some fonts draw as a picture.

/// A set of signs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Glyphs {
    /// As it should be.
    pub(super) good: &'static str,
    /// Should be put right.
    pub(super) warn: &'static str,
    /// Must be put right now.
    pub(super) bad: &'static str,
    /// Worth knowing.
    pub(super) info: &'static str,
    /// Running.
    pub(super) on: &'static str,
    /// Not running.
    pub(super) off: &'static str,
    /// Between things in a line.
    pub(super) dot: &'static str,
    /// From … to.
    pub(super) dash: &'static str,
    /// Something follows from this.
    pub(super) arrow: &'static str,
    /// A horizontal line.
    pub(super) rule: &'static str,
    /// A vertical line between columns.
    pub(super) column: &'static str,
    /// After an angle.
    pub(super) degree: &'static str,
    /// Minus or plus a tolerance.
    pub(super) ellipsis: &'static str,
    /// More above and below.
    pub(super) more: [&'static str; 2],
    /// Both ends of a bar.
    pub(super) ends: [&'static str; 2],
    /// A full cell of a bar, and parts of one from one eighth up; no parts in ASCII.
    pub(super) full: &'static str,
    pub(super) parts: &'static [&'static str],
    /// An empty cell of a bar.
    pub(super) empty: &'static str,
    /// Limits marked on a bar: lower, upper.
    pub(super) limits: [&'static str; 2],
}

pub(super) const UNICODE: Glyphs = Glyphs {
    good: "✓",
    warn: "▲",
    bad: "✗",
    info: "i",
    on: "●",
    off: "○",
    dot: "·",
    dash: "–",
    arrow: "→",
    rule: "─",
    column: "│",
    degree: "°",
    ellipsis: "…",
    more: ["↑", "↓"],
    ends: ["▕", "▏"],
    full: "█",
    parts: &["▏", "▎", "▍", "▌", "▋", "▊", "▉"],
    empty: "·",
    limits: ["┊", "┃"],
};

pub(super) const ASCII: Glyphs = Glyphs {
    good: "+",
    warn: "!",
    bad: "X",
    info: "i",
    on: "*",
    off: "o",
    dot: "|",
    dash: "-",
    arrow: "->",
    rule: "-",
    column: "|",
    degree: " deg",
    ellipsis: "...",
    more: ["^", "v"],
    ends: ["[", "]"],
    full: "=",
    parts: &[],
    empty: ".",
    limits: ["<", ">"],
};

#[cfg(test)]
mod tests {
    use super::*;
    use ratatui::text::Span;

    fn all(g: Glyphs) -> Vec<&'static str> {
        let one = [
            g.good, g.warn, g.bad, g.info, g.on, g.off, g.dot, g.dash, g.rule, g.column, g.full, g.empty,
        ];
        [&one[..], &g.more, &g.ends, g.parts, &g.limits].concat()
    }

    #[test]
    fn every_sign_takes_one_column() {
        for sign in [all(UNICODE), all(ASCII)].concat() {
            assert_eq!(Span::raw(sign).width(), 1, "{sign}");
        }
    }

    #[test]
    fn the_plain_set_is_plain() {
        for sign in all(ASCII)
            .iter()
            .chain(&[ASCII.arrow, ASCII.ellipsis, ASCII.degree])
        {
            assert!(sign.is_ascii(), "{sign}");
        }
    }

    #[test]
    fn states_differ_by_sign_alone() {
        for g in [UNICODE, ASCII] {
            let states = [g.good, g.warn, g.bad, g.info, g.on, g.off];
            for (i, sign) in states.iter().enumerate() {
                assert!(!states[..i].contains(sign), "{sign}");
            }
        }
    }
}
