//! Aim: what to do with the antenna in large words, the level now, and what was found so far around the compass.

mod plot;
mod said;

use crate::console::draw::Scene;
use crate::console::state::Measure;
use crate::console::widgets::page::page;
use crate::console::widgets::text::labelled;
use ratatui::buffer::Buffer;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::text::{Line, Span};

/// Without an aim.
const NONE: &str = "No aim in this session. Start one with: loopmargin aim --stops 8 (the number of fixed stops of the mount), or \
                    --bearings 0,30,60 where it turns freely.";

pub(in crate::console) fn draw(scene: &Scene<'_>, area: Rect, buf: &mut Buffer) -> Measure {
    let look = scene.look;
    if scene.fold.aim().plan().is_none() {
        let columns = usize::from(area.width).saturating_sub(2);
        let mut lines = vec![Line::default()];
        lines.extend(labelled(Span::raw(" "), 1, NONE, look.text, columns));
        return page(&lines, scene.state.scroll, area, buf, look);
    }
    let plot_columns = (area.height * 2).min(area.width * 11 / 20).min(90);
    let [left, _, right] = Layout::horizontal([
        Constraint::Length(plot_columns),
        Constraint::Length(1),
        Constraint::Min(0),
    ])
    .areas(area);
    plot::draw(scene, left, buf);
    page(&said::lines(scene, right), 0, right, buf, look);
    Measure::default()
}
