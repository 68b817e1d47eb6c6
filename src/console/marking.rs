//! The entry line for marks: what a handset has in a room, or a note, entered while the values above go on.
//!
//! Made for gloves: up and down choose a field, left and right change it, Enter saves; nothing has to be typed. Stage and
//! room stay for the next entry, because a walk goes room by room.

pub(super) mod strip;

use crate::event::{Mark, Stage};
use crossterm::event::{KeyCode, KeyEvent, KeyEventKind, KeyModifiers};

/// Characters that a text field takes.
const LONGEST: usize = 200;
/// Where a level begins, dBm, and a quality, dB, when they are stepped and not typed.
const FIRST_LEVEL: i32 = -100;
const FIRST_QUALITY: i32 = 5;

/// A field of the entry line.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) enum Field {
    /// Before or after the work.
    Stage,
    /// Which room.
    #[default]
    Room,
    /// What the handset shows, dBm.
    Level,
    /// What the handset shows, dB.
    Quality,
    /// An ordinary call.
    Call,
    /// An upload.
    Upload,
    /// Free text.
    Note,
}

impl Field {
    /// Every field, in their order on the screen.
    pub(super) const ALL: &[Field] = &[
        Field::Stage,
        Field::Room,
        Field::Level,
        Field::Quality,
        Field::Call,
        Field::Upload,
        Field::Note,
    ];

    /// Its name on the screen.
    pub(super) const fn name(self) -> &'static str {
        match self {
            Field::Stage => "stage",
            Field::Room => "room",
            Field::Level => "level",
            Field::Quality => "quality",
            Field::Call => "call",
            Field::Upload => "upload",
            Field::Note => "note",
        }
    }

    fn step(self, by: usize) -> Field {
        let here = Self::ALL.iter().position(|f| *f == self).unwrap_or(0);
        Self::ALL[(here + by) % Self::ALL.len()]
    }
}

/// The entry line: open or not, and what stands in it.
#[derive(Clone, Debug, Default)]
pub(super) struct Marking {
    open: bool,
    field: Field,
    stage: Option<Stage>,
    room: String,
    level: String,
    quality: String,
    call: Option<bool>,
    upload: Option<bool>,
    note: String,
    /// Rooms entered so far, to step through.
    rooms: Vec<String>,
}

/// What a key did to the entry line.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Entered {
    /// Something in the line changed, or nothing.
    Stays,
    /// The line is closed and nothing is saved.
    Left,
    /// The line is closed and this is to be saved.
    Saved(Mark),
}

impl Marking {
    /// Opens the line.
    pub(super) fn open(&mut self) {
        self.open = true;
    }

    /// Whether the line is open, and keys go to it.
    pub(super) fn is_open(&self) -> bool {
        self.open
    }

    /// The field that keys go to.
    pub(super) fn field(&self) -> Field {
        self.field
    }

    /// What stands in a field; `None` while nothing does.
    pub(super) fn text(&self, field: Field) -> Option<String> {
        let filled = |text: &String| (!text.is_empty()).then(|| text.clone());
        let answer = |ok: bool| if ok { "ok" } else { "failed" }.to_owned();
        match field {
            Field::Stage => self.stage.map(|s| s.name().to_owned()),
            Field::Room => filled(&self.room),
            Field::Level => filled(&self.level).map(|v| format!("{v} dBm")),
            Field::Quality => filled(&self.quality).map(|v| format!("{v} dB")),
            Field::Call => self.call.map(answer),
            Field::Upload => self.upload.map(answer),
            Field::Note => filled(&self.note),
        }
    }

    /// Takes a key; `None` if it is none for the line: with Control, or released.
    pub(super) fn key(&mut self, key: &KeyEvent) -> Option<Entered> {
        if !self.open || key.kind == KeyEventKind::Release || key.modifiers.contains(KeyModifiers::CONTROL) {
            return None;
        }
        match key.code {
            KeyCode::Up | KeyCode::BackTab => self.field = self.field.step(Field::ALL.len() - 1),
            KeyCode::Down | KeyCode::Tab => self.field = self.field.step(1),
            KeyCode::Left => self.change(-1),
            KeyCode::Right => self.change(1),
            KeyCode::Backspace | KeyCode::Delete => self.delete(),
            KeyCode::Char(c) => self.type_in(c),
            KeyCode::Enter => {
                let mark = self.take();
                return Some(Entered::Saved(mark));
            }
            KeyCode::Esc => {
                self.open = false;
                return Some(Entered::Left);
            }
            _ => {}
        }
        Some(Entered::Stays)
    }

    /// The next or the previous value of the field.
    fn change(&mut self, by: i32) {
        match self.field {
            Field::Stage => {
                self.stage = turn(&[None, Some(Stage::Before), Some(Stage::After)], &self.stage, by);
            }
            Field::Room => {
                // One more than there are, so that a walk needs no typing.
                let mut rooms = self.rooms.clone();
                rooms.push(format!("room {}", rooms.len() + 1));
                self.room = match rooms.contains(&self.room) {
                    true => turn(&rooms, &self.room, by),
                    false => rooms[0].clone(),
                };
            }
            Field::Level => step(&mut self.level, FIRST_LEVEL, by),
            Field::Quality => step(&mut self.quality, FIRST_QUALITY, by),
            Field::Call => self.call = turn(&ANSWERS, &self.call, by),
            Field::Upload => self.upload = turn(&ANSWERS, &self.upload, by),
            Field::Note => {}
        }
    }

    fn type_in(&mut self, c: char) {
        let (text, takes) = match self.field {
            Field::Room => (&mut self.room, !c.is_control()),
            Field::Note => (&mut self.note, !c.is_control()),
            Field::Level => (&mut self.level, c.is_ascii_digit() || "-.".contains(c)),
            Field::Quality => (&mut self.quality, c.is_ascii_digit() || "-.".contains(c)),
            // Space turns a choice on, as it would press a button.
            Field::Stage | Field::Call | Field::Upload if c == ' ' => return self.change(1),
            Field::Stage | Field::Call | Field::Upload => return,
        };
        if takes && text.chars().count() < LONGEST {
            text.push(c);
        }
    }

    fn delete(&mut self) {
        match self.field {
            Field::Stage => self.stage = None,
            Field::Room => drop(self.room.pop()),
            Field::Level => drop(self.level.pop()),
            Field::Quality => drop(self.quality.pop()),
            Field::Call => self.call = None,
            Field::Upload => self.upload = None,
            Field::Note => drop(self.note.pop()),
        }
    }

    /// The mark as entered; the line is closed and made ready for the next room.
    fn take(&mut self) -> Mark {
        let filled = |text: String| Some(text.trim().to_owned()).filter(|t| !t.is_empty());
        let number = |text: String| text.parse::<f64>().ok().filter(|v| v.is_finite());
        let mut mark = Mark {
            room: filled(self.room.clone()),
            level_dbm: number(std::mem::take(&mut self.level)),
            quality_db: number(std::mem::take(&mut self.quality)),
            call_ok: self.call.take(),
            upload_ok: self.upload.take(),
            note: filled(std::mem::take(&mut self.note)),
            ..Mark::default()
        };
        // A stage left from the last room says nothing about a bare mark or a note.
        mark.stage = self.stage.filter(|_| mark.is_walk_entry());
        if let Some(room) = &mark.room
            && !self.rooms.contains(room)
        {
            self.rooms.push(room.clone());
        }
        (self.open, self.field) = (false, Field::default());
        mark
    }
}

const ANSWERS: [Option<bool>; 3] = [None, Some(true), Some(false)];

/// The value `by` places from this one, round and round.
fn turn<T: Clone + PartialEq>(values: &[T], value: &T, by: i32) -> T {
    let here = values.iter().position(|v| v == value).unwrap_or(0);
    let length = values.len();
    let to = if by < 0 { here + length - 1 } else { here + 1 };
    values[to % length].clone()
}

/// A number one up or down; the first time where it usually is.
fn step(text: &mut String, first: i32, by: i32) {
    let next = match text.parse::<f64>() {
        Ok(value) if value.is_finite() => value + f64::from(by),
        _ => f64::from(first),
    };
    *text = next.clamp(-200.0, 200.0).to_string();
}

#[cfg(test)]
mod tests;
