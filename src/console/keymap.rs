//! Keys as a person writes and reads them, and the table of keys in effect: the built-in one, changed by the
//! configuration. Help line, help screen and every hint on the screen are built from it.

use super::View;
use super::keys::{BINDINGS, Binding, Command};
use super::surroundings::SourceKind;
use crossterm::event::{KeyCode, KeyEvent, KeyEventKind, KeyModifiers};

/// A key, with Control or without.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Key {
    /// Which.
    pub code: KeyCode,
    /// With Control.
    pub control: bool,
}

/// Keys that have a name in the configuration.
const NAMED: &[(&str, KeyCode)] = &[
    ("enter", KeyCode::Enter),
    ("esc", KeyCode::Esc),
    ("tab", KeyCode::Tab),
    ("shift-tab", KeyCode::BackTab),
    ("space", KeyCode::Char(' ')),
    ("backspace", KeyCode::Backspace),
    ("delete", KeyCode::Delete),
    ("insert", KeyCode::Insert),
    ("up", KeyCode::Up),
    ("down", KeyCode::Down),
    ("left", KeyCode::Left),
    ("right", KeyCode::Right),
    ("page-up", KeyCode::PageUp),
    ("page-down", KeyCode::PageDown),
    ("home", KeyCode::Home),
    ("end", KeyCode::End),
];

impl Key {
    /// Reads `q`, `G`, `?`, `f1`, `ctrl-l`, `page-down`, `space` and the like; case counts only for single letters.
    pub fn parse(text: &str) -> Option<Self> {
        let lower = text.to_lowercase();
        if let Some(rest) = lower.strip_prefix("ctrl-") {
            let key = Self::parse(rest)?;
            return (!key.control && matches!(key.code, KeyCode::Char(_)))
                .then_some(Self { control: true, ..key });
        }
        let mut letters = text.chars();
        let code = match (letters.next(), letters.next()) {
            (Some(one), None) if !one.is_control() => KeyCode::Char(one),
            _ => match NAMED.iter().find(|(name, _)| *name == lower) {
                Some((_, code)) => *code,
                None => KeyCode::F(
                    lower
                        .strip_prefix('f')?
                        .parse()
                        .ok()
                        .filter(|n| (1..=12).contains(n))?,
                ),
            },
        };
        Some(Self { code, control: false })
    }

    /// Name in the configuration; [`Key::parse`] reads it back.
    pub fn name(self) -> String {
        let plain = match self.code {
            KeyCode::Char(c) if c != ' ' => c.to_string(),
            KeyCode::F(n) => format!("f{n}"),
            code => match NAMED.iter().find(|(_, known)| *known == code) {
                Some((name, _)) => (*name).to_owned(),
                None => code.to_string(),
            },
        };
        if self.control {
            format!("ctrl-{plain}")
        } else {
            plain
        }
    }

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

    /// Whether it takes two fingers or a reach: fit for what must not happen by accident.
    pub fn is_deliberate(self) -> bool {
        self.control || matches!(self.code, KeyCode::F(_))
    }
}

/// The keys in effect, a row for each of [`BINDINGS`].
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct KeyMap {
    rows: Vec<Vec<Key>>,
}

impl Default for KeyMap {
    fn default() -> Self {
        Self {
            rows: BINDINGS.iter().map(|b| b.keys.to_vec()).collect(),
        }
    }
}

impl KeyMap {
    /// Every binding with its keys, in the order of the table.
    pub fn rows(&self) -> impl Iterator<Item = (&'static Binding, &[Key])> {
        BINDINGS.iter().zip(self.rows.iter().map(Vec::as_slice))
    }

    /// Gives the binding of this name other keys; `false` if there is none.
    pub fn bind(&mut self, name: &str, keys: Vec<Key>) -> bool {
        let Some(row) = BINDINGS.iter().position(|b| b.name == name) else {
            return false;
        };
        self.rows[row] = keys;
        true
    }

    /// A key that stands for two things at once, with both names. Keys of one view may mean something else elsewhere.
    pub fn clash(&self) -> Option<(Key, &'static str, &'static str)> {
        let all: Vec<(Key, &Binding)> = self
            .rows()
            .flat_map(|(b, keys)| keys.iter().map(move |k| (*k, b)))
            .collect();
        let at_once = |a: &Binding, b: &Binding| match (a.within, b.within) {
            (true, true) => a.only.iter().any(|view| b.only.contains(view)),
            (a, b) => a == b,
        };
        all.iter().enumerate().find_map(|(i, (key, binding))| {
            let (_, first) = all[..i].iter().find(|(k, b)| k == key && at_once(b, binding))?;
            Some((*key, first.name, binding.name))
        })
    }

    /// What a key press asks for in a view, or outside any; `None` for keys without a meaning and for releases.
    pub fn command(&self, event: &KeyEvent, view: Option<View>) -> Option<Command> {
        if event.kind == KeyEventKind::Release {
            return None;
        }
        let pressed = Key {
            code: event.code,
            control: event.modifiers.contains(KeyModifiers::CONTROL),
        };
        self.meant(pressed, view).map(|binding| binding.command)
    }

    /// The binding that a key stands for in a view: its own keys go first.
    fn meant(&self, key: Key, view: Option<View>) -> Option<&'static Binding> {
        let rows = || {
            self.rows()
                .filter(|(_, keys)| keys.contains(&key))
                .map(|(b, _)| b)
        };
        rows()
            .find(|b| b.within && view.is_some_and(|v| b.holds_in(v)))
            .or_else(|| rows().find(|b| !b.within))
    }

    /// Keys and words of the help line of a view, the ones to know first at the front.
    pub fn help_line(&self, view: View, kind: SourceKind) -> impl Iterator<Item = (Key, &'static str)> {
        let rows = self
            .rows()
            .filter(move |(b, _)| b.in_help_line(view) && b.with.holds(kind));
        rows.filter_map(move |(binding, keys)| {
            let key = *keys.first()?;
            // Not where the view takes the key for something else.
            let meant = self.meant(key, Some(view))?;
            (meant.name == binding.name).then_some((key, binding.short))
        })
    }

    /// Name on the screen of the first key for a command; empty where it has none.
    pub fn label(&self, command: Command, ascii: bool) -> String {
        self.rows()
            .find(|(b, _)| b.command == command)
            .and_then(|(_, keys)| keys.first())
            .map_or_else(String::new, |key| key.label(ascii))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn press(code: KeyCode, modifiers: KeyModifiers) -> Option<Command> {
        KeyMap::default().command(&KeyEvent::new(code, modifiers), Some(View::Bands))
    }

    #[test]
    fn every_key_of_the_table_is_read_back_by_its_name() {
        for (_, keys) in KeyMap::default().rows() {
            for key in keys {
                assert_eq!(Key::parse(&key.name()), Some(*key), "{}", key.name());
            }
        }
    }

    #[test]
    fn keys_as_people_write_them() {
        let plain = |code| Some(Key { code, control: false });
        assert_eq!(Key::parse("G"), plain(KeyCode::Char('G')));
        assert_eq!(Key::parse("-"), plain(KeyCode::Char('-')));
        assert_eq!(Key::parse("F5"), plain(KeyCode::F(5)));
        assert_eq!(Key::parse("Page-Down"), plain(KeyCode::PageDown));
        assert_eq!(Key::parse("f"), plain(KeyCode::Char('f')));
        assert_eq!(Key::parse("Ctrl-L").map(Key::name).as_deref(), Some("ctrl-l"));
        for wrong in ["", "f0", "f13", "ctrl-", "ctrl-up", "ctrl-ctrl-a", "quit", "\n"] {
            assert_eq!(Key::parse(wrong), None, "{wrong:?}");
        }
    }

    #[test]
    fn shift_does_not_hide_a_letter_and_control_is_not_a_letter() {
        assert_eq!(
            press(KeyCode::Char('G'), KeyModifiers::SHIFT),
            Some(Command::Last)
        );
        assert_eq!(
            press(KeyCode::Char('?'), KeyModifiers::SHIFT),
            Some(Command::Help)
        );
        assert_eq!(
            press(KeyCode::Char('l'), KeyModifiers::CONTROL),
            Some(Command::Redraw)
        );
        assert_eq!(press(KeyCode::Char('q'), KeyModifiers::CONTROL), None);
    }

    #[test]
    fn views_have_keys_of_their_own() {
        let press = |code, view| KeyMap::default().command(&KeyEvent::new(code, KeyModifiers::NONE), view);
        assert_eq!(
            press(KeyCode::Right, Some(View::Aim)),
            Some(Command::BearingRight)
        );
        assert_eq!(press(KeyCode::Right, Some(View::Far)), Some(Command::Right));
        assert_eq!(
            press(KeyCode::Char('r'), Some(View::Aim)),
            Some(Command::RepeatDwell)
        );
        assert_eq!(press(KeyCode::Char('r'), Some(View::Link)), Some(Command::Retry));
        assert_eq!(press(KeyCode::Char('s'), Some(View::Link)), Some(Command::Units));
        assert_eq!(press(KeyCode::Char('s'), Some(View::Far)), Some(Command::Beep));
        // While a panel has the arrows.
        assert_eq!(press(KeyCode::Right, None), Some(Command::Right));
        assert_eq!(press(KeyCode::Enter, None), Some(Command::Enter));
    }

    #[test]
    fn a_released_key_asks_for_nothing() {
        let mut event = KeyEvent::new(KeyCode::Char('q'), KeyModifiers::NONE);
        event.kind = KeyEventKind::Release;
        assert_eq!(KeyMap::default().command(&event, None), None);
    }

    #[test]
    fn a_key_is_given_another_meaning() {
        let mut map = KeyMap::default();
        let key = Key::parse("x").unwrap();
        assert!(map.bind("quit", vec![key]));
        assert!(!map.bind("stop", vec![key]));
        assert_eq!(map.label(Command::Quit, false), "x");
        assert_eq!(map.clash(), None);
        assert!(map.bind("help", vec![key]));
        assert_eq!(map.clash(), Some((key, "quit", "help")));
    }

    #[test]
    fn what_changes_a_unit_is_not_confirmed_by_accident() {
        for (binding, keys) in KeyMap::default().rows() {
            if binding.command == Command::Confirm {
                assert!(keys.iter().all(|k| k.is_deliberate()));
            }
        }
        assert_eq!(
            press(KeyCode::Char('1'), KeyModifiers::NONE),
            Some(Command::Show(View::Bands))
        );
    }
}
