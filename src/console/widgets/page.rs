//! A column of lines that may be longer than its area.

use crate::console::Look;
use crate::console::state::Measure;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::text::{Line, Span};
use ratatui::widgets::Widget;

/// Draws the lines from `scroll` on. If there is more above or below, the last column says so.
pub(in crate::console) fn page(
    lines: &[Line<'_>],
    scroll: u16,
    area: Rect,
    buf: &mut Buffer,
    look: &Look,
) -> Measure {
    let length = u16::try_from(lines.len()).unwrap_or(u16::MAX);
    let furthest = length.saturating_sub(area.height);
    let scroll = scroll.min(furthest);
    for (line, row) in lines.iter().skip(usize::from(scroll)).zip(area.rows()) {
        line.render(row, buf);
    }
    let marks = [
        (scroll > 0, area.top(), look.glyphs.more[0]),
        (
            scroll < furthest,
            area.bottom().saturating_sub(1),
            look.glyphs.more[1],
        ),
    ];
    for (there_is_more, y, glyph) in marks {
        if there_is_more && !area.is_empty() {
            Span::styled(glyph, look.strong).render(Rect::new(area.right() - 1, y, 1, 1), buf);
        }
    }
    Measure {
        furthest,
        page: area.height.saturating_sub(1),
        panel: 0,
    }
}
