//! The worst open finding: what it is, what to do first, what that brings and costs.

use crate::analysis::{Finding, Remedy};
use crate::console::condition::{Data, Level, data};
use crate::console::draw::Scene;
use crate::console::keys::Command;
use crate::console::state::View;
use crate::console::widgets::text::{fit, labelled, left};
use crate::console::words;
use ratatui::text::{Line, Span};

/// Column that the text beside a label starts in.
const INDENT: usize = 11;
const FIRST: &str = " Do first";

/// At most `room` lines, but never less than the first remedy needs.
pub(super) fn lines(scene: &Scene<'_>, columns: usize, room: usize) -> Vec<Line<'static>> {
    match scene.fold.findings().first() {
        Some(finding) => {
            let mut lines = worst(scene, finding, columns);
            for remedy in finding.remedies.iter().skip(1) {
                let then = advice(scene, " Then", remedy, columns);
                if lines.len() + then.len() > room {
                    break;
                }
                lines.extend(then);
            }
            lines
        }
        None => vec![rule(scene, Vec::new(), columns), nothing_open(scene)],
    }
}

/// A line across the screen with something said in it.
fn rule(scene: &Scene<'_>, said: Vec<Span<'static>>, columns: usize) -> Line<'static> {
    let g = &scene.look.glyphs;
    let mut spans = vec![Span::styled(g.rule.repeat(2), scene.look.dim)];
    spans.extend(said);
    let used: usize = spans.iter().map(Span::width).sum();
    spans.push(Span::styled(
        g.rule.repeat(columns.saturating_sub(used)),
        scene.look.dim,
    ));
    Line::from(spans)
}

fn nothing_open(scene: &Scene<'_>) -> Line<'static> {
    let look = scene.look;
    let not_judged = scene.fold.analyser().not_judged().len();
    let past = scene.fold.past_findings().len();
    let mut spans = vec![match data(scene.fold, scene.about.now) {
        Data::Good => Span::styled(format!(" {} Nothing to put right.", look.glyphs.good), look.good),
        _ => Span::raw(" No finding is open."),
    }];
    let also: Vec<String> = [(past, "past"), (not_judged, "not judged")]
        .into_iter()
        .filter(|(n, _)| *n > 0)
        .map(|(n, what)| format!("{n} {what}"))
        .collect();
    if !also.is_empty() {
        let key = scene.key(Command::Show(View::Findings));
        spans.push(Span::styled(format!(" {}: key {key}", also.join(", ")), look.dim));
    }
    Line::from(spans)
}

fn worst(scene: &Scene<'_>, finding: &Finding, columns: usize) -> Vec<Line<'static>> {
    let look = scene.look;
    let level = Level::from(finding.severity);
    let identity = scene.fold.telemetry().identity();
    let others = scene.fold.findings().len() - 1;
    let head = format!(" {} {} ", level.glyph(look), words::heading(finding));
    let mut about = format!(
        " {} {} for {} ",
        words::subject(finding.subject, identity),
        look.glyphs.dot,
        words::span(scene.about.now - finding.raised)
    );
    if others > 0 {
        let key = scene.key(Command::Show(View::Findings));
        about.push_str(&format!("{} {others} more: key {key} ", look.glyphs.dot));
    }
    let mut lines = vec![rule(
        scene,
        vec![
            Span::raw(" Worst now "),
            Span::styled(head, level.style(look)),
            Span::raw(about),
        ],
        columns,
    )];
    lines.extend(labelled(Span::raw(" "), 1, &finding.meaning, look.text, columns));
    let proof = words::proof(finding, look.is_ascii());
    let proof = fit(&proof, columns.saturating_sub(INDENT), look.glyphs.ellipsis);
    lines.extend(labelled(
        Span::styled(" Proof", look.dim),
        INDENT,
        &proof,
        look.text,
        columns,
    ));
    if let Some(remedy) = finding.remedies.first() {
        lines.extend(advice(scene, FIRST, remedy, columns));
    }
    lines
}

/// A remedy with what it brings and costs. The caution of the first stands in the frame; others bring theirs.
fn advice(scene: &Scene<'_>, label: &'static str, remedy: &Remedy, columns: usize) -> Vec<Line<'static>> {
    let look = scene.look;
    let mut lines = labelled(
        Span::styled(label, look.strong),
        INDENT,
        &remedy.action,
        look.strong,
        columns,
    );
    let effect = remedy.effect_words().map(|e| format!("brings {e}"));
    let cost = remedy.cost.as_ref().map(|c| format!("costs {c}"));
    let both: Vec<String> = [effect, cost].into_iter().flatten().collect();
    let mut beside = |text: &str| {
        lines.extend(labelled(
            Span::raw(left("", INDENT)),
            INDENT,
            text,
            look.text,
            columns,
        ))
    };
    if !both.is_empty() {
        beside(&both.join("; "));
    }
    if label != FIRST
        && let Some(caution) = &remedy.caution
    {
        beside(&format!("{} {caution}", look.glyphs.warn));
    }
    lines
}
