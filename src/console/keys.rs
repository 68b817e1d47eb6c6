//! The one table of keys: what they do, the help line, the help screen and the configuration are all built from it.

use super::View;
use super::keymap::Key;
use super::surroundings::SourceKind;
use crossterm::event::KeyCode;

/// What a key asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Command {
    /// End the session.
    Quit,
    /// End the session as an interrupt does.
    Interrupt,
    /// Go to the background.
    Suspend,
    /// Show or hide the help screen.
    Help,
    /// Show or hide how to open the roof page.
    Roof,
    /// Leave the help screen or a panel.
    Back,
    /// Take what is selected.
    Enter,
    /// Show a view.
    Show(View),
    /// Show the next view.
    NextView,
    /// Show the view before.
    PreviousView,
    /// More of the value selected in a panel, else the next view.
    Right,
    /// Less of it, else the view before.
    Left,
    /// One line or entry up.
    Up,
    /// One line or entry down.
    Down,
    /// One page up.
    PageUp,
    /// One page down.
    PageDown,
    /// To the first.
    First,
    /// To the last.
    Last,
    /// Show another value of the band.
    NextQuantity,
    /// Hold the time axis of Trace, or let it go on.
    Hold,
    /// Show a longer or shorter time in Trace.
    NextWindow,
    /// Open the entry line for a mark.
    Mark,
    /// Aim: the antenna rests at the chosen bearing.
    Turned,
    /// Aim: choose the next bearing counter-clockwise.
    BearingLeft,
    /// Aim: choose the next bearing clockwise.
    BearingRight,
    /// Aim: take the last dwell back.
    UndoDwell,
    /// Aim: begin the last dwell anew.
    RepeatDwell,
    /// Aim: hands on the antenna, or off again.
    Hands,
    /// Aim: the antenna goes to another spot.
    NewSpot,
    /// Aim: end with what is known.
    FinishAim,
    /// Beep, faster the better, or be silent.
    Beep,
    /// Try the link again now.
    Retry,
    /// Leave the unit and choose among those in range.
    Units,
    /// Show or hide what may be asked of the unit.
    Control,
    /// Ask the unit for what is shown.
    Confirm,
    /// Hold a recording or a simulation, or let it go on.
    Pause,
    /// To the next reading, held.
    Step,
    /// Move in a recording by so many seconds.
    Seek(i32),
    /// To the beginning of a recording.
    Start,
    /// To the end of a recording.
    End,
    /// Play faster.
    Faster,
    /// Play more slowly.
    Slower,
    /// To where the next finding was raised.
    NextFinding,
    /// To where the finding before was raised.
    PreviousFinding,
    /// Draw everything anew.
    Redraw,
}

/// Sources that a key has a meaning for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum With {
    /// Any.
    Any,
    /// A unit, real or simulated.
    Unit,
    /// What has a pace of its own: a recording, the simulator.
    Paced,
    /// A recording.
    Recording,
}

impl With {
    /// Whether this source is among them.
    pub const fn holds(self, kind: SourceKind) -> bool {
        match self {
            Self::Any => true,
            Self::Unit => !matches!(kind, SourceKind::Recording),
            Self::Paced => !matches!(kind, SourceKind::Radio),
            Self::Recording => matches!(kind, SourceKind::Recording),
        }
    }

    /// Which sources these are, in words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Any => "for every source",
            Self::Unit => "this is a recording, there is no unit to ask",
            Self::Paced => "only a recording or a simulation can be held",
            Self::Recording => "only in a recording",
        }
    }
}

/// A row of the table.
#[derive(Clone, Copy, Debug)]
pub struct Binding {
    /// Name in the configuration, kebab-case.
    pub name: &'static str,
    /// What it does.
    pub command: Command,
    /// Keys, the one to show in the help line first.
    pub keys: &'static [Key],
    /// One or two words for the help line; empty: only on the help screen.
    pub short: &'static str,
    /// Views whose help line shows it; empty: all.
    pub only: &'static [View],
    /// The key means this only in the views of `only`, and there before anything else.
    pub within: bool,
    /// Sources that it has a meaning for.
    pub with: With,
    /// A sentence for the help screen.
    pub help: &'static str,
}

const fn key(code: KeyCode) -> Key {
    Key { code, control: false }
}

const fn letter(c: char) -> Key {
    key(KeyCode::Char(c))
}

const fn control(c: char) -> Key {
    Key {
        code: KeyCode::Char(c),
        control: true,
    }
}

const fn row(
    name: &'static str,
    command: Command,
    keys: &'static [Key],
    short: &'static str,
    help: &'static str,
) -> Binding {
    Binding {
        name,
        command,
        keys,
        short,
        only: &[],
        within: false,
        with: With::Any,
        help,
    }
}

impl Binding {
    /// Whether the help line of a view has a place for it.
    pub fn in_help_line(&self, view: View) -> bool {
        !self.short.is_empty() && (self.only.is_empty() || self.only.contains(&view))
    }

    /// The same, for the help line of these views only.
    const fn in_views(self, only: &'static [View]) -> Self {
        Self { only, ..self }
    }

    /// The same, for these views only: elsewhere the key means something else or nothing.
    const fn within(self, only: &'static [View]) -> Self {
        Self {
            only,
            within: true,
            ..self
        }
    }

    /// The same, for these sources only.
    const fn with(self, with: With) -> Self {
        Self { with, ..self }
    }

    /// Whether the key means this in a view.
    pub(super) fn holds_in(&self, view: View) -> bool {
        !self.within || self.only.contains(&view)
    }
}

use Command as C;

const AIM: &[View] = &[View::Aim];

/// Every key, the ones to know first at the top.
#[rustfmt::skip]
pub const BINDINGS: &[Binding] = &[
    row("turned", C::Turned, &[key(KeyCode::Enter)], "turned", "Aim: the antenna rests at the bearing shown, hands off").within(AIM),
    row("bearing-left", C::BearingLeft, &[key(KeyCode::Left)], "", "Aim: another bearing, counter-clockwise").within(AIM),
    row("bearing-right", C::BearingRight, &[key(KeyCode::Right)], "bearing", "Aim: another bearing, clockwise").within(AIM),
    row("undo-dwell", C::UndoDwell, &[key(KeyCode::Backspace)], "undo", "Aim: take the last dwell back").within(AIM),
    row("repeat-dwell", C::RepeatDwell, &[letter('r')], "repeat", "Aim: begin the last dwell anew").within(AIM),
    row("hands", C::Hands, &[letter(' ')], "", "Aim: hands on the antenna; again: hands off").within(AIM),
    row("new-spot", C::NewSpot, &[letter('n')], "", "Aim: the antenna goes to another spot").within(AIM),
    row("finish-aim", C::FinishAim, &[letter('e')], "end", "Aim: end with what is known").within(AIM),
    row("quit", C::Quit, &[letter('q')], "quit", "End and close the recording"),
    row("help", C::Help, &[letter('?'), key(KeyCode::F(1)), letter('h')], "help", "Show or hide this help"),
    row("bands", C::Show(View::Bands), &[letter('1'), letter('b')], "", "Bands: all bands at once, worst first"),
    row("findings", C::Show(View::Findings), &[letter('2'), letter('f')], "", "Findings: proof, causes, remedies"),
    row("link", C::Show(View::Link), &[letter('3'), letter('l')], "", "Link: connection, unit, what was lost"),
    row("far", C::Show(View::Far), &[letter('4')], "", "Far: one value, to be read from across a room"),
    row("trace", C::Show(View::Trace), &[letter('5'), letter('t')], "", "Trace: how a value went over time"),
    row("aim", C::Show(View::Aim), &[letter('6'), letter('a')], "", "Aim: where to turn, how long to hold, which bearing is best"),
    row("roof", C::Roof, &[letter('o')], "", "Roof page: its code for a phone, and who looks"),
    row("next-view", C::NextView, &[key(KeyCode::Tab)], "view", "Next view"),
    row("previous-view", C::PreviousView, &[key(KeyCode::BackTab)], "", "Previous view"),
    row("right", C::Right, &[key(KeyCode::Right)], "", "Next view; in a panel: more, the next value"),
    row("left", C::Left, &[key(KeyCode::Left)], "", "Previous view; in a panel: less, the value before"),
    row("up", C::Up, &[key(KeyCode::Up), letter('k')], "", "Up: previous finding or band, or scroll"),
    row("down", C::Down, &[key(KeyCode::Down), letter('j')], "move", "Down: next finding or band, or scroll"),
    row("page-up", C::PageUp, &[key(KeyCode::PageUp), letter('u')], "", "Scroll a page up; in Trace: earlier"),
    row("page-down", C::PageDown, &[key(KeyCode::PageDown), letter('d')], "", "Scroll a page down; in Trace: later"),
    row("first", C::First, &[key(KeyCode::Home), letter('g')], "", "To the first"),
    row("last", C::Last, &[key(KeyCode::End), letter('G')], "", "To the last"),
    row("value", C::NextQuantity, &[letter('v')], "value", "Far, Trace: another value (margin, input, RSRP, SINR)").in_views(&[View::Far, View::Trace]),
    row("hold", C::Hold, &[letter('p')], "hold", "Trace: hold the picture; recording goes on").in_views(&[View::Trace]),
    row("window", C::NextWindow, &[letter('w')], "length", "Trace: another length of time").in_views(&[View::Trace]),
    row("beep", C::Beep, &[letter('s')], "sound", "Far, Aim: beep, faster the better; off at first").in_views(&[View::Far, View::Aim]),
    row("mark", C::Mark, &[letter('m')], "mark", "Mark this moment: a room, a note, or nothing"),
    row("enter", C::Enter, &[key(KeyCode::Enter)], "", "Take what is selected in a list or panel"),
    row("back", C::Back, &[key(KeyCode::Esc)], "", "Leave this help or a panel"),
    row("retry", C::Retry, &[letter('r')], "retry link", "Try the link again now").with(With::Unit),
    row("units", C::Units, &[letter('s')], "other unit", "Link: leave this unit, choose among those in range").within(&[View::Link]).with(With::Unit),
    row("control", C::Control, &[letter('c')], "control", "What may be asked of the unit (needs --allow-control)").with(With::Unit),
    row("confirm", C::Confirm, &[control('y')], "", "In the control panel: ask the unit, after reading what it does").with(With::Unit),
    row("pause", C::Pause, &[letter(' ')], "pause", "Recording, simulation: hold, go on").with(With::Paced),
    row("step", C::Step, &[letter('.')], "step", "Recording, simulation: to the next reading").with(With::Paced),
    row("slower", C::Slower, &[letter('-')], "", "Recording, simulation: more slowly").with(With::Paced),
    row("faster", C::Faster, &[letter('+'), letter('=')], "faster", "Recording, simulation: faster").with(With::Paced),
    row("back-10", C::Seek(-10), &[letter('[')], "", "Recording: 10 s back").with(With::Recording),
    row("forward-10", C::Seek(10), &[letter(']')], "+10 s", "Recording: 10 s on").with(With::Recording),
    row("back-60", C::Seek(-60), &[letter('{')], "", "Recording: a minute back").with(With::Recording),
    row("forward-60", C::Seek(60), &[letter('}')], "", "Recording: a minute on").with(With::Recording),
    row("start", C::Start, &[letter('(')], "", "Recording: to its beginning").with(With::Recording),
    row("end", C::End, &[letter(')')], "", "Recording: to its end").with(With::Recording),
    row("next-finding", C::NextFinding, &[letter('n')], "next finding", "Recording: to the next finding").with(With::Recording),
    row("previous-finding", C::PreviousFinding, &[letter('N')], "", "Recording: to the finding before").with(With::Recording),
    row("redraw", C::Redraw, &[control('l')], "", "Draw the screen anew"),
    row("suspend", C::Suspend, &[control('z')], "", "Go to the background; come back with fg"),
    row("interrupt", C::Interrupt, &[control('c')], "", "End at once"),
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_key_means_two_things_and_no_name_is_given_twice() {
        for view in View::ALL {
            for within in [true, false] {
                let rows = BINDINGS
                    .iter()
                    .filter(|b| b.within == within && b.holds_in(*view));
                let keys: Vec<Key> = rows.flat_map(|b| b.keys.iter().copied()).collect();
                for (i, key) in keys.iter().enumerate() {
                    assert!(!keys[..i].contains(key), "{view:?} {key:?}");
                }
            }
        }
        for (i, binding) in BINDINGS.iter().enumerate() {
            assert!(
                BINDINGS[..i].iter().all(|b| b.name != binding.name),
                "{}",
                binding.name
            );
            assert!(!binding.help.is_empty() && !binding.keys.is_empty());
        }
    }

    #[test]
    fn every_view_has_its_number() {
        for (i, view) in View::ALL.iter().enumerate() {
            let digit = char::from_digit(i as u32 + 1, 10).unwrap();
            let shows = BINDINGS.iter().find(|b| b.command == C::Show(*view)).unwrap();
            assert_eq!(shows.keys.first(), Some(&letter(digit)));
        }
    }
}
