//! The help screen, built from the keys in effect: what means something here first, then the rest.

use crate::console::Binding;
use crate::console::draw::Scene;
use crate::console::state::Measure;
use crate::console::widgets::page::page;
use crate::console::widgets::text::left;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::text::{Line, Span};

pub(in crate::console) fn draw(scene: &Scene<'_>, area: Rect, buf: &mut Buffer) -> Measure {
    let look = scene.look;
    let (view, kind) = (scene.state.view, scene.about.kind);
    let place = |b: &Binding| match (b.with.holds(kind) && b.holds_in(view), b.within) {
        (true, true) => 0,
        (true, false) => 1,
        (false, _) => 2,
    };
    let mut lines = Vec::new();
    for wanted in 0..=2 {
        let title = ["Here", "Everywhere", "Elsewhere"][wanted];
        let rows: Vec<_> = scene
            .state
            .keys
            .rows()
            .filter(|(b, _)| place(b) == wanted)
            .collect();
        if rows.is_empty() {
            continue;
        }
        lines.push(Line::styled(format!(" {title}"), look.dim));
        for (binding, keys) in rows {
            let keys: Vec<String> = keys.iter().map(|k| k.label(look.is_ascii())).collect();
            lines.push(Line::from(vec![
                Span::styled(left(&format!("  {}", keys.join("  ")), 20), look.strong),
                Span::raw(binding.help),
            ]));
        }
    }
    page(&lines, scene.state.scroll, area, buf, look)
}
