//! Radio arithmetic for building repeaters.
//!
//! Every formula names its source and how sure we are of it:
//!
//! | tag | meaning |
//! | --- | --- |
//! | seen | the text or table of the named source was read |
//! | secondary | read in a secondary source (open-source code, notes on the standard), not in the standard |
//! | memory | from memory, the text was not seen: verify before anything normative depends on it |
//! | derived | algebra given here |
//! | practice | common practice, no source |
//!
//! Functions are pure. Those that can be asked for something outside the range in which their formula means
//! anything return a [`RangeError`] that names the quantity, the value and the range.

pub mod beam;
pub mod channel;
pub mod circular;
pub mod coax;
pub mod entry;
pub mod exposure;
pub mod feedback;
pub mod indoor;
pub mod isolation;
pub mod limits;
pub mod material;
pub mod mismatch;
pub mod noise;
pub mod normal;
pub mod pattern;
pub mod propagation;
pub mod quantities;
mod range;
pub mod report;
pub mod samples;
pub mod units;

pub use range::{Range, RangeError};
pub use units::{
    Bearing, Db, Dbi, Dbm, DbmPerMegahertz, Degrees, Megahertz, Metres, Microseconds, Milliwatts,
    Probability, WattsPerSquareMetre,
};
