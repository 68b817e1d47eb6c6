//! The help screen, built from the table of keys.

use crate::console::draw::Scene;
use crate::console::keys::BINDINGS;
use crate::console::state::Measure;
use crate::console::widgets::page::page;
use crate::console::widgets::text::left;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::text::{Line, Span};

pub(in crate::console) fn draw(scene: &Scene<'_>, area: Rect, buf: &mut Buffer) -> Measure {
    let look = scene.look;
    let mut lines = Vec::new();
    for binding in BINDINGS {
        let keys: Vec<String> = binding.keys.iter().map(|k| k.label(look.is_ascii())).collect();
        lines.push(Line::from(vec![
            Span::styled(left(&format!("  {}", keys.join("  ")), 20), look.strong),
            Span::raw(binding.help),
        ]));
    }
    page(&lines, scene.state.scroll, area, buf, look)
}
