//! State of the screen: which view, what is selected, how far it is scrolled.

use super::History;
use super::desk::Desk;
use super::entries::EntryKey;
use super::keymap::KeyMap;
use super::marking::Marking;
use super::quantity::Quantity;
use crate::event::SessionTime;
use std::time::Duration;

/// A view.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, clap::ValueEnum)]
pub enum View {
    /// All bands at once, worst first.
    #[default]
    Bands,
    /// What is wrong, with proof and remedies.
    Findings,
    /// The link, the recording and the loss accounts.
    Link,
    /// One value, to be read from across a room.
    Far,
    /// How a value went over time.
    Trace,
    /// Where to turn the donor antenna, and what was found.
    Aim,
}

impl View {
    /// Every view, in the order of its key.
    pub const ALL: &[View] = &[
        View::Bands,
        View::Findings,
        View::Link,
        View::Far,
        View::Trace,
        View::Aim,
    ];

    /// Title on the screen.
    pub const fn title(self) -> &'static str {
        match self {
            View::Bands => "Bands",
            View::Findings => "Findings",
            View::Link => "Link",
            View::Far => "Far",
            View::Trace => "Trace",
            View::Aim => "Aim",
        }
    }

    /// The view `steps` further on, round and round.
    pub fn step(self, steps: usize) -> View {
        let here = Self::ALL.iter().position(|v| *v == self).unwrap_or(0);
        Self::ALL[(here + steps) % Self::ALL.len()]
    }
}

/// How much of a view there is to scroll; drawing measures it, scrolling keeps within it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Measure {
    /// Furthest useful scroll offset, in lines.
    pub furthest: u16,
    /// Lines that a page moves.
    pub page: u16,
    /// Furthest useful scroll offset of the panel below the view, in lines.
    pub panel: u16,
}

/// The part of the session that Trace shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TimeAxis {
    /// Its end while it is held; `None`: now.
    pub end: Option<SessionTime>,
    /// Its length.
    pub window: Duration,
}

impl TimeAxis {
    /// Lengths to choose from, the usual one first.
    pub const WINDOWS: &[Duration] = &[
        Duration::from_secs(60),
        Duration::from_secs(180),
        Duration::from_secs(600),
        Duration::from_secs(20),
    ];

    /// The next length, round and round.
    pub fn next_window(&mut self) {
        let here = Self::WINDOWS.iter().position(|w| *w == self.window).unwrap_or(0);
        self.window = Self::WINDOWS[(here + 1) % Self::WINDOWS.len()];
    }
}

impl Default for TimeAxis {
    fn default() -> Self {
        Self {
            end: None,
            window: Self::WINDOWS[0],
        }
    }
}

/// State of the screen.
#[derive(Clone, Debug, Default)]
pub struct State {
    /// The view shown.
    pub view: View,
    /// The help screen is open instead of the view.
    pub help: bool,
    /// The roof page's link is shown instead of the view.
    pub roof: bool,
    /// Lines that the view is scrolled by.
    pub scroll: u16,
    /// What is selected in Findings; `None`: the first.
    pub selected: Option<EntryKey>,
    /// Band shown by views of one band, by its position; `None`: the worst.
    pub band: Option<usize>,
    /// Value shown by views of one value.
    pub quantity: Quantity,
    /// Time axis of Trace.
    pub trace: TimeAxis,
    /// Place that the arrows chose in Aim; `None`: the one advised.
    pub place: Option<usize>,
    /// Beep, faster the better.
    pub beep: bool,
    /// Readings that Trace draws.
    pub history: History,
    /// The control panel, while it is open.
    pub desk: Option<Desk>,
    /// Identifier of the unit that is selected in the choice; `None`: the first.
    pub unit: Option<String>,
    /// Keys in effect.
    pub keys: KeyMap,
    /// A short answer to a key, and when it was given.
    pub notice: Option<(SessionTime, String)>,
    /// The entry line for marks.
    pub(super) marking: Marking,
    /// Extent of the view as last drawn.
    pub measure: Measure,
}

impl State {
    /// The screen at its start, with this view.
    pub fn new(view: View) -> Self {
        Self {
            view,
            ..Self::default()
        }
    }
}
