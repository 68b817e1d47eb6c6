//! Bands: all bands at once, worst first, and below them the worst finding with its first remedy.

use super::{waiting, worst};
use crate::analysis::{Code, Path, weak_input_dbm};
use crate::console::condition::{self, Level, age, findings_of, is_current, worst_first};
use crate::console::draw::Scene;
use crate::console::quantity::{Quantity, held_by_guard};
use crate::console::state::Measure;
use crate::console::widgets::level_bar::LevelBar;
use crate::console::widgets::page::page;
use crate::console::widgets::text::{fit, left, right};
use crate::console::words;
use crate::event::LinkState;
use crate::telemetry::Reading;
use booster_profile::TenthDbm;
use ratatui::buffer::Buffer;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::style::Style;
use ratatui::text::{Line, Span};
use std::ops::RangeInclusive;

/// Rows per band: numbers and state; then room between bands; then a bar for the loop margin; then outputs.
const ROWS: RangeInclusive<usize> = 2..=5;
/// Columns of everything but the bar.
const BESIDE_BAR: usize = 59;

pub(in crate::console) fn draw(scene: &Scene<'_>, area: Rect, buf: &mut Buffer) -> Measure {
    let columns = usize::from(area.width);
    if scene.fold.bands().iter().all(|b| b.latest.is_none()) {
        let mut lines = vec![Line::default()];
        lines.extend(waiting::lines(scene, columns));
        return page(&lines, scene.state.scroll, area, buf, scene.look);
    }
    let banner = if scene.fold.link().state == LinkState::Live {
        Vec::new()
    } else {
        waiting::lines(scene, columns)
    };
    let height = |lines: &[Line<'_>]| u16::try_from(lines.len()).unwrap_or(u16::MAX);
    // The bands keep three rows at least: a heading and the worst of them.
    let room = area.height.saturating_sub(3);
    let bands = scene.fold.bands().len() * ROWS.end();
    // A panel below wants its room; the values stay.
    let panel = match scene.state.desk {
        Some(_) => Vec::new(),
        None => worst::lines(scene, columns, usize::from(room).saturating_sub(bands)),
    };
    let panel_rows = height(&panel).min(room);
    let banner_rows = height(&banner).min(room - panel_rows);
    let [top, middle, bottom] = Layout::vertical([
        Constraint::Length(banner_rows),
        Constraint::Min(0),
        Constraint::Length(panel_rows),
    ])
    .areas(area);
    page(&banner, 0, top, buf, scene.look);
    page(&panel, 0, bottom, buf, scene.look);
    let list = List::new(scene, columns, middle.height);
    let [heading, rest] = Layout::vertical([Constraint::Length(1), Constraint::Min(0)]).areas(middle);
    page(&[list.heading()], 0, heading, buf, scene.look);
    let lines: Vec<Line<'_>> = worst_first(scene.fold)
        .into_iter()
        .flat_map(|p| list.band(p))
        .collect();
    page(&lines, scene.state.scroll, rest, buf, scene.look)
}

/// The list of bands on one scale, so that bars can be compared.
struct List<'a> {
    scene: &'a Scene<'a>,
    columns: usize,
    scale: (f64, f64),
    /// Rows per band.
    rows: usize,
}

impl<'a> List<'a> {
    fn new(scene: &'a Scene<'a>, columns: usize, height: u16) -> Self {
        let table = &scene.fold.telemetry().identity().bands.bands;
        let criteria = scene.fold.analyser().criteria();
        let ten = |v: f64| (v / 10.0).floor() * 10.0;
        let low = table
            .iter()
            .map(|b| weak_input_dbm(b, criteria))
            .fold(-80.0, f64::min);
        let high = table
            .iter()
            .filter_map(|b| Some(b.overload_level?.dbm()))
            .fold(-40.0, f64::max);
        let room = usize::from(height).saturating_sub(1) / table.len().max(1);
        Self {
            scene,
            columns,
            scale: (ten(low - 5.0), ten(high + 15.0)),
            rows: room.clamp(*ROWS.start(), *ROWS.end()),
        }
    }

    fn bar_columns(&self) -> usize {
        self.columns.saturating_sub(BESIDE_BAR)
    }

    fn heading(&self) -> Line<'static> {
        let g = &self.scene.look.glyphs;
        let (low, high) = (format!("{:.0}", self.scale.0), format!("{:.0}", self.scale.1));
        let inner = self.bar_columns().saturating_sub(low.len() + high.len());
        let over = if inner < 20 { "over" } else { "overload" };
        let legend = fit(&format!("{}weak {}{over}", g.limits[0], g.limits[1]), inner, "");
        let gap = inner.saturating_sub(legend.chars().count());
        Line::styled(
            format!(
                "  {} {} {low}{}{legend}{}{high} {} {} {} {} {}",
                left("band", 6),
                right("input dBm", 9),
                " ".repeat(gap / 2),
                " ".repeat(gap - gap / 2),
                right("gain DL/UL", 10),
                right("margin", 9),
                right("RSRP", 7),
                right("SINR", 5),
                right("cell", 4),
            ),
            self.scene.look.dim,
        )
    }

    fn band(&self, position: usize) -> Vec<Line<'static>> {
        let scene = self.scene;
        let identity = scene.fold.telemetry().identity();
        let level = condition::level(scene.fold, position);
        let name = Span::styled(
            format!(
                "{} {} ",
                level.glyph(scene.look),
                left(identity.name(position), 6)
            ),
            level.style(scene.look),
        );
        let reading = scene.fold.bands().get(position).and_then(|b| b.latest);
        let Some(reading) = reading else {
            let text = Span::styled("no reading yet", scene.look.dim);
            return self.pad(vec![Line::from(vec![name, text])]);
        };
        let current = is_current(scene.fold, position, scene.about.now);
        let mut lines = vec![
            self.numbers(name, position, &reading, current),
            self.states(position, &reading, current),
        ];
        if self.rows >= 4 {
            lines.push(self.margin_bar(&reading, current));
        }
        if self.rows >= 5 {
            lines.push(self.outputs(&reading, current));
        }
        self.pad(lines)
    }

    fn pad(&self, mut lines: Vec<Line<'static>>) -> Vec<Line<'static>> {
        lines.resize(self.rows, Line::default());
        lines
    }

    fn numbers(
        &self,
        name: Span<'static>,
        position: usize,
        reading: &Reading,
        current: bool,
    ) -> Line<'static> {
        let scene = self.scene;
        let (look, g) = (scene.look, &scene.look.glyphs);
        let t = &reading.telemetry;
        let shade = |style: Style| scene.shade(style, current);
        let input = Quantity::Input.of(reading);
        let limits = Quantity::Input.limits(scene.fold, position);
        let (level, _) = Quantity::Input.stands(scene.fold, reading);
        let bar = LevelBar {
            value: input,
            scale: self.scale,
            limits,
            style: if current {
                look.fill(level.style(look))
            } else {
                look.dim
            },
        };
        let mut spans = vec![
            name,
            Span::styled(right(&words::dbm(t.dl_input, g), 9), shade(look.strong)),
            Span::raw(" "),
        ];
        spans.extend(bar.spans(self.bar_columns(), look));
        let gains = format!("{}/{}", words::db(t.dl_gain, g), words::db(t.ul_gain, g));
        spans.push(Span::styled(right(&gains, 11), shade(look.text)));
        let (margin, level) = self.margin(reading);
        spans.push(Span::styled(" ", look.text));
        let margin_style = shade(if level <= Level::Info {
            look.strong
        } else {
            level.style(look)
        });
        spans.push(Span::raw(right(
            "",
            9usize.saturating_sub(margin.chars().count()),
        )));
        spans.push(Span::styled(margin, margin_style));
        let cell = &t.extra.cell;
        let identity = cell.identity.map_or_else(|| g.dash.to_owned(), |i| i.to_string());
        let weak = findings_of(scene.fold, position).any(|f| f.code == Code::WeakDonor);
        let rsrp_style = shade(if weak { look.warn } else { look.text });
        spans.push(Span::styled(right(&words::dbm(cell.rsrp, g), 8), rsrp_style));
        spans.push(Span::styled(
            format!(" {} {}", right(&words::db(cell.sinr, g), 5), right(&identity, 4)),
            shade(look.text),
        ));
        Line::from(spans)
    }

    /// The smaller loop margin with its direction, and how it compares with the criteria; the word `guard` where the
    /// loop is held.
    fn margin(&self, reading: &Reading) -> (String, Level) {
        let (level, word) = Quantity::LoopMargin.stands(self.scene.fold, reading);
        let way = |path: Path| path.name().to_uppercase();
        let text = match (held_by_guard(reading), smaller_margin(reading)) {
            (Some(path), _) => format!("{word} {}", way(path)),
            (None, Some((margin, path))) => format!("{margin:.1} {}", way(path)),
            (None, None) => self.scene.look.glyphs.dash.to_owned(),
        };
        (text, level)
    }

    /// State in words: age if old, the worst finding, what each direction does and why.
    fn states(&self, position: usize, reading: &Reading, current: bool) -> Line<'static> {
        let scene = self.scene;
        let look = scene.look;
        let mut spans = vec![Span::raw("         ")];
        if !current && let Some(age) = age(scene.fold, position, scene.about.now) {
            spans.push(Span::styled(format!("{} old", words::span(age)), look.warn));
            spans.push(Span::raw("  "));
        }
        let findings: Vec<_> = findings_of(scene.fold, position).collect();
        if let Some(worst) = findings.first() {
            let style = Level::from(worst.severity).style(look);
            spans.push(Span::styled(words::title(worst.code), style));
            if findings.len() > 1 {
                spans.push(Span::raw(format!(" +{}", findings.len() - 1)));
            }
            spans.push(Span::raw("  "));
        }
        let t = &reading.telemetry;
        let ways = format!(
            "DL {} {} UL {}",
            words::direction(t.dl_state, t.dl_reasons),
            look.glyphs.dot,
            words::direction(t.ul_state, t.ul_reasons)
        );
        let used: usize = spans.iter().map(Span::width).sum();
        let ways = fit(&ways, self.columns.saturating_sub(used + 1), look.glyphs.ellipsis);
        spans.push(Span::styled(ways, scene.shade(look.text, current)));
        Line::from(spans)
    }

    /// What the numbers above leave out, where there is room for it.
    fn outputs(&self, reading: &Reading, current: bool) -> Line<'static> {
        let scene = self.scene;
        let (g, t) = (&scene.look.glyphs, &reading.telemetry);
        let band = scene.fold.telemetry().identity().band(reading.position);
        let of =
            |rated: Option<TenthDbm>| rated.map_or_else(String::new, |r| format!(" of {:.0} rated", r.dbm()));
        let parts = [
            format!(
                "output DL {} dBm{}",
                words::dbm(t.extra.dl_output, g),
                of(band.and_then(|b| b.rated_dl_output))
            ),
            format!("UL {} dBm", words::dbm(t.ul_output, g)),
            format!("RSRQ {} dB", words::db(t.extra.cell.rsrq, g)),
        ];
        let text = parts.join(&format!(" {} ", g.dot));
        let text = fit(&text, self.columns.saturating_sub(10), g.ellipsis);
        Line::styled(
            format!("         {text}"),
            if current { scene.look.text } else { scene.look.dim },
        )
    }

    fn margin_bar(&self, reading: &Reading, current: bool) -> Line<'static> {
        let look = self.scene.look;
        let least = self.scene.fold.analyser().criteria().margin.min_db;
        let (_, level) = self.margin(reading);
        let bar = LevelBar {
            value: Quantity::LoopMargin.of(reading),
            scale: Quantity::LoopMargin.scale(),
            limits: Quantity::LoopMargin.limits(self.scene.fold, reading.position),
            style: if current {
                look.fill(level.style(look))
            } else {
                look.dim
            },
        };
        let mut spans = vec![Span::styled(right("loop margin", 18), look.dim), Span::raw(" ")];
        spans.extend(bar.spans(self.bar_columns(), look));
        spans.push(Span::styled(
            format!(
                " 0{}{:.0} dB, plan at least {:.0}",
                look.glyphs.dash,
                Quantity::LoopMargin.scale().1,
                least
            ),
            look.dim,
        ));
        Line::from(spans)
    }
}

/// The smaller loop margin of both directions, dB, and which direction it is.
fn smaller_margin(reading: &Reading) -> Option<(f64, Path)> {
    let both = [
        (reading.dl_margin(), Path::Downlink),
        (reading.ul_margin(), Path::Uplink),
    ];
    both.into_iter()
        .filter_map(|(margin, path)| Some((margin?, path)))
        .min_by_key(|(margin, _)| *margin)
        .map(|(margin, path)| (margin.db(), path))
}
