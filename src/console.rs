//! The live console: what a technician sees while hands are on the antenna.
//!
//! Drawing takes `&Fold`, a little about the program itself ([`Surroundings`]) and the state of the screen ([`State`]),
//! and returns nothing but cells: no clock, no I/O. [`Console`] owns the terminal and is the only asynchronous part.

mod aiming;
mod beep;
mod choice;
pub(crate) mod condition;
mod desk;
mod draw;
mod entries;
mod glyphs;
mod history;
mod keymap;
mod keys;
mod marking;
mod panel;
pub(crate) mod quantity;
mod run;
mod state;
mod surroundings;
mod terminal;
#[cfg(test)]
pub(crate) mod tests;
mod theme;
mod update;
mod views;
mod widgets;
pub(crate) mod words;

pub use choice::Heard;
pub use desk::{Desk, Stage};
pub use draw::draw;
pub use history::History;
pub use keymap::{Key, KeyMap};
pub use keys::{BINDINGS, Binding, Command, With};
pub use quantity::Quantity;
pub use run::{Console, ConsoleError, Input, Options};
pub use state::{State, View};
pub use surroundings::{Outline, Position, Queue, RoofPage, SourceKind, Surroundings};
pub use terminal::background_fault;
pub use theme::{ColorDepth, Look, ThemeName};
pub use update::{Action, Play, press, update};
