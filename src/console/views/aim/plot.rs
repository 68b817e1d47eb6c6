//! The compass: a spoke for every place that was listened at, its interval, and where the antenna rests and turns to.

use crate::aiming::{Judgement, Prompt, Session};
use crate::console::draw::Scene;
use crate::console::widgets::polar::Polar;
use radio::Bearing;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

/// Levels from the centre to the ring, dB.
const SPAN_DB: f64 = 30.0;
/// Half width of a 95 % interval in standard deviations.
const INTERVAL: f64 = 1.96;

/// The place that a person is about to turn to or rests at: chosen with the arrows, else the one advised.
pub(in crate::console) fn target(scene: &Scene<'_>) -> Option<usize> {
    let aim = scene.fold.aim();
    let advised = match aim.prompt()? {
        Prompt::Turn(place) => Some(place),
        Prompt::Done => aim.procedure()?.judgement().map(|j| j.best),
        Prompt::Hold | Prompt::Settle | Prompt::LinkLost => aim.place(),
    };
    scene.state.place.filter(|p| *p < aim.places().len()).or(advised)
}

pub(super) fn draw(scene: &Scene<'_>, area: Rect, buf: &mut Buffer) {
    let (aim, look) = (scene.fold.aim(), scene.look);
    let mut polar = Polar::new(area);
    polar.arc(1.0, 0.0, 360.0, look.dim);
    for bearing in aim.places() {
        polar.line((bearing.degrees(), 0.94), (bearing.degrees(), 1.0), look.dim);
    }
    let judgement = aim.procedure().and_then(|p| p.judgement());
    if let Some(judgement) = judgement {
        spokes(scene, &mut polar, aim, judgement);
    }
    polar.render(buf, look);
    let g = &look.glyphs;
    let mut signs = Vec::new();
    if let Some(judgement) = judgement {
        signs.push((Some(judgement.best), g.good, look.good));
    }
    if aim.prompt() != Some(Prompt::Done) || scene.state.place.is_some() {
        signs.push((target(scene), g.off, look.strong));
    }
    signs.push((aim.place().filter(|_| rests(aim)), g.on, look.strong));
    let taken = |bearing: f64| {
        let at = |place: &Option<usize>| place.and_then(|p| aim.bearing(p));
        let off = |b: Bearing| (b - Bearing::new(bearing)).abs().0;
        signs
            .iter()
            .any(|(place, ..)| at(place).is_some_and(|b| off(b) < 10.0))
    };
    for (bearing, name) in [(0.0, "0"), (90.0, "90"), (180.0, "180"), (270.0, "270")] {
        if !taken(bearing) {
            polar.sign(name, (bearing, 1.0), look.dim, buf);
        }
    }
    for (place, sign, style) in signs {
        if let Some(bearing) = place.and_then(|p| aim.bearing(p)) {
            polar.sign(sign, (bearing.degrees(), 1.0), style, buf);
        }
    }
    if let Some(judgement) = judgement {
        let top = top(judgement, aim);
        let scale = format!("ring {top:.0}, centre {:.0}", top - SPAN_DB);
        let room = usize::from(area.width);
        if scale.len() <= room && area.height > 0 {
            buf.set_string(area.x, area.bottom() - 1, scale, look.dim);
        }
    }
}

/// Whether the antenna is known to rest where it was marked last.
fn rests(aim: &Session) -> bool {
    matches!(aim.prompt(), Some(Prompt::Hold | Prompt::LinkLost))
}

/// Level of the ring: the best, rounded up to 5 dB.
fn top(judgement: &Judgement, aim: &Session) -> f64 {
    let visited = |place: &usize| {
        let dwells = aim.procedure().map(|p| p.belief().dwells());
        dwells.and_then(|d| d.get(*place)).is_some_and(|d| d.visits > 0)
    };
    let best = (0..judgement.mean.len())
        .filter(visited)
        .map(|i| judgement.mean[i])
        .fold(f64::NEG_INFINITY, f64::max);
    if best.is_finite() {
        (best / 5.0).ceil() * 5.0
    } else {
        0.0
    }
}

fn spokes(scene: &Scene<'_>, polar: &mut Polar, aim: &Session, judgement: &Judgement) {
    let look = scene.look;
    let top = top(judgement, aim);
    let radius = |level: f64| ((level - top + SPAN_DB) / SPAN_DB).clamp(0.0, 1.0);
    let Some(procedure) = aim.procedure() else { return };
    let all = aim.places().iter().zip(procedure.belief().dwells()).enumerate();
    for (i, (bearing, dwell)) in all {
        let (mean, half) = (judgement.mean[i], INTERVAL * judgement.sd[i]);
        let at = bearing.degrees();
        let cap = |level: f64| arc_of(*bearing, radius(level));
        if dwell.visits == 0 {
            // Foretold from the beam's shape: a few dots where the level may lie.
            polar.dots((at, radius(mean - half)), (at, radius(mean + half)), look.dim);
            continue;
        }
        let style = if i == judgement.best { look.good } else { look.text };
        polar.line((at, 0.0), (at, radius(mean)), style);
        polar.line((at, radius(mean)), (at, radius(mean + half)), look.dim);
        for level in [mean - half, mean + half] {
            let (from, to) = cap(level);
            polar.arc(radius(level), from, to, style);
        }
    }
}

/// A short arc across a bearing, about as long at every radius.
fn arc_of(bearing: Bearing, radius: f64) -> (f64, f64) {
    let half = (5.0 / radius.max(0.2)).min(20.0);
    (bearing.degrees() - half, bearing.degrees() + half)
}
