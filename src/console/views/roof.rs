//! The roof page: its link as a code for the phone's camera and in letters, who looks, what pages may do.

use crate::console::draw::Scene;
use crate::console::state::Measure;
use crate::console::widgets::page::page;
use crate::console::widgets::text::wrap;
use crate::console::words;
use crate::console::{Look, RoofPage};
use crate::share::qr::Picture;
use ratatui::buffer::Buffer;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::text::{Line, Span};

/// Least columns for the text beside the code.
const TEXT: u16 = 28;

pub(in crate::console) fn draw(scene: &Scene<'_>, area: Rect, buf: &mut Buffer) -> Measure {
    let look = scene.look;
    let Some(roof) = &scene.about.roof else {
        let lines = wrap(
            "The roof page is not shared. Start with --share to have the readings, and an aim, on a phone on the same \
             network.",
            usize::from(area.width).saturating_sub(2),
        );
        let lines: Vec<Line<'_>> = lines.into_iter().map(|l| Line::raw(format!(" {l}"))).collect();
        return page(&lines, scene.state.scroll, area, buf, look);
    };
    let code = Picture::of(&roof.link.for_code()).map(|picture| drawn(&picture, look));
    let room = |code: &Vec<Line<'_>>| {
        let width = code.first().map_or(0, Line::width);
        usize::from(area.height) >= code.len() && usize::from(area.width.saturating_sub(TEXT)) >= width
    };
    let Some(code) = code.filter(room) else {
        return page(
            &text(scene, roof, area.width),
            scene.state.scroll,
            area,
            buf,
            look,
        );
    };
    let width = u16::try_from(code.first().map_or(0, Line::width)).unwrap_or(0);
    let [picture, _, beside] = Layout::horizontal([
        Constraint::Length(width),
        Constraint::Length(1),
        Constraint::Min(0),
    ])
    .areas(area);
    page(&code, 0, picture, buf, look);
    page(
        &text(scene, roof, beside.width),
        scene.state.scroll,
        beside,
        buf,
        look,
    )
}

/// The code: two rows of modules to a line; with plain signs, two columns to a module.
fn drawn(picture: &Picture, look: &Look) -> Vec<Line<'static>> {
    let side = picture.side();
    let rows = if look.is_ascii() { 1 } else { 2 };
    (0..side.div_ceil(rows))
        .map(|row| {
            let module = |x: usize| -> &'static str {
                let y = row * rows;
                match (picture.is_dark(x, y), picture.is_dark(x, y + 1)) {
                    (true, _) if look.is_ascii() => "##",
                    (false, _) if look.is_ascii() => "  ",
                    (true, true) => "█",
                    (true, false) => "▀",
                    (false, true) => "▄",
                    (false, false) => " ",
                }
            };
            Line::styled((0..side).map(module).collect::<String>(), look.paper())
        })
        .collect()
}

fn text(scene: &Scene<'_>, roof: &RoofPage, columns: u16) -> Vec<Line<'static>> {
    let look = scene.look;
    let columns = usize::from(columns).saturating_sub(1).max(1);
    let mut lines = Vec::new();
    let mut say = |text: &str, style| {
        lines.extend(wrap(text, columns).into_iter().map(|l| Line::styled(l, style)));
    };
    say("Roof page", look.strong);
    say(
        "Scan the code with a phone on the same network, or type:",
        look.text,
    );
    // Without blanks there is nothing to wrap at.
    for part in roof.link.url.chars().collect::<Vec<_>>().chunks(columns) {
        say(&part.iter().collect::<String>(), look.strong);
    }
    say(
        "Whoever has this link can look. It ends with this program.",
        look.dim,
    );
    if let Some(fingerprint) = &roof.link.fingerprint {
        say(
            "The phone warns about the certificate. Its SHA-256 must be:",
            look.text,
        );
        for part in fingerprint.as_bytes().chunks((columns + 1) / 3 * 3) {
            say(String::from_utf8_lossy(part).trim_end_matches(':'), look.strong);
        }
    }
    say(allowed(roof), look.text);
    lines.push(Line::default());
    lines.extend(viewers(scene, roof));
    lines
}

fn allowed(roof: &RoofPage) -> &'static str {
    match (roof.link.permission.steps, roof.link.permission.aim_safe) {
        (true, true) => "Pages may take aiming steps, set marks and ask for aim-safe.",
        (true, false) => "Pages may take aiming steps and set marks.",
        (false, _) => "Pages may look, nothing else.",
    }
}

/// Who looks, a line each.
pub(super) fn viewers(scene: &Scene<'_>, roof: &RoofPage) -> Vec<Line<'static>> {
    let look = scene.look;
    if roof.viewers.is_empty() {
        return vec![Line::styled("Nobody looks at it now.", look.dim)];
    }
    let one = |(ip, time): &(std::net::IpAddr, std::time::Duration)| {
        Line::from(vec![
            Span::styled(format!("{} {ip}", look.glyphs.on), look.text),
            Span::styled(format!(" for {}", words::span(*time)), look.dim),
        ])
    };
    roof.viewers.iter().map(one).collect()
}
