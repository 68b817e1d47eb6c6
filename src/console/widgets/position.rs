//! Where a recording stands: a bar over its length with the findings marked on it.

use crate::console::condition::Level;
use crate::console::surroundings::Position;
use crate::console::widgets::text::width;
use crate::console::{Look, Surroundings};
use crate::event::SessionTime;
use ratatui::text::{Line, Span};

/// The bar in a line of at most `columns`.
pub(in crate::console) fn line(
    about: &Surroundings,
    position: &Position,
    look: &Look,
    columns: usize,
) -> Line<'static> {
    let now = about.now;
    let Some(outline) = &position.outline else {
        return Line::styled(
            " looking through the recording for its length and findings",
            look.dim,
        );
    };
    let here = format!(" {now} ");
    let before = outline.findings.iter().filter(|(at, _)| *at <= now).count();
    let mut after = format!(" {}", outline.length);
    match outline.findings.len() {
        0 => after.push_str("  no findings"),
        all => after.push_str(&format!("  finding {before} of {all}")),
    }
    if let Some(speed) = about.speed.filter(|s| s.is_finite()) {
        after.push_str(&format!("  x{speed}"));
    }
    if let Some(to) = position.seeking {
        after.push_str(&format!("  going to {to}"));
    } else if about.paused {
        after.push_str("  held");
    }
    let cells = columns.saturating_sub(width(&here) + width(&after) + 3);
    let mut spans = vec![Span::styled(here, look.strong)];
    spans.extend(bar(now, outline.length, &outline.findings, cells, look));
    spans.push(Span::styled(after, look.dim));
    Line::from(spans)
}

fn bar(
    now: SessionTime,
    length: SessionTime,
    findings: &[(SessionTime, crate::analysis::Severity)],
    cells: usize,
    look: &Look,
) -> Vec<Span<'static>> {
    let g = &look.glyphs;
    if cells < 4 {
        return Vec::new();
    }
    let cell = |at: SessionTime| {
        let share = at.seconds() / length.seconds().max(1e-6);
        ((share * cells as f64) as usize).min(cells - 1)
    };
    let mut marks: Vec<Option<Level>> = vec![None; cells];
    for (at, severity) in findings {
        let mark = &mut marks[cell(*at)];
        *mark = (*mark).max(Some(Level::from(*severity)));
    }
    let here = cell(now);
    let mut spans = vec![Span::styled(g.ends[0], look.dim)];
    for (i, mark) in marks.into_iter().enumerate() {
        spans.push(match mark {
            Some(level) => Span::styled(level.glyph(look), level.style(look)),
            None if i <= here => Span::styled(g.full, look.strong),
            None => Span::styled(g.empty, look.dim),
        });
    }
    spans.push(Span::styled(g.ends[1], look.dim));
    spans
}
