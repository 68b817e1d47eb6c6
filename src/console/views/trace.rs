//! Trace: how a value of a band went over time, with the findings of the band below it.

use super::waiting;
use crate::analysis::Finding;
use crate::console::condition::Level;
use crate::console::draw::Scene;
use crate::console::keys::Command;
use crate::console::state::Measure;
use crate::console::update::shown_band;
use crate::console::widgets::curve;
use crate::console::widgets::page::page;
use crate::console::widgets::text::{left, right};
use crate::event::SessionTime;
use ratatui::buffer::Buffer;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::text::{Line, Span};

/// Columns of the figures beside the scale.
const FIGURES: u16 = 7;
/// Least extent of the scale, so that a steady value does not look wild.
const LEAST_EXTENT: f64 = 10.0;

pub(in crate::console) fn draw(scene: &Scene<'_>, area: Rect, buf: &mut Buffer) -> Measure {
    let look = scene.look;
    let shown = shown_band(scene.state, scene.fold).filter(|p| scene.state.history.oldest(*p).is_some());
    let Some(position) = shown else {
        let mut lines = vec![Line::default()];
        lines.extend(waiting::lines(scene, usize::from(area.width)));
        return page(&lines, scene.state.scroll, area, buf, look);
    };
    let [title, middle, marks, axis] = Layout::vertical([
        Constraint::Length(1),
        Constraint::Min(0),
        Constraint::Length(1),
        Constraint::Length(1),
    ])
    .areas(area);
    let [figures, plot] = Layout::horizontal([Constraint::Length(FIGURES), Constraint::Min(0)]).areas(middle);
    let trace = &scene.state.trace;
    let end = trace.end.unwrap_or(scene.about.now);
    // A session younger than the axis grows into it from the left.
    let start = SessionTime::from(end - SessionTime::from(trace.window));
    let extent = trace.window.as_secs_f64();
    let place = |at: SessionTime| (at.seconds() - start.seconds()) / extent;

    let quantity = scene.state.quantity;
    let points = scene
        .state
        .history
        .since(position, start)
        .take_while(|p| p.at <= end);
    let columns = curve::columns(
        points.map(|p| (place(p.at), p.value(quantity), p.after_gap)),
        usize::from(plot.width),
    );
    let scale = scale(&columns, quantity.scale());
    let limits = quantity.limits(scene.fold, position);
    for (limit, glyph) in limits.into_iter().zip(look.glyphs.limits) {
        limit_line(scene, limit, scale, glyph, plot, buf);
    }
    let judge = |v: f64| quantity.judge(scene.fold, position, v).0;
    curve::draw(
        &columns,
        scale,
        |least, largest| look.fill(judge(least).max(judge(largest)).style(look)),
        plot,
        buf,
        look,
    );

    let name = scene.fold.telemetry().identity().name(position);
    let state = match trace.end {
        None => "live".to_owned(),
        Some(at) => format!("held at {at}: {} goes on", scene.key(Command::Last)),
    };
    let head = format!(" {name} {} in {}", quantity.name(), quantity.unit());
    let title_line = Line::from(vec![
        Span::styled(head, look.strong),
        Span::styled(format!("  {} {state}", look.glyphs.dot), look.dim),
    ]);
    page(&[title_line], 0, title, buf, look);
    let figure = |v: f64| Line::styled(right(&format!("{v:.0} "), usize::from(FIGURES)), look.dim);
    let mut lines = vec![Line::default(); usize::from(figures.height)];
    if let Some(last) = lines.last_mut() {
        *last = figure(scale.0);
    }
    if let Some(first) = lines.first_mut() {
        *first = figure(scale.1);
    }
    page(&lines, 0, figures, buf, look);
    findings(scene, position, place, end, marks, buf);
    let from = format!("{}{start}", left("", usize::from(FIGURES)));
    let to = (start + trace.window).to_string();
    let gap = usize::from(axis.width).saturating_sub(from.len() + to.len());
    page(
        &[Line::styled(format!("{from}{}{to}", " ".repeat(gap)), look.dim)],
        0,
        axis,
        buf,
        look,
    );
    Measure::default()
}

/// A scale around what is drawn, to whole fives.
fn scale(columns: &[curve::Column], usual: (f64, f64)) -> (f64, f64) {
    let drawn = columns.iter().flatten();
    let (low, high) = drawn.fold((f64::MAX, f64::MIN), |(l, h), (a, b)| (l.min(*a), h.max(*b)));
    if low > high {
        return usual;
    }
    let widen = ((LEAST_EXTENT - (high - low)) / 2.0).max(1.0);
    (
        ((low - widen) / 5.0).floor() * 5.0,
        ((high + widen) / 5.0).ceil() * 5.0,
    )
}

fn limit_line(
    scene: &Scene<'_>,
    limit: Option<f64>,
    (low, high): (f64, f64),
    glyph: &str,
    plot: Rect,
    buf: &mut Buffer,
) {
    let Some(limit) = limit.filter(|l| (low..=high).contains(l)) else {
        return;
    };
    let rows = f64::from(plot.height.saturating_sub(1));
    let up = ((limit - low) / (high - low) * rows).round() as u16;
    let y = plot.bottom().saturating_sub(1).saturating_sub(up);
    for x in plot.left()..plot.right() {
        if let Some(cell) = buf.cell_mut((x, y)) {
            let symbol = if x == plot.left() {
                glyph
            } else {
                scene.look.glyphs.rule
            };
            cell.set_symbol(symbol).set_style(scene.look.dim);
        }
    }
}

/// Findings of the band under the time they held; the worse covers the less bad.
fn findings(
    scene: &Scene<'_>,
    position: usize,
    place: impl Fn(SessionTime) -> f64,
    end: SessionTime,
    area: Rect,
    buf: &mut Buffer,
) {
    let look = scene.look;
    page(&[Line::styled(" found", look.dim)], 0, area, buf, look);
    let mut of_band: Vec<&Finding> = scene
        .fold
        .past_findings()
        .iter()
        .chain(scene.fold.findings())
        .filter(|f| f.subject.band == Some(position) && f.raised <= end)
        .collect();
    of_band.sort_by_key(|f| f.severity);
    let width = f64::from(area.width.saturating_sub(FIGURES));
    let column = |at: SessionTime| (place(at) * width).floor();
    for finding in of_band {
        let level = Level::from(finding.severity);
        let cleared = finding.cleared.unwrap_or(end).min(end);
        let (from, to) = (column(finding.raised), column(cleared).min(width - 1.0));
        let mut x = from.max(0.0);
        while x <= to {
            let symbol = if x == from {
                level.glyph(look)
            } else {
                look.glyphs.rule
            };
            if let Some(cell) = buf.cell_mut((area.left() + FIGURES + x as u16, area.top())) {
                cell.set_symbol(symbol).set_style(level.style(look));
            }
            x += 1.0;
        }
    }
}
