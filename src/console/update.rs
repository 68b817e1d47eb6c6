//! From a command to the next state of the screen.

use super::aiming::{aim, choose_place};
use super::condition::worst_first;
use super::entries::{Entry, entries};
use super::marking::Entered;
use super::panel;
use super::{BINDINGS, Command, State, Surroundings, View};
use crate::aiming::Step;
use crate::control::Ask;
use crate::event::{Mark, SessionTime};
use crate::fold::Fold;
use crossterm::event::KeyEvent;

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
    /// Something was done with the antenna.
    Aim(Step),
    /// Ask the link to try again now.
    Retry,
    /// Connect to the unit with this identifier; `None`: leave the unit and let a person choose.
    Choose(Option<String>),
    /// Ask this of the unit. It was allowed and confirmed.
    Ask(Ask),
    /// Move in time.
    Play(Play),
    /// Forget what is on the terminal and draw all of it.
    Redraw,
}

/// How to move in the time of a recording or a simulation.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Play {
    /// Hold, or go on.
    Pause,
    /// To the next reading, then hold.
    Step,
    /// By so many seconds.
    Seek(i32),
    /// To the beginning.
    Start,
    /// To the end.
    End,
    /// Faster.
    Faster,
    /// More slowly.
    Slower,
    /// To where the next finding was raised.
    NextFinding,
    /// To where the finding before was raised.
    PreviousFinding,
}

/// Carries out a key: it goes to the entry line while that is open, else it is looked up in the table of keys.
pub fn press(state: &mut State, key: &KeyEvent, fold: &Fold, about: &Surroundings) -> Option<Action> {
    let now = about.now;
    match state.marking.key(key) {
        Some(Entered::Saved(mark)) => {
            let said = mark.to_string();
            let colon = if said.is_empty() { "" } else { ": " };
            state.notice = Some((now, format!("marked at {now}{colon}{said}")));
            Some(Action::Mark(mark))
        }
        Some(Entered::Stays | Entered::Left) => None,
        None => {
            let command = state.keys.command(key, context(state, about))?;
            update(state, command, fold, about)
        }
    }
}

/// The view whose own keys go first; none while a panel or a list has the arrows.
fn context(state: &State, about: &Surroundings) -> Option<View> {
    let taken = state.help || state.desk.is_some() || (about.choosing && state.view != View::Link);
    (!taken).then_some(state.view)
}

/// Changes the state as the command asks; what is beyond the screen is returned.
pub fn update(state: &mut State, command: Command, fold: &Fold, about: &Surroundings) -> Option<Action> {
    let now = about.now;
    if let Some(binding) = BINDINGS.iter().find(|b| b.command == command)
        && !binding.with.holds(about.kind)
    {
        state.notice = Some((now, format!("no {} here: {}", binding.name, binding.with.words())));
        return None;
    }
    if let Some(done) = panel::update(state, command, fold, about) {
        return done;
    }
    let play = |play| Some(Action::Play(play));
    match command {
        Command::Quit => return Some(Action::Quit),
        Command::Interrupt => return Some(Action::Interrupt),
        Command::Suspend => return Some(Action::Suspend),
        Command::Redraw => return Some(Action::Redraw),
        Command::Mark => state.marking.open(),
        Command::Retry => {
            state.notice = Some((now, "asked the link to try again".to_owned()));
            return Some(Action::Retry);
        }
        Command::Turned
        | Command::UndoDwell
        | Command::RepeatDwell
        | Command::Hands
        | Command::NewSpot
        | Command::FinishAim => return aim(state, command, fold, now),
        Command::BearingLeft => choose_place(state, fold, false),
        Command::BearingRight => choose_place(state, fold, true),
        Command::Beep => {
            state.beep = !state.beep;
            let said = if state.beep {
                "sound on: faster is better"
            } else {
                "sound off"
            };
            state.notice = Some((now, said.to_owned()));
        }
        Command::Help => show(state, state.view, !state.help),
        Command::Roof => {
            (state.roof, state.help, state.scroll) = (!state.roof || state.help, false, 0);
        }
        Command::Back => show(state, state.view, false),
        Command::Show(view) => show(state, view, false),
        Command::NextView | Command::Right => show(state, state.view.step(1), false),
        Command::PreviousView | Command::Left => show(state, state.view.step(View::ALL.len() - 1), false),
        Command::Hold => {
            state.trace.end = match state.trace.end {
                Some(_) => None,
                None => Some(now),
            };
        }
        Command::NextWindow => state.trace.next_window(),
        Command::PageUp | Command::PageDown | Command::Last if in_trace(state) => {
            travel(state, command, fold, now);
        }
        Command::NextQuantity => state.quantity = state.quantity.next(),
        Command::Units => {
            if state.view != View::Link {
                state.notice = Some((now, "another unit is chosen in the Link view".to_owned()));
                return None;
            }
            state.notice = Some((now, "looking for units in range".to_owned()));
            return Some(Action::Choose(None));
        }
        Command::Pause => return play(Play::Pause),
        Command::Step => return play(Play::Step),
        Command::Seek(seconds) => return play(Play::Seek(seconds)),
        Command::Start => return play(Play::Start),
        Command::End => return play(Play::End),
        Command::Faster => return play(Play::Faster),
        Command::Slower => return play(Play::Slower),
        Command::NextFinding => return play(Play::NextFinding),
        Command::PreviousFinding => return play(Play::PreviousFinding),
        Command::Control | Command::Confirm | Command::Enter => {}
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
    if state.view != view || state.help != help || state.roof {
        (state.view, state.help, state.roof, state.scroll) = (view, help, false, 0);
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
    let overlaid = state.help || state.roof;
    if !overlaid && matches!(state.view, View::Far | View::Trace | View::Aim) {
        return choose_band(state, fold, by);
    }
    if overlaid || state.view != View::Findings {
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

fn in_trace(state: &State) -> bool {
    state.view == View::Trace && !state.help && !state.roof
}

/// Moves the time axis by half its length, within what is remembered; at its end it goes on with the session.
fn travel(state: &mut State, command: Command, fold: &Fold, now: SessionTime) {
    let half = state.trace.window / 2;
    let end = state.trace.end.unwrap_or(now);
    let oldest = shown_band(state, fold)
        .and_then(|p| state.history.oldest(p))
        .unwrap_or(now);
    let to = match command {
        Command::PageUp => SessionTime::from(end - SessionTime::from(half)).max((oldest + half).min(now)),
        Command::PageDown => end + half,
        _ => now,
    };
    state.trace.end = (to < now).then_some(to);
}

/// Moves the band shown along the band table.
fn choose_band(state: &mut State, fold: &Fold, by: i32) {
    let Some(here) = shown_band(state, fold).and_then(|p| i32::try_from(p).ok()) else {
        return;
    };
    let last = i32::try_from(fold.bands().len().saturating_sub(1)).unwrap_or(i32::MAX);
    state.band = usize::try_from(here.saturating_add(by).clamp(0, last)).ok();
}

/// Position of the band that views of one band show: the chosen one, else the worst.
pub(super) fn shown_band(state: &State, fold: &Fold) -> Option<usize> {
    state
        .band
        .filter(|p| *p < fold.bands().len())
        .or_else(|| worst_first(fold).first().copied())
}

/// Index of the selected entry; the first if what was selected is gone.
pub(super) fn selected(state: &State, entries: &[Entry<'_>]) -> usize {
    state
        .selected
        .and_then(|key| entries.iter().position(|e| e.key() == key))
        .unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::console::state::Measure;
    use crate::console::tests::support::Session;
    use Command as C;
    use crossterm::event::KeyCode;

    fn after(commands: &[Command]) -> (State, Option<Action>) {
        let session = Session::troubled();
        let mut state = State {
            measure: Measure {
                furthest: 12,
                page: 5,
                ..Measure::default()
            },
            ..State::default()
        };
        let mut last = None;
        for command in commands {
            last = update(&mut state, *command, &session.fold, &session.about);
        }
        (state, last)
    }

    #[test]
    fn keys_that_only_change_the_screen() {
        let table: &[(&[Command], View, bool, u16)] = &[
            (&[], View::Bands, false, 0),
            (&[C::Show(View::Link)], View::Link, false, 0),
            (&[C::NextView], View::Findings, false, 0),
            (&[C::NextView; 6], View::Bands, false, 0),
            (&[C::PreviousView], View::Aim, false, 0),
            (&[C::Help], View::Bands, true, 0),
            (&[C::Help, C::Help], View::Bands, false, 0),
            (&[C::Help, C::Back], View::Bands, false, 0),
            (&[C::Help, C::Show(View::Bands)], View::Bands, false, 0),
            (&[C::Back], View::Bands, false, 0),
            (&[C::Down, C::Down, C::Up], View::Bands, false, 1),
            (&[C::Up], View::Bands, false, 0),
            (&[C::PageDown], View::Bands, false, 5),
            (
                &[C::PageDown, C::PageDown, C::PageDown, C::PageDown],
                View::Bands,
                false,
                12,
            ),
            (&[C::Last], View::Bands, false, 12),
            (&[C::Last, C::First], View::Bands, false, 0),
            (&[C::Last, C::PageUp], View::Bands, false, 7),
            (&[C::PageDown, C::NextView], View::Findings, false, 0),
            (&[C::PageDown, C::Show(View::Bands)], View::Bands, false, 5),
        ];
        for (commands, view, help, scroll) in table {
            let (state, action) = after(commands);
            assert_eq!(
                (state.view, state.help, state.scroll),
                (*view, *help, *scroll),
                "{commands:?}"
            );
            assert_eq!(action, None, "{commands:?}");
        }
    }

    #[test]
    fn keys_that_reach_beyond_the_screen() {
        for (command, action) in [
            (C::Quit, Action::Quit),
            (C::Interrupt, Action::Interrupt),
            (C::Suspend, Action::Suspend),
            (C::Redraw, Action::Redraw),
            (C::Retry, Action::Retry),
        ] {
            assert_eq!(after(&[command]).1, Some(action));
            // Neither the help screen nor another view takes a key away.
            assert_eq!(after(&[C::NextView, C::Help, command]).1, after(&[command]).1);
        }
    }

    #[test]
    fn the_selection_moves_within_the_list() {
        let session = Session::troubled();
        let all = entries(&session.fold);
        let at = |commands: &[Command]| {
            let commands = [&[C::Show(View::Findings)], commands].concat();
            selected(&after(&commands).0, &all)
        };
        assert_eq!(at(&[]), 0);
        assert_eq!(at(&[C::Up]), 0);
        assert_eq!(at(&[C::Down, C::Down]), 2);
        assert_eq!(at(&[C::Last]), all.len() - 1);
        assert_eq!(at(&[C::Last, C::Down, C::Up]), all.len() - 2);
        assert_eq!(at(&[C::Last, C::First]), 0);
    }

    #[test]
    fn far_begins_with_the_worst_band_and_moves_along_the_table() {
        let session = Session::troubled();
        let band = |commands: &[Command]| {
            let commands = [&[C::Show(View::Far)], commands].concat();
            shown_band(&after(&commands).0, &session.fold)
        };
        assert_eq!(band(&[]), Some(3));
        assert_eq!(band(&[C::Down]), Some(3));
        assert_eq!(band(&[C::Up]), Some(2));
        assert_eq!(band(&[C::First]), Some(0));
        assert_eq!(shown_band(&State::default(), &Session::scanning().fold), None);
    }

    #[test]
    fn the_time_axis_is_held_and_moved_within_what_is_remembered() {
        let session = Session::troubled();
        let mut state = State::new(View::Trace);
        state.history.clone_from(&session.history);
        state.trace.window = std::time::Duration::from_secs(4);
        let now = session.about.now;
        let mut press = |command| {
            update(&mut state, command, &session.fold, &session.about);
            state.trace.end
        };
        assert_eq!(press(C::PageDown), None);
        assert_eq!(press(C::PageUp), Some(SessionTime::from_millis(11_100)));
        assert_eq!(press(C::PageDown), None);
        for _ in 0..20 {
            press(C::PageUp);
        }
        // Half the axis still shows the oldest reading, of 1.2 s.
        assert_eq!(press(C::PageUp), Some(SessionTime::from_millis(3_200)));
        assert_eq!(press(C::Last), None);
        assert_eq!(press(C::Hold), Some(now));
        assert_eq!(press(C::Hold), None);
    }

    #[test]
    fn a_finding_stays_selected_while_it_clears() {
        let mut session = Session::troubled();
        let mut state = State::new(View::Findings);
        update(&mut state, C::First, &session.fold, &session.about);
        update(&mut state, C::Down, &session.fold, &session.about);
        let chosen = state.selected;
        assert!(chosen.is_some());
        session.readings(15_000, |_, _| {});
        assert!(session.fold.findings().is_empty());
        let all = entries(&session.fold);
        assert_eq!(all.get(selected(&state, &all)).map(Entry::key), chosen);
    }

    #[test]
    fn a_mark_is_entered_and_answered_and_its_letters_are_no_commands() {
        let session = Session::troubled();
        let mut state = State::default();
        let mut press = |code| {
            let key = KeyEvent::new(code, crossterm::event::KeyModifiers::NONE);
            super::press(&mut state, &key, &session.fold, &session.about)
        };
        for letter in "mhall 2q".chars() {
            assert_eq!(press(KeyCode::Char(letter)), None);
        }
        let mark = Mark {
            room: Some("hall 2q".to_owned()),
            ..Mark::default()
        };
        assert_eq!(press(KeyCode::Enter), Some(Action::Mark(mark)));
        assert_eq!(press(KeyCode::Char('q')), Some(Action::Quit));
        assert_eq!(state.view, View::Bands);
        assert_eq!(
            state.notice.map(|(_, text)| text).as_deref(),
            Some("marked at 13.1 s: room hall 2q")
        );
    }
}
