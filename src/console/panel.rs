//! Keys while a panel or a choice is open.

use super::choice::{ordered, selected};
use super::desk::{Desk, Stage};
use super::update::Action;
use super::{Command, State, Surroundings};
use crate::fold::Fold;

/// What an open panel makes of a command; `None` where it leaves it to the view behind.
pub(super) fn update(
    state: &mut State,
    command: Command,
    fold: &Fold,
    about: &Surroundings,
) -> Option<Option<Action>> {
    if command == Command::Control {
        state.desk = match state.desk {
            Some(_) => None,
            None => Some(Desk::default()),
        };
        return Some(None);
    }
    if state.help {
        return None;
    }
    if state.desk.is_some() {
        return desk(state, command, fold, about);
    }
    if about.choosing {
        return choice(state, command, about);
    }
    None
}

fn desk(state: &mut State, command: Command, fold: &Fold, about: &Surroundings) -> Option<Option<Action>> {
    let furthest = state.measure.panel;
    let desk = state.desk.as_mut()?;
    let identity = fold.telemetry().identity();
    let menu = desk.stage == Stage::Menu;
    let scroll = |desk: &mut Desk, by: i32| {
        let to = (i32::from(desk.scroll) + by).clamp(0, i32::from(furthest));
        desk.scroll = u16::try_from(to).unwrap_or(0);
    };
    match command {
        Command::Up if menu => desk.step(-1),
        Command::Down if menu => desk.step(1),
        Command::Up => scroll(desk, -1),
        Command::Down => scroll(desk, 1),
        Command::PageUp => scroll(desk, -3),
        Command::PageDown => scroll(desk, 3),
        Command::Left | Command::Right | Command::NextQuantity if matches!(desk.stage, Stage::Asked(..)) => {}
        Command::Left => desk.change(-1, identity),
        Command::Right => desk.change(1, identity),
        Command::NextQuantity => desk.next_field(),
        Command::Enter if menu && about.allow_control && desk.ask(identity).is_some() => {
            (desk.stage, desk.scroll) = (Stage::Confirm, 0);
        }
        Command::Enter => {}
        Command::Confirm => {
            let asked = desk
                .ask(identity)
                .filter(|_| desk.stage == Stage::Confirm && about.allow_control);
            // Why it cannot be asked for stands in the panel.
            if let Some(ask) = asked.filter(|ask| ask.check(fold).is_ok()) {
                // Not the time on the wall: a simulated unit may answer with a time just before it.
                (desk.stage, desk.scroll) = (Stage::Asked(ask, fold.now()), 0);
                return Some(Some(Action::Ask(ask)));
            }
        }
        Command::Back if menu => state.desk = None,
        Command::Back => (desk.stage, desk.scroll) = (Stage::Menu, 0),
        _ => return None,
    }
    Some(None)
}

fn choice(state: &mut State, command: Command, about: &Surroundings) -> Option<Option<Action>> {
    let units = ordered(&about.units);
    let last = units.len().saturating_sub(1);
    let here = selected(state.unit.as_deref(), &units);
    let to = match command {
        Command::Up => here.saturating_sub(1),
        Command::Down => (here + 1).min(last),
        Command::First => 0,
        Command::Last => last,
        Command::Enter => {
            let unit = &units.get(here)?.unit;
            state.notice = Some((about.now, format!("connecting to {}", unit.label())));
            return Some(Some(Action::Choose(Some(unit.id.clone()))));
        }
        _ => return None,
    };
    state.unit = units.get(to).map(|h| h.unit.id.clone());
    Some(None)
}
