//! Findings: what is wrong or was, since when, with proof and remedies; and what could not be judged.

use crate::analysis::{Finding, NotJudged};
use crate::console::condition::Level;
use crate::console::draw::Scene;
use crate::console::entries::{Entry, entries};
use crate::console::state::Measure;
use crate::console::update::selected;
use crate::console::widgets::page::page;
use crate::console::widgets::text::{fit, labelled, left};
use crate::console::words;
use ratatui::buffer::Buffer;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::text::{Line, Span};

/// From this width on, list and details stand side by side.
const SIDE_BY_SIDE: u16 = 120;
/// Column that details start in beside their labels.
const INDENT: usize = 11;

pub(in crate::console) fn draw(scene: &Scene<'_>, area: Rect, buf: &mut Buffer) -> Measure {
    let all = entries(scene.fold);
    if all.is_empty() {
        let text = format!(" {} No finding so far.", scene.look.glyphs.dot);
        return page(&[Line::default(), Line::raw(text)], 0, area, buf, scene.look);
    }
    let here = selected(scene.state, &all);
    let areas = if area.width >= SIDE_BY_SIDE {
        Layout::horizontal([Constraint::Length(58), Constraint::Length(1), Constraint::Min(0)]).areas(area)
    } else {
        let wanted = u16::try_from(all.len())
            .unwrap_or(u16::MAX)
            .min(area.height / 3)
            .max(1);
        Layout::vertical([
            Constraint::Length(wanted),
            Constraint::Length(1),
            Constraint::Min(0),
        ])
        .areas(area)
    };
    let [list, between, details] = areas;
    let rows: Vec<Line<'_>> = all
        .iter()
        .enumerate()
        .map(|(i, entry)| row(scene, entry, i == here, usize::from(list.width)))
        .collect();
    // The selected row stays in sight with one before and after it.
    let first = here.saturating_sub(usize::from(list.height.saturating_sub(2)));
    page(
        &rows,
        u16::try_from(first).unwrap_or(u16::MAX),
        list,
        buf,
        scene.look,
    );
    let g = &scene.look.glyphs;
    let rule = if area.width >= SIDE_BY_SIDE {
        g.column
    } else {
        g.rule
    };
    for position in between.positions() {
        if let Some(cell) = buf.cell_mut(position) {
            cell.set_symbol(rule).set_style(scene.look.dim);
        }
    }
    let lines = all
        .get(here)
        .map(|e| describe(scene, e, usize::from(details.width)))
        .unwrap_or_default();
    page(&lines, scene.state.scroll, details, buf, scene.look)
}

fn row(scene: &Scene<'_>, entry: &Entry<'_>, selected: bool, columns: usize) -> Line<'static> {
    let look = scene.look;
    let g = &look.glyphs;
    let identity = scene.fold.telemetry().identity();
    let (glyph, style, title, place, when) = match entry {
        Entry::Open(f) => {
            let level = Level::from(f.severity);
            let when = format!("for {}", words::span(scene.about.now - f.raised));
            (
                level.glyph(look),
                level.style(look),
                words::title(f.code),
                words::short_subject(f.subject, identity),
                when,
            )
        }
        Entry::Past(f) => {
            let when = format!("past {} {} {}", f.raised, g.dash, f.cleared.unwrap_or(f.raised));
            (
                g.off,
                look.dim,
                words::title(f.code),
                words::short_subject(f.subject, identity),
                when,
            )
        }
        Entry::NotJudged(n) => (
            g.dash,
            look.dim,
            words::title(n.code),
            n.band.map_or("unit", |b| identity.name(b)).to_owned(),
            "not judged".to_owned(),
        ),
    };
    let pointer = if selected { g.arrow } else { "" };
    let text = format!("{} {}  {when}", left(&title, 20), left(&place, 8));
    let text = fit(&text, columns.saturating_sub(6), g.ellipsis);
    let text = left(&text, columns.saturating_sub(6));
    let rest = if selected {
        look.selected
    } else if matches!(entry, Entry::Open(_)) {
        look.text
    } else {
        look.dim
    };
    Line::from(vec![
        Span::styled(left(pointer, 3), look.strong),
        Span::styled(glyph, style),
        Span::raw(" "),
        Span::styled(text, rest),
    ])
}

fn describe(scene: &Scene<'_>, entry: &Entry<'_>, columns: usize) -> Vec<Line<'static>> {
    match entry {
        Entry::Open(f) | Entry::Past(f) => finding(scene, f, columns),
        Entry::NotJudged(n) => not_judged(scene, *n, columns),
    }
}

fn not_judged(scene: &Scene<'_>, n: NotJudged, columns: usize) -> Vec<Line<'static>> {
    let look = scene.look;
    let identity = scene.fold.telemetry().identity();
    let name = n.band.map_or("The unit", |b| identity.name(b));
    let mut lines = vec![Line::styled(
        format!(" {name}: {} is not judged", words::title(n.code)),
        look.strong,
    )];
    let text = format!(
        "The unit does not report {}. That nothing is shown does not mean that all is well.",
        n.missing
    );
    lines.extend(labelled(Span::raw(" "), 1, &text, look.text, columns));
    lines
}

fn finding(scene: &Scene<'_>, f: &Finding, columns: usize) -> Vec<Line<'static>> {
    let look = scene.look;
    let g = &look.glyphs;
    let level = Level::from(f.severity);
    let since = match f.cleared {
        None => format!(
            "since {}, for {}",
            f.raised,
            words::span(scene.about.now - f.raised)
        ),
        Some(cleared) => format!(
            "from {} to {cleared}, {}",
            f.raised,
            words::span(cleared - f.raised)
        ),
    };
    let place = words::subject(f.subject, scene.fold.telemetry().identity());
    let mut lines = vec![Line::from(vec![
        Span::raw(" "),
        Span::styled(
            format!("{} {}", level.glyph(look), words::heading(f)),
            level.style(look),
        ),
        Span::raw(format!("  {place}  ")),
        Span::styled(since, look.dim),
    ])];
    lines.extend(labelled(Span::raw(" "), 1, &f.meaning, look.strong, columns));
    let mut part = |label: &'static str, text: &str, style| {
        lines.extend(labelled(
            Span::styled(label, look.dim),
            INDENT,
            text,
            style,
            columns,
        ));
    };
    part(" proof", &words::proof(f, look.is_ascii()), look.text);
    for (i, cause) in f.causes.iter().enumerate() {
        part(
            if i == 0 { " causes" } else { "" },
            &format!("{}. {cause}", i + 1),
            look.text,
        );
    }
    for (i, remedy) in f.remedies.iter().enumerate() {
        let label = match i {
            0 => " do first",
            _ => " then",
        };
        part(label, &remedy.action, look.strong);
        if let Some(effect) = remedy.effect_words() {
            part("   brings", &effect, look.text);
        }
        if let Some(cost) = &remedy.cost {
            part("   costs", cost, look.text);
        }
        if let Some(caution) = &remedy.caution {
            part("   caution", &format!("{} {caution}", g.warn), look.text);
        }
    }
    lines
}
