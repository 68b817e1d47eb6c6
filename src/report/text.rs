//! Numbers, times and other people's words in the document.

use crate::event::SessionTime;
use maud::{Markup, html};
use std::time::Duration;

/// Words that came from a person or a unit: isolated, so that their writing direction cannot upset what stands beside
/// them, and without control characters, which HTML does not allow. Escaping is the template's business.
pub(super) fn said(text: &str) -> Markup {
    html! { bdi { (clean(text)) } }
}

/// The text without what HTML does not allow: control characters, noncharacters.
pub(super) fn clean(text: &str) -> String {
    let allowed = |c: char| {
        !c.is_control() && (u32::from(c) & 0xFFFE) != 0xFFFE && !('\u{FDD0}'..='\u{FDEF}').contains(&c)
    };
    text.chars().map(|c| if allowed(c) { c } else { ' ' }).collect()
}

/// What somebody said, or that nobody did.
pub(super) fn said_or_not(text: Option<&str>) -> Markup {
    match text.map(str::trim).filter(|t| !t.is_empty()) {
        Some(text) => said(text),
        None => html! { span.none { "not stated" } },
    }
}

/// A number with a true minus sign; tenths only where there are any.
pub(super) fn number(value: f64) -> String {
    let text = format!("{value:.1}");
    let text = text.strip_suffix(".0").unwrap_or(&text);
    let text = if text == "-0" { "0" } else { text };
    text.replace('-', "−")
}

/// A number with one decimal, for columns.
pub(super) fn tenths(value: f64) -> String {
    let text = format!("{value:.1}");
    let text = if text == "-0.0" { "0.0" } else { &text };
    text.replace('-', "−")
}

/// As [`tenths`], with its sign.
pub(super) fn change(value: f64) -> String {
    let text = format!("{value:+.1}");
    let text = if text == "-0.0" { "+0.0" } else { &text };
    text.replace('-', "−")
}

/// A value with its unit, or a dash that is read as what it means.
pub(super) fn or_unknown(value: Option<String>) -> Markup {
    match value {
        Some(text) => html! { (text) },
        None => html! { span.none title="not known" { "–" } },
    }
}

/// Time since the beginning of the session: `0:05`, `12:30`, `1:02:03`.
pub(super) fn time(at: SessionTime) -> String {
    clock(at.0 / 1_000_000)
}

fn clock(s: u64) -> String {
    match (s / 3600, s / 60 % 60, s % 60) {
        (0, m, s) => format!("{m}:{s:02}"),
        (h, m, s) => format!("{h}:{m:02}:{s:02}"),
    }
}

/// A length of time in one or two units.
pub(super) fn span(d: Duration) -> String {
    let s = d.as_secs();
    match s {
        0..60 => format!("{s} s"),
        60..3_600 if s.is_multiple_of(60) => format!("{} min", s / 60),
        60..3_600 => format!("{} min {} s", s / 60, s % 60),
        _ => format!("{} h {} min", s / 3_600, s / 60 % 60),
    }
}

/// A count with its noun: `1 reading`, `2 readings`, `3 entries`.
pub(super) fn count(n: u64, noun: &str) -> String {
    match (n, noun.strip_suffix('y')) {
        (1, _) => format!("1 {noun}"),
        (n, Some(stem)) => format!("{n} {stem}ies"),
        (n, None) => format!("{n} {noun}s"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_have_a_true_minus_and_no_negative_zero() {
        assert_eq!([number(-97.0), number(-0.04), number(3.25)], ["−97", "0", "3.2"]);
        assert_eq!([tenths(-97.0), tenths(-0.04)], ["−97.0", "0.0"]);
        assert_eq!(
            [change(2.0), change(-2.04), change(-0.01)],
            ["+2.0", "−2.0", "+0.0"]
        );
    }

    #[test]
    fn words_of_others_cannot_leave_their_place() {
        let text = said("<b>&\"'\u{0}\u{7}\u{FFFE}x\u{202E}").into_string();
        assert_eq!(text, "<bdi>&lt;b&gt;&amp;&quot;'   x\u{202E}</bdi>");
    }

    #[test]
    fn times_read_as_on_a_stopwatch() {
        let t = |s: u64| time(SessionTime(s * 1_000_000));
        assert_eq!([t(5), t(750), t(3_723)], ["0:05", "12:30", "1:02:03"]);
        let s = |s| span(Duration::from_secs(s));
        assert_eq!(
            [s(5), s(60), s(90), s(3_700)],
            ["5 s", "1 min", "1 min 30 s", "1 h 1 min"]
        );
    }
}
