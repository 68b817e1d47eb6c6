//! Keys of the Aim view: which bearing is chosen, and what was done with the antenna.

use super::update::Action;
use super::{Command, State};
use crate::aiming::{Prompt, Step};
use crate::event::SessionTime;
use crate::fold::Fold;

/// What was done with the antenna; nothing without an aim.
pub(super) fn aim(state: &mut State, command: Command, fold: &Fold, now: SessionTime) -> Option<Action> {
    let session = fold.aim();
    let prompt = session.prompt()?;
    let chosen = state.place.take();
    let bearing = |place: usize| session.bearing(place).map(|b| Step::turned(b.degrees()));
    let step = match (command, prompt, chosen) {
        (Command::Turned, _, Some(place)) | (Command::Turned, Prompt::Turn(place), None) => bearing(place),
        (Command::Turned, Prompt::Settle, None) | (Command::Hands, Prompt::Settle, _) => Some(Step::Settled),
        (Command::Hands, Prompt::Hold, _) => Some(Step::Moving),
        (Command::UndoDwell, ..) if !session.visits().is_empty() => Some(Step::Undo),
        (Command::RepeatDwell, ..) if !session.visits().is_empty() => Some(Step::Repeat),
        (Command::FinishAim, ..) if prompt != Prompt::Done => Some(Step::Finish),
        _ => None,
    };
    let said = match &step {
        Some(Step::Turned(_)) => "the dwell begins",
        Some(Step::Settled) => "the dwell begins anew",
        Some(Step::Moving) => "hands on: nothing counts until they are off",
        Some(Step::Undo) => "the last dwell is taken back",
        Some(Step::Repeat) => "the last dwell begins anew",
        Some(Step::Finish) => "ended with what is known",
        None => "nothing to do for this key now",
    };
    state.notice = Some((now, said.to_owned()));
    step.map(Action::Aim)
}

/// Moves the bearing that is chosen by hand to the next place; back at the advised one nothing is chosen.
pub(super) fn choose_place(state: &mut State, fold: &Fold, clockwise: bool) {
    let session = fold.aim();
    let advised = match session.prompt() {
        Some(Prompt::Turn(place)) => Some(place),
        _ => session.place(),
    };
    let Some(from) = state.place.or(advised) else {
        return;
    };
    state.place = session
        .neighbour(from, clockwise)
        .filter(|to| Some(*to) != advised);
}

/// Position of the band whose level Aim shows: the chosen one, else the weightiest of the aim.
pub(super) fn aimed_band(state: &State, fold: &Fold) -> Option<usize> {
    let plan = fold.aim().plan()?;
    let number = |p: usize| fold.telemetry().identity().band(p).map_or(0, |b| b.number);
    state.band.filter(|p| *p < fold.bands().len()).or_else(|| {
        (0..fold.bands().len()).rev().max_by(|a, b| {
            let weight = |p: usize| plan.weight(number(p));
            weight(*a).total_cmp(&weight(*b))
        })
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::console::tests::support::{Aiming, Session};
    use crate::console::{View, update};
    use Command as C;

    /// What keys in Aim ask for, with the screen's state after them.
    fn after(session: &Session, commands: &[Command]) -> (State, Option<Step>) {
        let mut state = State::new(View::Aim);
        let mut last = None;
        for command in commands {
            last = update(&mut state, *command, &session.fold, &session.about);
        }
        match last {
            Some(Action::Aim(step)) => (state, Some(step)),
            _ => (state, None),
        }
    }

    #[test]
    fn the_arrows_choose_a_bearing_and_enter_takes_it() {
        let session = Session::aiming(Aiming::Turning);
        let Some(Prompt::Turn(advised)) = session.fold.aim().prompt() else {
            panic!("a turn is advised");
        };
        let bearing = |place: usize| {
            session
                .fold
                .aim()
                .bearing(place)
                .map(|b| Step::turned(b.degrees()))
        };
        let turning = |commands: &[Command]| after(&session, commands).1;
        assert_eq!(turning(&[C::Turned]), bearing(advised));
        assert_eq!(turning(&[C::BearingRight, C::Turned]), bearing((advised + 1) % 8));
        let twice_left = [C::BearingLeft, C::BearingLeft, C::Turned];
        assert_eq!(turning(&twice_left), bearing((advised + 6) % 8));
        // Back at the advised one.
        let there_and_back = [C::BearingLeft, C::BearingRight, C::Turned];
        assert_eq!(turning(&there_and_back), bearing(advised));
        assert_eq!(turning(&[C::UndoDwell]), Some(Step::Undo));
        assert_eq!(turning(&[C::RepeatDwell]), Some(Step::Repeat));
        assert_eq!(turning(&[C::FinishAim]), Some(Step::Finish));
    }

    #[test]
    fn while_the_antenna_is_held_enter_alone_means_nothing() {
        let session = Session::aiming(Aiming::Holding);
        assert_eq!(after(&session, &[C::Turned]).1, None);
        assert!(after(&session, &[C::Turned]).0.notice.is_some());
        assert!(after(&session, &[C::BearingRight, C::Turned]).1.is_some());
        assert_eq!(after(&session, &[C::Hands]).1, Some(Step::Moving));
        assert_eq!(after(&Session::aiming(Aiming::Done), &[C::FinishAim]).1, None);
    }

    #[test]
    fn without_an_aim_no_key_does_anything() {
        for command in [C::Turned, C::Hands, C::UndoDwell, C::BearingLeft] {
            let (state, step) = after(&Session::troubled(), &[command]);
            assert_eq!((state.place, step), (None, None));
        }
    }
}
