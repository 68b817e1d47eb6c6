//! A bar for a level, with the limits that matter marked on it.

use crate::console::Look;
use ratatui::style::{Modifier, Style};
use ratatui::text::Span;

/// A bar between two ends of a scale.
#[derive(Clone, Copy, Debug)]
pub(in crate::console) struct LevelBar {
    /// The level; `None`: not known, the bar stays empty.
    pub(in crate::console) value: Option<f64>,
    /// Ends of the scale, in the unit of the value.
    pub(in crate::console) scale: (f64, f64),
    /// Lower and upper limit.
    pub(in crate::console) limits: [Option<f64>; 2],
    /// Colour of the bar.
    pub(in crate::console) style: Style,
}

impl LevelBar {
    /// Eighths of a cell from the lower end, 0 to 8 × `cells`.
    fn eighths(&self, value: f64, cells: usize) -> usize {
        let (low, high) = self.scale;
        let share = ((value - low) / (high - low)).clamp(0.0, 1.0);
        let eighths = share * (cells * 8) as f64;
        // A scale without extent, or a value that is not a number, gives nothing to show.
        if eighths.is_finite() {
            eighths.round() as usize
        } else {
            0
        }
    }

    /// The bar in `columns` columns, ends included.
    pub(in crate::console) fn spans(&self, columns: usize, look: &Look) -> Vec<Span<'static>> {
        let g = &look.glyphs;
        let cells = columns.saturating_sub(2);
        if cells == 0 {
            return vec![Span::raw(" ".repeat(columns))];
        }
        let filled = self.value.map_or(0, |v| self.eighths(v, cells));
        let limit_at = self
            .limits
            .map(|limit| limit.map(|v| (self.eighths(v, cells) / 8).min(cells - 1)));
        let mut spans = vec![Span::styled(g.ends[0], look.dim)];
        for cell in 0..cells {
            let part = filled.saturating_sub(cell * 8);
            let mark = (0..2)
                .rev()
                .find(|i| limit_at[*i] == Some(cell))
                .map(|i| g.limits[i]);
            spans.push(match (mark, part) {
                (Some(mark), 4..) => Span::styled(mark, self.style.add_modifier(Modifier::REVERSED)),
                (Some(mark), _) => Span::styled(mark, look.strong),
                (None, 8..) => Span::styled(g.full, self.style),
                (None, _) => match part.checked_sub(1).and_then(|p| g.parts.get(p)) {
                    Some(part) => Span::styled(*part, self.style),
                    None if part >= 4 => Span::styled(g.full, self.style),
                    None => Span::styled(g.empty, look.dim),
                },
            });
        }
        spans.push(Span::styled(g.ends[1], look.dim));
        spans
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::console::{ColorDepth, ThemeName};
    use proptest::prelude::*;

    fn drawn(value: Option<f64>, limits: [Option<f64>; 2], columns: usize, ascii: bool) -> String {
        let look = Look::new(ThemeName::Dark, ColorDepth::None, ascii);
        let bar = LevelBar {
            value,
            scale: (-100.0, -20.0),
            limits,
            style: Style::new(),
        };
        bar.spans(columns, &look)
            .iter()
            .map(|s| s.content.to_string())
            .collect()
    }

    #[test]
    fn a_level_stands_where_it_belongs_between_its_limits() {
        assert_eq!(
            drawn(Some(-60.0), [Some(-90.0), Some(-30.0)], 10, true),
            "[=<==...>]"
        );
        assert_eq!(drawn(Some(-55.0), [None, None], 10, false), "▕████▌···▏");
    }

    #[test]
    fn an_unknown_level_fills_nothing() {
        assert_eq!(drawn(None, [None, Some(-30.0)], 10, true), "[.......>]");
    }

    #[test]
    fn off_the_scale_is_full_or_empty() {
        assert_eq!(drawn(Some(10.0), [None, None], 6, true), "[====]");
        assert_eq!(drawn(Some(-150.0), [None, None], 6, true), "[....]");
        assert_eq!(drawn(Some(f64::NAN), [None, None], 6, true), "[....]");
    }

    proptest! {
        #[test]
        fn always_takes_the_columns_it_was_given(v in -200.0f64..50.0, a in -200.0f64..50.0, columns in 0usize..60) {
            prop_assert_eq!(drawn(Some(v), [Some(a), Some(-25.0)], columns, false).chars().count(), columns);
        }
    }
}
