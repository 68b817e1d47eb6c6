//! The control panel below a view: what may be asked of the unit, what it does in both directions, what came of it.

use crate::console::Command;
use crate::console::desk::{Desk, Item, Stage};
use crate::console::draw::Scene;
use crate::console::widgets::text::{labelled, left};
use crate::console::words;
use crate::control::{Ask, Reply, Standing, reply};
use crate::event::SessionTime;
use crate::link::words::System;
use booster_profile::EventCode;
use ratatui::text::{Line, Span};

/// Column that a text beside its label starts in.
const INDENT: usize = 13;

/// The panel in lines of at most `columns`.
pub(in crate::console) fn lines(scene: &Scene<'_>, desk: &Desk, columns: usize) -> Vec<Line<'static>> {
    match desk.stage {
        Stage::Menu => menu(scene, desk, columns),
        Stage::Confirm => confirm(scene, desk, columns),
        Stage::Asked(ask, at) => asked(scene, ask, at, columns),
    }
}

/// A line across the panel with its title in it.
fn title(scene: &Scene<'_>, text: &str, columns: usize) -> Line<'static> {
    let (look, rule) = (scene.look, scene.look.glyphs.rule);
    let said = format!(" {text} ");
    let rest = columns.saturating_sub(2 + said.chars().count());
    Line::from(vec![
        Span::styled(rule.repeat(2), look.dim),
        Span::styled(said, look.strong),
        Span::styled(rule.repeat(rest), look.dim),
    ])
}

/// The keys that have a meaning in the panel, for the help line.
pub(in crate::console) fn help_line(scene: &Scene<'_>, desk: &Desk) -> Line<'static> {
    use Command as C;
    let ask = desk.ask(scene.fold.telemetry().identity());
    match desk.stage {
        Stage::Menu => keys(
            scene,
            &[
                (&[C::Enter], "what it does"),
                (&[C::Left, C::Right], "change"),
                (&[C::NextQuantity], "next value"),
                (&[C::Back], "close"),
            ],
        ),
        Stage::Confirm if ask.is_some_and(|a| a.check(scene.fold).is_ok()) => keys(
            scene,
            &[
                (&[C::Confirm], "asks the unit now"),
                (&[C::Left, C::Right], "change"),
                (&[C::Back], "leave it"),
            ],
        ),
        Stage::Confirm | Stage::Asked(..) => keys(scene, &[(&[C::Back], "back to the list")]),
    }
}

/// Keys and what they do here.
fn keys(scene: &Scene<'_>, of: &[(&[Command], &str)]) -> Line<'static> {
    let mut spans = vec![Span::raw(" ")];
    for (commands, text) in of {
        let labels: Vec<String> = commands.iter().map(|c| scene.key(*c)).collect();
        spans.push(Span::styled(labels.join(" "), scene.look.strong));
        spans.push(Span::styled(format!(" {text}   "), scene.look.dim));
    }
    Line::from(spans)
}

fn menu(scene: &Scene<'_>, desk: &Desk, columns: usize) -> Vec<Line<'static>> {
    let (look, g) = (scene.look, &scene.look.glyphs);
    let identity = scene.fold.telemetry().identity();
    let mut lines = vec![title(scene, "Control: what may be asked of this unit", columns)];
    if !scene.about.allow_control {
        let text = "Off: end this and start again with --allow-control. Nothing is sent to the unit now.";
        lines.extend(labelled(
            Span::styled(format!(" {} ", g.warn), look.warn),
            3,
            text,
            look.text,
            columns,
        ));
    }
    for item in Item::ALL {
        let here = *item == desk.item();
        let offered = desk
            .ask_of(*item, identity)
            .is_some_and(|ask| ask.is_offered(identity));
        let usable = offered && scene.about.allow_control;
        let base = match (here, usable) {
            (true, _) => look.selected,
            (false, true) => look.text,
            (false, false) => look.dim,
        };
        let mut spans = vec![
            Span::styled(left(if here { g.arrow } else { "" }, 3), look.strong),
            Span::styled(left(item.label(), 18), base),
        ];
        if offered {
            for (text, active) in desk.values(*item, identity) {
                let shown = if active {
                    format!("[{text}]")
                } else {
                    format!(" {text} ")
                };
                spans.push(Span::styled(shown, if active { look.strong } else { look.dim }));
            }
        } else {
            spans.push(Span::styled(" this unit does not offer it", look.dim));
        }
        lines.push(Line::from(spans));
    }
    lines
}

fn confirm(scene: &Scene<'_>, desk: &Desk, columns: usize) -> Vec<Line<'static>> {
    let (look, g) = (scene.look, &scene.look.glyphs);
    let identity = scene.fold.telemetry().identity();
    let Some(ask) = desk.ask(identity) else {
        return Vec::new();
    };
    let said = ask.confirmation(identity);
    let mut lines = vec![title(
        scene,
        &format!("Ask for {}? Nothing is sent yet.", said.title),
        columns,
    )];
    let part = |label: &str, style, text: &str| {
        labelled(
            Span::styled(format!(" {label}"), style),
            INDENT,
            text,
            look.text,
            columns,
        )
    };
    lines.extend(part("downlink", look.dim, &said.downlink));
    lines.extend(part("uplink", look.dim, &said.uplink));
    for caution in &said.cautions {
        lines.extend(part(&format!("{} caution", g.warn), look.warn, caution));
    }
    if let Some(presence) = said.presence {
        lines.extend(part("at the unit", look.dim, presence));
    }
    if !said.afterwards.is_empty() {
        lines.extend(part("then", look.dim, said.afterwards));
    }
    if let Err(why) = ask.check(scene.fold) {
        lines.extend(told(scene, &why, false, columns));
    }
    lines
}

/// Meaning and next step.
fn told(scene: &Scene<'_>, said: &Reply, good: bool, columns: usize) -> Vec<Line<'static>> {
    let (look, g) = (scene.look, &scene.look.glyphs);
    let (glyph, style) = if good {
        (g.good, look.good)
    } else {
        (g.warn, look.warn)
    };
    let mut lines = labelled(
        Span::styled(format!(" {glyph}"), style),
        3,
        &said.meaning,
        look.strong,
        columns,
    );
    if !said.next_step.is_empty() {
        let label = Span::styled(" do next", look.strong);
        lines.extend(labelled(label, INDENT, &said.next_step, look.text, columns));
    }
    lines
}

fn asked(scene: &Scene<'_>, ask: Ask, at: SessionTime, columns: usize) -> Vec<Line<'static>> {
    let (look, now) = (scene.look, scene.about.now);
    let identity = scene.fold.telemetry().identity();
    let log = scene.fold.control();
    let mut lines = vec![title(
        scene,
        &format!("Asked for {}", ask.title(identity)),
        columns,
    )];
    let waiting = |text: &str| {
        let ago = words::span(now - at);
        labelled(
            Span::styled(format!(" {}", look.glyphs.off), look.text),
            3,
            &format!("{text} ({ago})"),
            look.text,
            columns,
        )
    };
    match log.standing(ask, at, now) {
        Standing::Asking => lines.extend(waiting("On its way to the unit.")),
        Standing::Written => lines.extend(waiting("Written; waiting for the unit's answer.")),
        Standing::Over(outcome) => {
            let said = reply(ask, Some(outcome), System::current());
            lines.extend(told(scene, &said, outcome.is_success(), columns));
        }
        Standing::NoAnswer => {
            lines.extend(told(scene, &reply(ask, None, System::current()), false, columns));
        }
    }
    if matches!(ask, Ask::IsolationTest { .. }) {
        let results = scene
            .fold
            .unit_events()
            .iter()
            .filter(|(when, e)| *when >= at && e.event.code == EventCode::IsolationTested);
        for (_, logged) in results {
            let text = words::unit_event(&logged.event, identity);
            lines.push(Line::styled(format!("   {text}"), look.text));
        }
    }
    lines
}
