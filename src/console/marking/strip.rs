//! The entry line as drawn: three rows under the values.

use super::{Field, Marking};
use crate::console::Look;
use crate::console::widgets::text::{fit, width};
use ratatui::text::{Line, Span};

/// Fields of each row.
const ROWS: [&[Field]; 3] = [
    &[Field::Stage, Field::Room],
    &[Field::Level, Field::Quality, Field::Call, Field::Upload],
    &[Field::Note],
];

/// What the keys do while the line is open, for the help line.
pub(in crate::console) fn keys(ascii: bool) -> &'static str {
    if ascii {
        " Up Down field   Left Right change, or type   Enter save   Esc leave"
    } else {
        " ↑ ↓ field   ← → change, or type   Enter save   Esc leave"
    }
}

impl Marking {
    /// The rows, each of at most `columns`; none while the line is closed.
    pub(in crate::console) fn lines(&self, columns: usize, look: &Look) -> Vec<Line<'static>> {
        if !self.is_open() {
            return Vec::new();
        }
        let title = ["Mark", "", ""];
        ROWS.iter()
            .zip(title)
            .map(|(fields, title)| {
                let mut spans = vec![Span::styled(format!(" {title:<4}"), look.strong)];
                for field in *fields {
                    let used: usize = spans.iter().map(Span::width).sum();
                    let label = format!("  {} ", field.name());
                    let room = columns.saturating_sub(used + width(&label));
                    spans.push(Span::styled(label, look.dim));
                    spans.push(self.value(*field, room, look));
                }
                Line::from(spans)
            })
            .collect()
    }

    /// What stands in a field; of a text that is too long its end, where the next letter goes.
    fn value(&self, field: Field, columns: usize, look: &Look) -> Span<'static> {
        let here = field == self.field();
        let text = match self.text(field) {
            Some(text) if here && width(&text) + 2 > columns => {
                let tail: String = text.chars().rev().take(columns.saturating_sub(3)).collect();
                format!(
                    "{}{}",
                    look.glyphs.ellipsis,
                    tail.chars().rev().collect::<String>()
                )
            }
            Some(text) => fit(&text, columns.saturating_sub(2), look.glyphs.ellipsis),
            None => look.glyphs.dash.to_owned(),
        };
        // Brackets: the chosen field shows without any colour too.
        if here {
            Span::styled(format!("[{text}]"), look.selected)
        } else {
            Span::styled(format!(" {text} "), look.text)
        }
    }
}
