//! Text within a width, measured in columns.

use ratatui::style::Style;
use ratatui::text::{Line, Span};

/// Columns that a text takes.
pub(in crate::console) fn width(text: &str) -> usize {
    Span::raw(text).width()
}

/// The text, cut to `columns` with an ellipsis if it is longer.
pub(in crate::console) fn fit(text: &str, columns: usize, ellipsis: &str) -> String {
    if width(text) <= columns {
        return text.to_owned();
    }
    let room = columns.saturating_sub(width(ellipsis));
    let mut kept = String::new();
    for c in text.chars() {
        kept.push(c);
        if width(&kept) > room {
            kept.pop();
            break;
        }
    }
    if columns >= width(ellipsis) {
        kept.push_str(ellipsis);
    }
    kept
}

/// The text padded with blanks to `columns`, flush left; not cut.
pub(in crate::console) fn left(text: &str, columns: usize) -> String {
    format!("{text}{}", " ".repeat(columns.saturating_sub(width(text))))
}

/// As [`left`], flush right.
pub(in crate::console) fn right(text: &str, columns: usize) -> String {
    format!("{}{text}", " ".repeat(columns.saturating_sub(width(text))))
}

/// The text in lines of at most `columns`, broken between words; a word that is longer is broken inside.
pub(in crate::console) fn wrap(text: &str, columns: usize) -> Vec<String> {
    let columns = columns.max(1);
    let mut lines = vec![String::new()];
    for word in text.split_whitespace() {
        let mut rest = word.to_owned();
        while !rest.is_empty() {
            let Some(line) = lines.last_mut() else { break };
            let gap = usize::from(!line.is_empty());
            if width(line) + gap + width(&rest) <= columns {
                line.push_str(&" ".repeat(gap));
                line.push_str(&rest);
                break;
            }
            if !line.is_empty() {
                lines.push(String::new());
                continue;
            }
            let head = fit(&rest, columns, "");
            let head = if head.is_empty() {
                rest.chars().take(1).collect()
            } else {
                head
            };
            rest = rest.split_off(head.len());
            *line = head;
            if !rest.is_empty() {
                lines.push(String::new());
            }
        }
    }
    lines
}

/// A label and a text that wraps beside it, its further lines indented to the same column.
pub(in crate::console) fn labelled(
    label: Span<'static>,
    indent: usize,
    text: &str,
    style: Style,
    columns: usize,
) -> Vec<Line<'static>> {
    let mut first = Some(label);
    wrap(text, columns.saturating_sub(indent))
        .into_iter()
        .map(|line| {
            let label = first.take().unwrap_or_default();
            let gap = " ".repeat(indent.saturating_sub(label.width()));
            Line::from(vec![label, Span::raw(gap), Span::styled(line, style)])
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn breaks_between_words() {
        assert_eq!(wrap("lower the gain of B12", 10), ["lower the", "gain of", "B12"]);
        assert_eq!(wrap("", 10), [""]);
    }

    #[test]
    fn cuts_with_an_ellipsis() {
        assert_eq!(fit("donor overload", 8, "…"), "donor o…");
        assert_eq!(fit("donor", 5, "…"), "donor");
        assert_eq!(fit("donor", 0, "…"), "");
    }

    proptest! {
        #[test]
        fn no_word_is_lost_and_no_line_is_too_long(text in "[a-zµ° 字]{0,60}", columns in 2usize..40) {
            let lines = wrap(&text, columns);
            prop_assert!(lines.iter().all(|l| width(l) <= columns));
            let letters = |s: &str| s.chars().filter(|c| !c.is_whitespace()).collect::<String>();
            prop_assert_eq!(letters(&lines.concat()), letters(&text));
        }

        #[test]
        fn what_is_cut_fits(text in ".{0,30}", columns in 0usize..40) {
            prop_assert!(width(&fit(&text, columns, "…")) <= columns);
        }
    }
}
