//! Several units in range: which one, by the health they advertise.

use crate::console::Command;
use crate::console::choice::{health, ordered, selected};
use crate::console::draw::Scene;
use crate::console::state::Measure;
use crate::console::widgets::page::page;
use crate::console::widgets::text::{fit, labelled, left, right};
use crate::console::words;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::text::{Line, Span};
use std::time::Duration;

/// A unit that was not heard for so long may be out of range.
const QUIET: Duration = Duration::from_secs(15);

pub(in crate::console) fn draw(scene: &Scene<'_>, area: Rect, buf: &mut Buffer) -> Measure {
    let (look, g) = (scene.look, &scene.look.glyphs);
    let columns = usize::from(area.width);
    let units = ordered(&scene.about.units);
    let here = selected(scene.state.unit.as_deref(), &units);
    let mut lines = vec![
        Line::default(),
        Line::from(vec![
            Span::styled(format!(" {} units in range", units.len()), look.strong),
            Span::styled(", those that need you first; still looking for more", look.dim),
        ]),
        Line::default(),
    ];
    let name_width = columns.saturating_sub(60).clamp(10, 24);
    let heading = format!(
        "     {} {} {} health",
        left("name", name_width),
        right("signal", 8),
        right("heard", 9)
    );
    lines.push(Line::styled(fit(&heading, columns, ""), look.dim));
    for (i, heard) in units.iter().enumerate() {
        let unit = &heard.unit;
        let age = scene.about.now - heard.at;
        let current = age <= QUIET;
        let (level, state) = health(unit);
        let name = unit.name.clone().unwrap_or_else(|| unit.id.clone());
        let signal = unit
            .rssi_dbm
            .map_or_else(|| g.dash.to_owned(), |r| format!("{r} dBm"));
        let text = format!(
            "{} {} {} ",
            left(&fit(&name, name_width, g.ellipsis), name_width),
            right(&signal, 8),
            right(&format!("{} ago", words::span(age)), 9),
        );
        let style = match (i == here, current) {
            (true, _) => look.selected,
            (false, true) => look.text,
            (false, false) => look.dim,
        };
        let room = columns.saturating_sub(text.chars().count() + 5);
        lines.push(Line::from(vec![
            Span::styled(left(if i == here { g.arrow } else { "" }, 3), look.strong),
            Span::styled(level.glyph(look), scene.shade(level.style(look), current)),
            Span::raw(" "),
            Span::styled(text, style),
            Span::styled(
                fit(&state, room, g.ellipsis),
                scene.shade(level.style(look), current),
            ),
        ]));
        // The name alone may not tell two of a kind apart.
        let same = units.iter().filter(|u| u.unit.name == unit.name).count() > 1;
        if same && unit.name.is_some() {
            lines.push(Line::styled(
                format!("       {}", fit(&unit.id, columns.saturating_sub(8), g.ellipsis)),
                look.dim,
            ));
        }
    }
    let key = |command| scene.key(command);
    let text = format!(
        "{} {} choose, {} connects. A unit that is missing: check its power, come within about 10 m, and close any \
         other program or phone that is connected to it.",
        key(Command::Up),
        key(Command::Down),
        key(Command::Enter)
    );
    lines.push(Line::default());
    lines.extend(labelled(
        Span::styled(" Do next: ", look.strong),
        10,
        &text,
        look.text,
        columns,
    ));
    // The selected row stays in sight.
    let first = (here + 6).saturating_sub(usize::from(area.height));
    page(&lines, u16::try_from(first).unwrap_or(0), area, buf, look)
}
