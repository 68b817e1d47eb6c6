//! From a command to the next state of the screen.

use super::entries::{Entry, entries};
use super::{Command, State, View};
use crate::event::{Mark, SessionTime};
use crate::fold::Fold;

/// What the run loop has to do for a key.
#[derive(Clone, Debug, PartialEq)]
pub enum Action {
    /// End the session; exit code 0.
    Quit,
    /// End the session as SIGINT does; exit code 130.
    Interrupt,
    /// Stop this program until it is continued.
    Suspend,
    /// Put this mark into the session.
    Mark(Mark),
    /// Ask the link to try again now.
    Retry,
    /// Forget what is on the terminal and draw all of it.
    Redraw,
}

/// Changes the state as the command asks; what is beyond the screen is returned.
pub fn update(state: &mut State, command: Command, fold: &Fold, now: SessionTime) -> Option<Action> {
    match command {
        Command::Quit => return Some(Action::Quit),
        Command::Interrupt => return Some(Action::Interrupt),
        Command::Suspend => return Some(Action::Suspend),
        Command::Redraw => return Some(Action::Redraw),
        Command::Mark => {
            state.notice = Some((now, format!("marked at {now}")));
            return Some(Action::Mark(Mark::default()));
        }
        Command::Retry => {
            state.notice = Some((now, "asked the link to try again".to_owned()));
            return Some(Action::Retry);
        }
        Command::Help => show(state, state.view, !state.help),
        Command::Back => show(state, state.view, false),
        Command::Show(view) => show(state, view, false),
        Command::NextView => show(state, state.view.step(1), false),
        Command::PreviousView => show(state, state.view.step(View::ALL.len() - 1), false),
        Command::Up => step(state, fold, -1),
        Command::Down => step(state, fold, 1),
        Command::PageUp => scroll(state, -i32::from(state.measure.page.max(1))),
        Command::PageDown => scroll(state, i32::from(state.measure.page.max(1))),
        Command::First => step(state, fold, i32::MIN),
        Command::Last => step(state, fold, i32::MAX),
    }
    None
}

fn show(state: &mut State, view: View, help: bool) {
    if state.view != view || state.help != help {
        (state.view, state.help, state.scroll) = (view, help, 0);
    }
}

fn scroll(state: &mut State, lines: i32) {
    let to = i32::from(state.scroll)
        .saturating_add(lines)
        .clamp(0, i32::from(state.measure.furthest));
    state.scroll = u16::try_from(to).unwrap_or(0);
}

/// Moves the selection where there is one, else scrolls.
fn step(state: &mut State, fold: &Fold, by: i32) {
    if state.help || state.view != View::Findings {
        return scroll(state, by);
    }
    let all = entries(fold);
    let here = i32::try_from(selected(state, &all)).unwrap_or(0);
    let last = i32::try_from(all.len().saturating_sub(1)).unwrap_or(i32::MAX);
    let to = here.saturating_add(by).clamp(0, last);
    let key = usize::try_from(to).ok().and_then(|i| all.get(i)).map(Entry::key);
    if key != state.selected {
        (state.selected, state.scroll) = (key, 0);
    }
}

/// Index of the selected entry; the first if what was selected is gone.
pub(super) fn selected(state: &State, entries: &[Entry<'_>]) -> usize {
    state
        .selected
        .and_then(|key| entries.iter().position(|e| e.key() == key))
        .unwrap_or(0)
}
