//! Channel numbers and bands of LTE and NR. Frequencies are whole kilohertz inside, so that conversions are exact.

pub mod lte;
mod lte_table;
pub mod nr;
mod nr_table;

use thiserror::Error;

use crate::units::Megahertz;

/// How a band separates its directions.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Duplex {
    /// Frequency division: uplink and downlink apart.
    Fdd,
    /// Time division: both on the same frequencies.
    Tdd,
    /// Supplementary downlink, no uplink of its own.
    Sdl,
    /// Supplementary uplink, no downlink of its own.
    Sul,
    /// Broadcast downlink only.
    Sdo,
}

/// Which way a channel carries.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Direction {
    /// From the base station.
    Downlink,
    /// To the base station.
    Uplink,
    /// Both in turn (time division).
    Both,
}

/// One direction of a band: its edges and its channel numbers.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Span {
    /// Lower edge, kHz.
    pub low_khz: u32,
    /// Upper edge, kHz.
    pub high_khz: u32,
    /// First channel number.
    pub first: u32,
    /// Last channel number.
    pub last: u32,
}

impl Span {
    /// Lower and upper edge.
    #[must_use]
    pub fn edges(&self) -> (Megahertz, Megahertz) {
        (megahertz(self.low_khz), megahertz(self.high_khz))
    }

    /// True for channel numbers of this span.
    #[must_use]
    pub fn contains(&self, number: u32) -> bool {
        (self.first..=self.last).contains(&number)
    }
}

/// Why there is no such channel.
#[derive(Clone, Copy, Debug, Error, PartialEq)]
pub enum ChannelError {
    /// An EARFCN between or beyond the bands.
    #[error("EARFCN {0} belongs to no LTE band; check the number, and whether it is an NR-ARFCN")]
    Earfcn(u32),
    /// An NR-ARFCN beyond the global raster.
    #[error("NR-ARFCN {0} is above 3279165, the last one; check the number")]
    NrArfcn(u32),
    /// A band number LTE does not know.
    #[error("LTE has no band {0}; check the number")]
    Band(u16),
    /// The band has no such direction.
    #[error("LTE band {band} has no {}; choose another band", direction_name(*direction))]
    NoDirection {
        /// The band.
        band: u16,
        /// The direction asked for.
        direction: Direction,
    },
    /// A frequency that is outside the band or between two channels.
    #[error("{0} is outside the band or off its raster; give a channel's centre frequency")]
    Frequency(Megahertz),
}

fn direction_name(direction: Direction) -> &'static str {
    match direction {
        Direction::Downlink => "downlink",
        Direction::Uplink => "uplink",
        Direction::Both => "shared frequencies",
    }
}

/// From whole kilohertz; by division, so that 1842.5 is the nearest number to 1842.5.
fn megahertz(khz: u32) -> Megahertz {
    Megahertz(f64::from(khz) / 1000.0)
}

/// Whole kilohertz, or nothing for a frequency that is not (to 1 Hz) or not between 0 and 1 THz.
fn kilohertz(frequency: Megahertz) -> Option<u32> {
    let khz = libm::round(frequency.0 * 1000.0);
    let whole = (frequency.0 * 1000.0 - khz).abs() < 1e-3;
    (whole && (0.0..1e9).contains(&khz)).then_some(khz as u32)
}
