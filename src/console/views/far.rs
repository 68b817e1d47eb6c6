//! Far: one value in letters as large as the screen, a bar and a word, to be read from across a room.

use super::waiting;
use crate::console::condition::{age, is_current};
use crate::console::draw::Scene;
use crate::console::state::Measure;
use crate::console::update::shown_band;
use crate::console::widgets::big::big;
use crate::console::widgets::level_bar::LevelBar;
use crate::console::widgets::page::page;
use crate::console::words;
use ratatui::buffer::Buffer;
use ratatui::layout::{Alignment, Constraint, Layout, Rect};
use ratatui::text::{Line, Span};

pub(in crate::console) fn draw(scene: &Scene<'_>, area: Rect, buf: &mut Buffer) -> Measure {
    let (fold, look, quantity) = (scene.fold, scene.look, scene.state.quantity);
    let reading = shown_band(scene.state, fold).and_then(|p| fold.bands().get(p)?.latest);
    let Some(reading) = reading else {
        let mut lines = vec![Line::default()];
        lines.extend(waiting::lines(scene, usize::from(area.width)));
        return page(&lines, scene.state.scroll, area, buf, look);
    };
    let position = reading.position;
    let current = is_current(fold, position, scene.about.now);
    let value = quantity.of(&reading);
    let (level, word) = quantity.stands(fold, &reading);
    let style = scene.shade(level.style(look), current);
    let [title, number, bar, verdict] = Layout::vertical([
        Constraint::Length(1),
        Constraint::Min(0),
        Constraint::Length(1),
        Constraint::Length(1),
    ])
    .areas(area);

    let name = fold.telemetry().identity().name(position);
    let title_text = format!("{name} {} in {}", quantity.name(), quantity.unit());
    page(
        &[Line::styled(title_text, look.strong).alignment(Alignment::Center)],
        0,
        title,
        buf,
        look,
    );

    let ink = if look.is_ascii() { "#" } else { look.glyphs.full };
    let text = words::number(value, &look.glyphs);
    let letters = big(&text, usize::from(number.width), usize::from(number.height), ink);
    let above = usize::from(number.height).saturating_sub(letters.len()) / 2;
    let mut lines = vec![Line::default(); above];
    let fill = if current {
        look.fill(level.style(look))
    } else {
        look.dim
    };
    lines.extend(
        letters
            .into_iter()
            .map(|l| Line::styled(l, fill).alignment(Alignment::Center)),
    );
    page(&lines, 0, number, buf, look);

    let level_bar = LevelBar {
        value,
        scale: quantity.scale(),
        limits: quantity.limits(fold, position),
        style: fill,
    };
    page(
        &[Line::from(level_bar.spans(usize::from(bar.width), look))],
        0,
        bar,
        buf,
        look,
    );

    let mut said = Vec::new();
    match age(fold, position, scene.about.now) {
        Some(age) if !current => said.push(Span::styled(format!("{} old", words::span(age)), look.warn)),
        _ if word.is_empty() => {}
        _ => said.push(Span::styled(format!(" {} {word} ", level.glyph(look)), style)),
    }
    page(
        &[Line::from(said).alignment(Alignment::Center)],
        0,
        verdict,
        buf,
        look,
    );
    Measure::default()
}
