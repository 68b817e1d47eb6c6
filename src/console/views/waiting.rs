//! What a state of the link means and what to do about it: fills the screen before the first reading, and stands as a
//! banner over old values afterwards.

use crate::console::draw::Scene;
use crate::console::keys::Command;
use crate::console::widgets::text::labelled;
use crate::console::words;
use crate::event::LinkState;
use crate::link::words::{System, explain};
use ratatui::text::{Line, Span};

/// State, meaning and next step, in lines of at most `columns`.
pub(in crate::console) fn lines(scene: &Scene<'_>, columns: usize) -> Vec<Line<'static>> {
    let look = scene.look;
    let link = scene.fold.link();
    let explained = explain(link.state, System::current());
    let since = words::span(scene.about.now - link.since);
    let style = if link.state.waits_for_person() {
        look.bad
    } else {
        look.strong
    };
    let mut lines = vec![Line::from(vec![
        Span::styled(format!(" {} ", link.state.name().replace('-', " ")), style),
        Span::styled(format!(" for {since}"), look.dim),
    ])];
    lines.extend(labelled(Span::raw(" "), 1, explained.meaning, look.text, columns));
    if let Some(detail) = &link.detail {
        lines.extend(labelled(Span::raw(" "), 1, detail, look.dim, columns));
    }
    if !explained.next_step.is_empty() {
        let label = Span::styled(" Do next: ", look.strong);
        lines.extend(labelled(label, 10, explained.next_step, look.text, columns));
    }
    if state_can_be_retried(link.state) {
        let label = Span::styled(format!(" Key {}:", scene.key(Command::Retry)), look.strong);
        lines.extend(labelled(label, 10, "tries again now", look.text, columns));
    }
    lines
}

fn state_can_be_retried(state: LinkState) -> bool {
    state.waits_for_person() || state == LinkState::BackingOff
}
