//! The hand-over document: one HTML file that stands alone, read on screen or printed.
//!
//! [`Gatherer`] takes in a session event by event and keeps a bounded amount; [`render`] makes the page. No clock, no
//! I/O, no script in the page: the same sessions give the same bytes.

mod curve;
mod page;
mod parts;
mod plot;
mod quantity;
mod read;
mod recent;
mod spread;
#[cfg(test)]
mod tests;
mod text;
mod trouble;
mod visit;
mod walk;
mod work;

pub use page::render;
pub use read::read;
pub use visit::{Gatherer, Visit};
