//! The one table of keys: what they do, the help line and the help screen are all built from it.

use super::View;
use crossterm::event::{KeyCode, KeyEvent, KeyEventKind, KeyModifiers};

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
    /// Leave the help screen.
    Back,
    /// Show a view.
    Show(View),
    /// Show the next view.
    NextView,
    /// Show the view before.
    PreviousView,
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
    /// Draw everything anew.
    Redraw,
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
    /// A sentence for the help screen.
    pub help: &'static str,
}

/// A key, with Control or without.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Key {
    /// Which.
    pub code: KeyCode,
    /// With Control.
    pub control: bool,
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
        help,
    }
}

impl Binding {
    /// Whether the help line of a view shows it: not where another row takes its first key.
    pub fn in_help_line(&self, view: View) -> bool {
        let shown = !self.short.is_empty() && (self.only.is_empty() || self.only.contains(&view));
        shown
            && self
                .keys
                .first()
                .and_then(|key| meant(*key, view))
                .is_some_and(|b| b.name == self.name)
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

    /// Whether the key means this in a view.
    fn holds_in(&self, view: View) -> bool {
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
    row("next-view", C::NextView, &[key(KeyCode::Tab), key(KeyCode::Right)], "view", "Next view"),
    row("previous-view", C::PreviousView, &[key(KeyCode::BackTab), key(KeyCode::Left)], "", "Previous view"),
    row("up", C::Up, &[key(KeyCode::Up), letter('k')], "", "Up: previous finding or band, or scroll"),
    row("down", C::Down, &[key(KeyCode::Down), letter('j')], "move", "Down: next finding or band, or scroll"),
    row("page-up", C::PageUp, &[key(KeyCode::PageUp), letter('u')], "", "Scroll a page up; in Trace: earlier"),
    row("page-down", C::PageDown, &[key(KeyCode::PageDown), letter('d'), letter(' ')], "page", "Scroll a page down; in Trace: later"),
    row("first", C::First, &[key(KeyCode::Home), letter('g')], "", "To the first"),
    row("last", C::Last, &[key(KeyCode::End), letter('G')], "", "To the last"),
    row("value", C::NextQuantity, &[letter('v')], "value", "Far, Trace: another value (margin, input, RSRP, SINR)").in_views(&[View::Far, View::Trace]),
    row("hold", C::Hold, &[letter('p')], "hold", "Trace: hold the picture; recording goes on").in_views(&[View::Trace]),
    row("window", C::NextWindow, &[letter('w')], "length", "Trace: another length of time").in_views(&[View::Trace]),
    row("beep", C::Beep, &[letter('s')], "sound", "Far, Aim: beep, faster the better; off at first").in_views(&[View::Far, View::Aim]),
    row("mark", C::Mark, &[letter('m')], "mark", "Mark this moment: a room, a note, or nothing"),
    row("retry", C::Retry, &[letter('r')], "retry link", "Try the link again now"),
    row("back", C::Back, &[key(KeyCode::Esc)], "", "Leave this help"),
    row("redraw", C::Redraw, &[control('l')], "", "Draw the screen anew"),
    row("suspend", C::Suspend, &[control('z')], "", "Go to the background; come back with fg"),
    row("interrupt", C::Interrupt, &[control('c')], "", "End at once"),
];

/// The row that says what a key means in a view.
fn meant(key: Key, view: View) -> Option<&'static Binding> {
    let rows = || BINDINGS.iter().filter(|b| b.keys.contains(&key));
    rows()
        .find(|b| b.within && b.holds_in(view))
        .or_else(|| rows().find(|b| !b.within))
}

/// What a key press asks for in a view; `None` for keys without a meaning and for releases.
pub fn command(event: &KeyEvent, view: View) -> Option<Command> {
    if event.kind == KeyEventKind::Release {
        return None;
    }
    let pressed = Key {
        code: event.code,
        control: event.modifiers.contains(KeyModifiers::CONTROL),
    };
    meant(pressed, view).map(|b| b.command)
}

impl Key {
    /// Name on the screen.
    pub fn label(self, ascii: bool) -> String {
        let arrow = |unicode: &str, plain: &str| if ascii { plain } else { unicode }.to_owned();
        match self.code {
            KeyCode::Up => arrow("↑", "Up"),
            KeyCode::Down => arrow("↓", "Down"),
            KeyCode::Left => arrow("←", "Left"),
            KeyCode::Right => arrow("→", "Right"),
            KeyCode::BackTab => "Shift-Tab".to_owned(),
            KeyCode::Backspace => "Bksp".to_owned(),
            KeyCode::PageUp => "PgUp".to_owned(),
            KeyCode::PageDown => "PgDn".to_owned(),
            KeyCode::Char(' ') => "Space".to_owned(),
            KeyCode::Char(c) if self.control => format!("Ctrl-{}", c.to_ascii_uppercase()),
            code => code.to_string(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn press(code: KeyCode, modifiers: KeyModifiers) -> Option<Command> {
        command(&KeyEvent::new(code, modifiers), View::Bands)
    }

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
            assert_eq!(
                press(KeyCode::Char(digit), KeyModifiers::NONE),
                Some(C::Show(*view))
            );
        }
    }

    #[test]
    fn shift_does_not_hide_a_letter_and_control_is_not_a_letter() {
        assert_eq!(press(KeyCode::Char('G'), KeyModifiers::SHIFT), Some(C::Last));
        assert_eq!(press(KeyCode::Char('?'), KeyModifiers::SHIFT), Some(C::Help));
        assert_eq!(press(KeyCode::Char('l'), KeyModifiers::CONTROL), Some(C::Redraw));
        assert_eq!(press(KeyCode::Char('q'), KeyModifiers::CONTROL), None);
    }

    #[test]
    fn aiming_has_its_own_keys() {
        let press = |code, view| command(&KeyEvent::new(code, KeyModifiers::NONE), view);
        assert_eq!(press(KeyCode::Right, View::Aim), Some(C::BearingRight));
        assert_eq!(press(KeyCode::Right, View::Far), Some(C::NextView));
        assert_eq!(press(KeyCode::Char('r'), View::Aim), Some(C::RepeatDwell));
        assert_eq!(press(KeyCode::Char('r'), View::Link), Some(C::Retry));
        assert_eq!(press(KeyCode::Enter, View::Link), None);
    }

    #[test]
    fn a_released_key_asks_for_nothing() {
        let mut event = KeyEvent::new(KeyCode::Char('q'), KeyModifiers::NONE);
        event.kind = KeyEventKind::Release;
        assert_eq!(command(&event, View::Bands), None);
    }
}
