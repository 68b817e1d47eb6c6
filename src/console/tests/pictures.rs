//! Pictures of the screens for the README, drawn by the console itself. A picture that no longer looks like its screen
//! fails; `UPDATE_PICTURES=1 cargo test -p loopmargin --lib pictures` draws it anew.

use super::support::{Aiming, Session, drawn};
use crate::console::{ColorDepth, Look, State, ThemeName, View};
use ratatui::buffer::{Buffer, Cell};
use ratatui::style::{Color, Modifier};
use std::fmt::Write;
use std::path::Path;

/// Size of a character cell, in units of the picture.
const CELL: (u32, u32) = (8, 17);
const PAPER: &str = "#16181d";
const INK: &str = "#d8dbe2";

fn hex(color: Color, plain: &str) -> String {
    match color {
        Color::Rgb(r, g, b) => format!("#{r:02x}{g:02x}{b:02x}"),
        _ => plain.to_owned(),
    }
}

/// Colour of letters and of what lies behind them; `None` behind them: the paper.
fn colors(cell: &Cell) -> (String, Option<String>) {
    let fg = hex(cell.fg, INK);
    let bg = (cell.bg != Color::Reset).then(|| hex(cell.bg, PAPER));
    if cell.modifier.contains(Modifier::REVERSED) {
        (bg.unwrap_or_else(|| PAPER.to_owned()), Some(fg))
    } else {
        (fg, bg)
    }
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('>', "&gt;")
}

/// The buffer as a picture: a rectangle behind each run of one background, a text for each run of one style.
fn svg(buffer: &Buffer, title: &str) -> String {
    let (w, h) = (u32::from(buffer.area.width), u32::from(buffer.area.height));
    let (width, height) = (w * CELL.0 + 16, h * CELL.1 + 16);
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {width} {height}\" width=\"{width}\" height=\"{height}\" \
         role=\"img\" font-family=\"'DejaVu Sans Mono','Noto Sans Mono',Menlo,Consolas,monospace\" font-size=\"13\">\n\
         <title>{}</title>\n<rect width=\"100%\" height=\"100%\" rx=\"6\" fill=\"{PAPER}\"/>\n",
        escaped(title)
    );
    for y in 0..buffer.area.height {
        let mut x = 0;
        while x < buffer.area.width {
            let first = &buffer[(x, y)];
            let same = |c: &Cell| colors(c) == colors(first) && c.modifier == first.modifier;
            let end = (x..buffer.area.width)
                .find(|i| !same(&buffer[(*i, y)]))
                .unwrap_or(buffer.area.width);
            let text: String = (x..end).map(|i| buffer[(i, y)].symbol()).collect();
            let (fg, bg) = colors(first);
            let (left, top) = (8 + u32::from(x) * CELL.0, 8 + u32::from(y) * CELL.1);
            let columns = u32::from(end - x) * CELL.0;
            if let Some(bg) = bg {
                let _ = writeln!(
                    out,
                    "<rect x=\"{left}\" y=\"{top}\" width=\"{columns}\" height=\"{}\" fill=\"{bg}\"/>",
                    CELL.1
                );
            }
            if !text.trim().is_empty() {
                let bold = if first.modifier.contains(Modifier::BOLD) {
                    " font-weight=\"bold\""
                } else {
                    ""
                };
                let dim = if first.modifier.contains(Modifier::DIM) {
                    " opacity=\"0.6\""
                } else {
                    ""
                };
                let _ = writeln!(
                    out,
                    "<text x=\"{left}\" y=\"{}\" fill=\"{fg}\"{bold}{dim} textLength=\"{columns}\" lengthAdjust=\"spacingAndGlyphs\" xml:space=\"preserve\">{}</text>",
                    top + 13,
                    escaped(&text)
                );
            }
            x = end;
        }
    }
    out.push_str("</svg>\n");
    out
}

#[test]
fn pictures_of_the_readme_are_those_of_the_screens() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("docs/pictures");
    let update = std::env::var_os("UPDATE_PICTURES").is_some();
    let look = Look::new(ThemeName::Dark, ColorDepth::Full, false);
    let troubled = Session::troubled();
    let aiming = Session::aiming(Aiming::Holding);
    let pictures = [
        ("bands", View::Bands, &troubled, 24),
        ("findings", View::Findings, &troubled, 24),
        ("trace", View::Trace, &troubled, 20),
        ("link", View::Link, &troubled, 24),
        ("far", View::Far, &troubled, 20),
        ("aim", View::Aim, &aiming, 24),
    ];
    for (name, view, session, rows) in pictures {
        let state = State {
            band: (view != View::Aim).then_some(2),
            history: session.history.clone(),
            ..State::new(view)
        };
        let picture = svg(&drawn(session, &state, &look, (90, rows)), view.title());
        let file = folder.join(format!("{name}.svg"));
        if update {
            std::fs::create_dir_all(&folder).unwrap();
            std::fs::write(&file, picture).unwrap();
            continue;
        }
        let kept = std::fs::read_to_string(&file).unwrap_or_default();
        assert!(
            kept == picture,
            "{name} has changed: UPDATE_PICTURES=1 draws it anew; look at it then"
        );
    }
}
