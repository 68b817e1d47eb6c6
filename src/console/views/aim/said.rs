//! What the Aim view says in words and numbers.

use super::plot::target;
use crate::aiming::{Objective, Outcome, Prompt, Safety, refusal};
use crate::console::Quantity;
use crate::console::aiming::aimed_band;
use crate::console::condition::{age, is_current};
use crate::console::draw::Scene;
use crate::console::widgets::big::big;
use crate::console::widgets::level_bar::LevelBar;
use crate::console::widgets::text::{fit, labelled, left};
use crate::console::words;
use ratatui::layout::Rect;
use ratatui::style::Style;
use ratatui::text::{Line, Span};

/// Rows that the level's letters may take.
const LETTERS: u16 = 10;

pub(super) fn lines(scene: &Scene<'_>, area: Rect) -> Vec<Line<'static>> {
    let columns = usize::from(area.width);
    let mut lines = prompt(scene, columns);
    let found = found(scene, columns);
    let safety = safety(scene, columns);
    let rest = usize::from(area.height).saturating_sub(lines.len() + found.len() + safety.len() + 2);
    lines.push(Line::default());
    lines.extend(level(scene, columns, rest));
    lines.push(Line::default());
    lines.extend(safety);
    lines.extend(found);
    lines.extend(table(scene, usize::from(area.height).saturating_sub(lines.len())));
    lines
}

/// What to do, in a bar that is seen from afar, and how.
fn prompt(scene: &Scene<'_>, columns: usize) -> Vec<Line<'static>> {
    let (aim, look) = (scene.fold.aim(), scene.look);
    let bearing = target(scene)
        .and_then(|p| aim.bearing(p))
        .map_or_else(String::new, |b| words::bearing(b.degrees(), &look.glyphs));
    let chosen = scene.state.place.is_some();
    let (what, how): (String, &str) = match aim.prompt() {
        Some(Prompt::Turn(_)) => (
            format!("TURN TO {bearing}"),
            "Then behind the antenna, hands off, Enter.",
        ),
        Some(_) if chosen => (
            format!("TURN TO {bearing}"),
            "Your choice. Hands off, then Enter.",
        ),
        Some(Prompt::Hold) => (format!("HOLD AT {bearing}"), "Hands off, behind the antenna."),
        Some(Prompt::Settle) => ("HANDS OFF".to_owned(), "Then Enter: the dwell begins anew."),
        Some(Prompt::LinkLost) => (
            format!("LINK LOST, HOLD AT {bearing}"),
            "This dwell begins anew when it is back.",
        ),
        Some(Prompt::Done) => (
            format!("DONE: {bearing} IS BEST"),
            "Turn there, tighten the mount, check the level again; then end aim-safe.",
        ),
        None => return Vec::new(),
    };
    let mut lines = vec![Line::styled(
        left(&fit(&format!(" {what}"), columns, look.glyphs.ellipsis), columns),
        look.selected,
    )];
    lines.extend(labelled(Span::raw(" "), 1, how, look.text, columns));
    lines.push(match aim.dwell_done(scene.about.now) {
        Some(done) => {
            let bar = LevelBar {
                value: Some(done),
                scale: (0.0, 1.0),
                limits: [None, None],
                style: look.info,
            };
            Line::from(bar.spans(columns, look))
        }
        None => Line::default(),
    });
    lines
}

/// The level now, as large as there is room.
fn level(scene: &Scene<'_>, columns: usize, rows: usize) -> Vec<Line<'static>> {
    let (fold, look) = (scene.fold, scene.look);
    let quantity = match fold.aim().plan().map(|p| p.objective) {
        Some(Objective::Quality) => Quantity::Sinr,
        _ => Quantity::Rsrp,
    };
    let reading = aimed_band(scene.state, fold).and_then(|p| fold.bands().get(p)?.latest);
    let Some(reading) = reading else {
        return vec![Line::styled(" no level yet", look.dim)];
    };
    let current = is_current(fold, reading.position, scene.about.now);
    let style = scene.shade(look.strong, current);
    let old = match age(fold, reading.position, scene.about.now) {
        Some(age) if !current => format!(", {} old", words::span(age)),
        _ => String::new(),
    };
    let value = words::number(quantity.of(&reading), &look.glyphs);
    let name = fold.telemetry().identity().name(reading.position);
    let title = format!(" {name} {} in {}{old}", quantity.name(), quantity.unit());
    let ink = if look.is_ascii() { "#" } else { look.glyphs.full };
    let room = rows.saturating_sub(1).min(usize::from(LETTERS));
    let letters = big(&value, columns.saturating_sub(2), room, ink);
    if letters.is_empty() {
        return vec![Line::styled(format!("{title}: {value}"), style)];
    }
    let mut lines = vec![Line::styled(title, scene.shade(look.text, current))];
    lines.extend(letters.into_iter().map(|l| Line::styled(format!(" {l}"), style)));
    lines
}

/// Whether the unit holds itself down: on the screen all the time.
fn safety(scene: &Scene<'_>, columns: usize) -> Vec<Line<'static>> {
    let look = scene.look;
    let safety = Safety::of(scene.fold, scene.about.now);
    let (sign, style): (&str, Style) = match safety {
        Safety::On { .. } => (look.glyphs.good, look.good),
        Safety::Off => (look.glyphs.bad, look.bad),
        Safety::NotOffered | Safety::NotSeen => (look.glyphs.warn, look.warn),
    };
    let label = Span::styled(format!(" {sign} aim-safe "), style);
    let indent = label.width();
    let mut lines = labelled(label, indent, &safety.words(), look.text, columns);
    if let Some(reply) = refusal(scene.fold) {
        let said = format!("{} {}", reply.meaning, reply.next_step);
        lines.extend(labelled(Span::raw(" "), 3, &said, look.warn, columns));
    }
    lines
}

/// The best so far and how sure that is.
fn found(scene: &Scene<'_>, columns: usize) -> Vec<Line<'static>> {
    let (aim, look) = (scene.fold.aim(), scene.look);
    let left = match aim.left() {
        Some(left) => format!(" left: about {}", words::span(left)),
        None => String::new(),
    };
    let Some(outcome) = Outcome::of(aim) else {
        return vec![Line::styled(left, look.dim)];
    };
    let (name, unit) = match aim.plan().map(|p| p.objective) {
        Some(Objective::Quality) => ("SINR", "dB"),
        Some(Objective::Level) => ("RSRP", "dBm"),
        // RSRP less what a capped output, attenuation and poor SINR take.
        Some(Objective::Service) | None => ("service", "dBm"),
    };
    let best = outcome
        .stops
        .iter()
        .find(|s| s.bearing_deg == outcome.best_bearing_deg);
    let mut texts = vec![(
        format!(
            "best {}: {:.0} % sure within 1 dB",
            words::bearing(outcome.best_bearing_deg, &look.glyphs),
            (outcome.probability_within_1db * 100.0).min(99.0)
        ),
        look.strong,
    )];
    if let Some(best) = best {
        texts.push((
            format!(
                "{name} {:.1} {unit} ({:.1} to {:.1})",
                best.mean, best.low, best.high
            ),
            look.text,
        ));
        if best.needs_attenuation_db > 0.0 {
            texts.push((
                format!("needs {:.0} dB attenuation there", best.needs_attenuation_db),
                look.warn,
            ));
        }
    }
    if let (Some(peak), Some(low), Some(high)) = (
        outcome.peak_bearing_deg,
        outcome.peak_low_deg,
        outcome.peak_high_deg,
    ) {
        let degree = look.glyphs.degree;
        texts.push((
            format!("peak near {peak:.0} ({low:.0} to {high:.0}){degree}"),
            look.text,
        ));
    }
    if let Some(next) = outcome.next_best_bearing_deg {
        let equal: Vec<String> = outcome
            .equal
            .iter()
            .map(|b| words::bearing(*b, &look.glyphs))
            .collect();
        texts.push(match equal.is_empty() {
            true => (
                format!("next best {}", words::bearing(next, &look.glyphs)),
                look.text,
            ),
            false => (format!("as good: {}", equal.join(", ")), look.text),
        });
    }
    let mut lines: Vec<Line<'static>> = texts
        .into_iter()
        .map(|(text, style)| Line::styled(fit(&format!(" {text}"), columns, look.glyphs.ellipsis), style))
        .collect();
    lines.push(Line::styled(left, look.dim));
    lines
}

/// Every place that was listened at, where there is room for all.
fn table(scene: &Scene<'_>, rows: usize) -> Vec<Line<'static>> {
    let look = scene.look;
    let Some(outcome) = Outcome::of(scene.fold.aim()) else {
        return Vec::new();
    };
    let visited: Vec<_> = outcome.stops.iter().filter(|s| s.visits > 0).collect();
    if visited.len() + 2 > rows {
        return Vec::new();
    }
    let mut lines = vec![
        Line::default(),
        Line::styled(" bearing   mean   95 % interval   dwell  visits", look.dim),
    ];
    lines.extend(visited.into_iter().map(|s| {
        let style = if s.bearing_deg == outcome.best_bearing_deg {
            look.good
        } else {
            look.text
        };
        let text = format!(
            " {:>7} {:7.1}  {:7.1} {:7.1}  {:4.0} s  {:6}",
            words::bearing(s.bearing_deg, &look.glyphs),
            s.mean,
            s.low,
            s.high,
            s.dwell_s,
            s.visits
        );
        Line::styled(text, style)
    }));
    lines
}
