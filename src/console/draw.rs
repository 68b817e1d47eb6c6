//! The frame around every view: which view, how things stand, the caution that applies, the keys.

use super::condition::{Data, Level, data};
use super::keys::Command;
use super::marking::strip;
use super::state::Measure;
use super::views::{aim, bands, choice, control, far, findings, help, link, roof, trace};
use super::widgets::page::page;
use super::widgets::position;
use super::widgets::text::{fit, left, width, wrap};
use super::words;
use super::{Look, State, Surroundings, View};
use crate::analysis::Severity;
use crate::event::LinkState;
use crate::fold::Fold;
use crate::session::RecorderState;
use booster_profile::OperatingState;
use ratatui::buffer::Buffer;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::style::Style;
use ratatui::text::{Line, Span};
use ratatui::widgets::Widget;
use std::time::Duration;

/// Least size that the views are drawn in; anything smaller says so.
const LEAST: (u16, u16) = (60, 16);
/// Rows that a view keeps above a panel.
const VIEW_ROWS: u16 = 5;
/// Rows that a caution may take.
const CAUTION_ROWS: usize = 3;
/// How long the answer to a key stands.
const NOTICE: Duration = Duration::from_secs(3);

const ROOF: &str = "Roof and ladder: clear of power lines, not alone. Local rules first.";
const AIMING: &str = "Clear of power lines, not in front of other antennas, mount never left unlocked. Aiming can cut a live emergency call.";
const CALLS: &str = "Gain, restart, aiming can cut a live emergency call: warn before.";

/// What a view is drawn from.
pub(super) struct Scene<'a> {
    pub(super) fold: &'a Fold,
    pub(super) about: &'a Surroundings,
    pub(super) state: &'a State,
    pub(super) look: &'a Look,
}

/// Draws the whole screen into `area`; what there is to scroll.
pub fn draw(
    fold: &Fold,
    about: &Surroundings,
    state: &State,
    look: &Look,
    area: Rect,
    buf: &mut Buffer,
) -> Measure {
    buf.set_style(area, look.text);
    if area.width < LEAST.0 || area.height < LEAST.1 {
        too_small(&state.keys.label(Command::Quit, look.is_ascii()), area, buf);
        return Measure::default();
    }
    let scene = Scene {
        fold,
        about,
        state,
        look,
    };
    let caution = scene.caution(usize::from(area.width));
    let rows = u16::try_from(caution.len()).unwrap_or(0);
    let entry = state.marking.lines(usize::from(area.width), look);
    let entry_rows = u16::try_from(entry.len()).unwrap_or(0);
    let position = about
        .position
        .as_ref()
        .map(|p| position::line(about, p, look, usize::from(area.width)));
    let [tabs, status, body, below, foot, place, keys] = Layout::vertical([
        Constraint::Length(1),
        Constraint::Length(1),
        Constraint::Min(0),
        Constraint::Length(entry_rows),
        Constraint::Length(rows),
        Constraint::Length(u16::from(position.is_some())),
        Constraint::Length(1),
    ])
    .areas(area);
    scene.tabs(tabs.width).render(tabs, buf);
    scene.status(status.width).render(status, buf);
    for (line, row) in entry.into_iter().zip(below.rows()) {
        line.render(row, buf);
    }
    for (line, row) in caution.into_iter().zip(foot.rows()) {
        line.render(row, buf);
    }
    if let Some(position) = position {
        position.render(place, buf);
    }
    scene.keys(usize::from(keys.width)).render(keys, buf);
    let panel = state
        .desk
        .as_ref()
        .map(|desk| (desk.scroll, control::lines(&scene, desk, usize::from(area.width))));
    let Some((scroll, lines)) = panel else {
        return scene.view(body, buf);
    };
    // The panel never hides the values: the view keeps its share of a small screen.
    let wanted = u16::try_from(lines.len()).unwrap_or(u16::MAX);
    let rows = wanted.min(body.height.saturating_sub(VIEW_ROWS));
    let [above, below] = Layout::vertical([Constraint::Min(0), Constraint::Length(rows)]).areas(body);
    let panel = page(&lines, scroll, below, buf, look).furthest;
    Measure {
        panel,
        ..scene.view(above, buf)
    }
}

fn too_small(quit: &str, area: Rect, buf: &mut Buffer) {
    let text = format!(
        "Loopmargin needs {} columns and {} rows; this terminal has {} and {}. {quit} quits",
        LEAST.0, LEAST.1, area.width, area.height
    );
    for (line, row) in wrap(&text, usize::from(area.width)).into_iter().zip(area.rows()) {
        Line::raw(fit(&line, usize::from(area.width), "")).render(row, buf);
    }
}

/// The line with `right` at its far end, if there is room for it.
fn spread(mut spans: Vec<Span<'static>>, right: Span<'static>, columns: u16) -> Line<'static> {
    let used: usize = spans.iter().map(Span::width).sum();
    if let Some(gap) = usize::from(columns).checked_sub(used + right.width() + 1)
        && gap > 0
    {
        spans.push(Span::raw(" ".repeat(gap)));
        spans.push(right);
    }
    Line::from(spans)
}

impl Scene<'_> {
    fn view(&self, area: Rect, buf: &mut Buffer) -> Measure {
        if self.state.help {
            return help::draw(self, area, buf);
        }
        if self.state.roof {
            return roof::draw(self, area, buf);
        }
        match self.state.view {
            View::Link => link::draw(self, area, buf),
            _ if self.about.choosing => choice::draw(self, area, buf),
            View::Bands => bands::draw(self, area, buf),
            View::Findings => findings::draw(self, area, buf),
            View::Far => far::draw(self, area, buf),
            View::Trace => trace::draw(self, area, buf),
            View::Aim => aim::draw(self, area, buf),
        }
    }

    /// Name on the screen of the key for a command.
    pub(super) fn key(&self, command: Command) -> String {
        self.state.keys.label(command, self.look.is_ascii())
    }

    /// Colour for a value: as given while it is current, dim otherwise.
    pub(super) fn shade(&self, style: Style, current: bool) -> Style {
        if current { style } else { self.look.dim }
    }

    fn tabs(&self, columns: u16) -> Line<'static> {
        let open = self.fold.findings().len();
        let mut spans = Vec::new();
        for (i, view) in View::ALL.iter().enumerate() {
            let count = match view {
                View::Findings if open > 0 => format!(" ({open})"),
                _ => String::new(),
            };
            let here = *view == self.state.view && !self.state.help && !self.state.roof;
            let style = if here { self.look.selected } else { self.look.text };
            spans.push(Span::styled(
                format!(" {} {}{count} ", i + 1, view.title()),
                style,
            ));
            spans.push(Span::raw(" "));
        }
        let speed = match self.about.speed {
            _ if self.about.paused => " held".to_owned(),
            Some(speed) if speed.is_finite() => format!(" x{speed}"),
            Some(_) => " at full speed".to_owned(),
            None => String::new(),
        };
        let dot = self.look.glyphs.dot;
        let source = fit(&self.about.source, 30, self.look.glyphs.ellipsis);
        let used: usize = spans.iter().map(Span::width).sum();
        let said = [
            format!("{source}{speed} {dot} {}", self.about.now),
            format!("{speed} {dot} {}", self.about.now),
            self.about.now.to_string(),
        ];
        // What does not fit beside the views is left out, the time last.
        let shortest = said.len() - 1;
        let fits = |text: &&String| used + width(text) + 1 < usize::from(columns);
        let text = said.iter().find(fits).unwrap_or(&said[shortest]).clone();
        spread(spans, Span::styled(text, self.look.dim), columns)
    }

    /// Connected? Healthy? To be trusted? Recorded? Details are left out until it fits.
    fn status(&self, columns: u16) -> Line<'static> {
        let mut line = Line::default();
        for details in [true, false] {
            let parts = [
                vec![self.link_status()],
                self.health(details),
                vec![self.data_status(details)],
                vec![self.recording(details)],
            ];
            let mut spans = vec![Span::raw(" ")];
            for (i, part) in parts.into_iter().enumerate() {
                if i > 0 {
                    spans.push(Span::styled(
                        format!(" {} ", self.look.glyphs.column),
                        self.look.dim,
                    ));
                }
                spans.extend(part);
            }
            line = Line::from(spans);
            if line.width() <= usize::from(columns) {
                break;
            }
        }
        let unit = self
            .fold
            .telemetry()
            .identity()
            .device
            .model
            .clone()
            .unwrap_or_default();
        spread(line.spans, Span::styled(unit, self.look.dim), columns)
    }

    fn link_status(&self) -> Span<'static> {
        let state = self.fold.link().state;
        let g = &self.look.glyphs;
        let (glyph, style) = match state {
            LinkState::Live => (g.on, self.look.good),
            LinkState::Stalled => (g.warn, self.look.warn),
            s if s.waits_for_person() => (g.bad, self.look.bad),
            LinkState::BackingOff => (g.warn, self.look.warn),
            _ => (g.off, self.look.text),
        };
        Span::styled(format!("{glyph} {}", state.name().replace('-', " ")), style)
    }

    /// How many findings are open, by severity; or that none is. What is merely worth knowing is a detail beside what
    /// has to be put right.
    fn health(&self, details: bool) -> Vec<Span<'static>> {
        let count = |severity| {
            self.fold
                .findings()
                .iter()
                .filter(|f| f.severity == severity)
                .count()
        };
        let mut spans: Vec<Span<'static>> = Vec::new();
        for severity in [Severity::Critical, Severity::Warning, Severity::Info] {
            let n = count(severity);
            if n > 0 && (details || spans.is_empty() || severity > Severity::Info) {
                let level = Level::from(severity);
                let plural = if n > 1 && severity == Severity::Warning {
                    "s"
                } else {
                    ""
                };
                if !spans.is_empty() {
                    spans.push(Span::raw(" "));
                }
                spans.push(Span::styled(
                    format!("{} {n} {}{plural}", level.glyph(self.look), severity.name()),
                    level.style(self.look),
                ));
            }
        }
        if spans.is_empty() {
            spans.push(match data(self.fold, self.about.now) {
                Data::None => {
                    Span::styled(format!("{} not judged yet", self.look.glyphs.off), self.look.text)
                }
                Data::Good => Span::styled(format!("{} no findings", self.look.glyphs.good), self.look.good),
                Data::Bad(_) => {
                    Span::styled(format!("{} not judged now", self.look.glyphs.off), self.look.text)
                }
            });
        }
        spans
    }

    fn data_status(&self, details: bool) -> Span<'static> {
        let g = &self.look.glyphs;
        match data(self.fold, self.about.now) {
            Data::None => Span::styled(format!("{} no data yet", g.off), self.look.text),
            Data::Good => Span::styled(format!("{} data good", g.good), self.look.good),
            Data::Bad(_) if !details => Span::styled(format!("{} data bad", g.warn), self.look.warn),
            Data::Bad(why) => Span::styled(format!("{} data bad: {why}", g.warn), self.look.warn),
        }
    }

    fn recording(&self, details: bool) -> Span<'static> {
        let g = &self.look.glyphs;
        match &self.about.recorder {
            None => Span::styled(format!("{} not recording", g.off), self.look.text),
            Some(r) => match &r.state {
                RecorderState::Recording if !details => {
                    Span::styled(format!("{} recording", g.on), self.look.good)
                }
                RecorderState::Recording => Span::styled(
                    format!("{} recording {}", g.on, words::bytes(r.bytes)),
                    self.look.good,
                ),
                RecorderState::Finished => {
                    Span::styled(format!("{} recording closed", g.off), self.look.text)
                }
                RecorderState::NotRecording { .. } => {
                    Span::styled(format!("{} recording stopped", g.bad), self.look.bad)
                }
            },
        }
    }

    /// The one caution that applies here and now: what is shown advises something that has a risk, or hands may be
    /// on the antenna.
    fn caution(&self, columns: usize) -> Vec<Line<'static>> {
        let g = &self.look.glyphs;
        let aim_safe = self
            .fold
            .unit()
            .map(|(_, u)| u)
            .filter(|u| u.state == OperatingState::AimSafe);
        let stopped = self.about.recorder.as_ref().and_then(|r| match &r.state {
            RecorderState::NotRecording { reason } => Some(reason.clone()),
            _ => None,
        });
        let (label, text, style) = if let Some(fault) = &self.about.fault {
            ("Fault inside this program", fault.clone(), self.look.bad)
        } else if let Some(reason) = stopped {
            ("Not recording", reason, self.look.bad)
        } else if let Some(unit) = aim_safe.filter(|_| self.state.view != View::Aim) {
            let left = unit
                .aim_safe_left_s
                .map_or_else(String::new, |s| format!(", {s} s left"));
            (
                "Aim-safe",
                format!("uplink off, gain held down{left}; no calls through the unit"),
                self.look.info,
            )
        } else {
            // The panel brings its own.
            if self.state.desk.is_some() {
                return Vec::new();
            }
            let advised = || self.fold.findings().first()?.remedies.first()?.caution.clone();
            let caution = match self.state.view {
                View::Bands => advised().unwrap_or_else(|| ROOF.to_owned()),
                View::Findings => CALLS.to_owned(),
                View::Aim => AIMING.to_owned(),
                View::Link | View::Far | View::Trace => return Vec::new(),
            };
            ("Caution", caution, self.look.warn)
        };
        let label = Span::styled(format!(" {} {label}: ", g.warn), style);
        let indent = label.width();
        let mut lines = super::widgets::text::labelled(label, indent, &text, self.look.text, columns);
        lines.truncate(CAUTION_ROWS);
        lines
    }

    fn keys(&self, columns: usize) -> Line<'static> {
        if self.state.marking.is_open() {
            let text = strip::keys(self.look.is_ascii());
            return Line::styled(fit(text, columns, ""), self.look.strong);
        }
        if let Some((at, text)) = &self.state.notice
            && self.about.now - *at < NOTICE
        {
            let text = format!(" {} {text}", self.look.glyphs.good);
            return Line::styled(left(&fit(&text, columns, ""), columns), self.look.strong);
        }
        if let Some(desk) = &self.state.desk {
            return control::help_line(self, desk);
        }
        let mut spans = vec![Span::raw(" ")];
        let mut used = 1;
        for (key, short) in self.state.keys.help_line(self.state.view, self.about.kind) {
            let key = key.label(self.look.is_ascii());
            let text = format!(" {short}   ");
            used += width(&key) + width(&text);
            if used > columns + 3 {
                break;
            }
            spans.push(Span::styled(key, self.look.strong));
            spans.push(Span::styled(text, self.look.dim));
        }
        Line::from(spans)
    }
}
