//! NR: NR-ARFCN and bands (TS 38.104 clause 5.4.2.1 and Tables 5.2-1 and 5.4.2.3-1, seen).
//!
//! A number does not tell its band: bands overlap. Band tables here are those of frequency range 1.

use super::Direction;
pub use super::nr_table::BANDS;
use super::{ChannelError, Duplex, Span, kilohertz};
use crate::units::Megahertz;

/// The last NR-ARFCN.
pub const LAST_ARFCN: u32 = 3_279_165;

/// A row of the global frequency raster (Table 5.4.2.1-1).
struct Raster {
    step_khz: u32,
    /// Frequency of the first number, kHz.
    base_khz: u32,
    first: u32,
    last: u32,
}

const RASTER: [Raster; 3] = [
    Raster {
        step_khz: 5,
        base_khz: 0,
        first: 0,
        last: 599_999,
    },
    Raster {
        step_khz: 15,
        base_khz: 3_000_000,
        first: 600_000,
        last: 2_016_666,
    },
    Raster {
        step_khz: 60,
        base_khz: 24_250_080,
        first: 2_016_667,
        last: LAST_ARFCN,
    },
];

/// A band and one of its channel rasters; bands with two or three rasters have as many entries.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Band {
    /// Name of the band, such as `n78`.
    pub name: &'static str,
    /// How it separates directions.
    pub duplex: Duplex,
    /// Channel raster, kHz.
    pub raster_khz: u32,
    /// Numbers from one channel of the raster to the next.
    pub step: u32,
    /// Uplink, when it has one; in time division the same as the downlink.
    pub uplink: Option<Span>,
    /// Downlink, when it has one.
    pub downlink: Option<Span>,
}

/// A band a number may belong to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Candidate {
    /// Name of the band.
    pub band: &'static str,
    /// Direction the number would have in it.
    pub direction: Direction,
}

/// Frequency of an NR-ARFCN, F = F_offs + ΔF·(N − N_offs).
///
/// # Errors
/// Above the last number.
pub fn frequency(arfcn: u32) -> Result<Megahertz, ChannelError> {
    let raster = RASTER
        .iter()
        .find(|raster| arfcn <= raster.last)
        .ok_or(ChannelError::NrArfcn(arfcn))?;
    Ok(super::megahertz(
        raster.base_khz + raster.step_khz * (arfcn - raster.first),
    ))
}

/// The NR-ARFCN of a frequency on the global raster.
///
/// # Errors
/// For a frequency between two numbers or beyond the raster.
pub fn arfcn(frequency: Megahertz) -> Result<u32, ChannelError> {
    kilohertz(frequency)
        .and_then(|khz| {
            let raster = RASTER.iter().rev().find(|raster| khz >= raster.base_khz)?;
            let offset = khz - raster.base_khz;
            let number = raster.first + offset / raster.step_khz;
            (offset % raster.step_khz == 0 && number <= raster.last).then_some(number)
        })
        .ok_or(ChannelError::Frequency(frequency))
}

/// Every band whose range holds this number, in the order of the table. Numbers between the channels of a
/// band count too: terminals report the synchronisation block, which has a raster of its own.
#[must_use]
pub fn candidates(arfcn: u32) -> Vec<Candidate> {
    let mut found: Vec<Candidate> = Vec::new();
    for band in &BANDS {
        let within = |span: Option<Span>| span.is_some_and(|span| span.contains(arfcn));
        let direction = match (within(band.downlink), within(band.uplink)) {
            (true, true) => Direction::Both,
            (true, false) => Direction::Downlink,
            (false, true) => Direction::Uplink,
            (false, false) => continue,
        };
        let candidate = Candidate {
            band: band.name,
            direction,
        };
        if !found.contains(&candidate) {
            found.push(candidate);
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_number_comes_back() {
        for number in 0..=LAST_ARFCN {
            assert_eq!(arfcn(frequency(number).unwrap()), Ok(number));
        }
        assert_eq!(
            frequency(LAST_ARFCN + 1),
            Err(ChannelError::NrArfcn(LAST_ARFCN + 1))
        );
        for f in [0.001, 3000.005, 24_249.01, 24_250.0, 100_000.02, f64::NAN, -5.0] {
            assert!(arfcn(Megahertz(f)).is_err(), "{f}");
        }
    }

    #[test]
    fn every_span_lies_on_its_raster_within_its_edges() {
        for band in &BANDS {
            for span in [band.uplink, band.downlink].into_iter().flatten() {
                let (low, high) = span.edges();
                let (first, last) = (frequency(span.first).unwrap(), frequency(span.last).unwrap());
                assert_eq!((span.last - span.first) % band.step, 0, "{}", band.name);
                // The outermost channels lie within one raster step of the edges.
                let step = Megahertz(f64::from(band.raster_khz) / 1000.0 + 1e-9);
                assert!(first >= low && first - low < step, "{} {low} {first}", band.name);
                assert!(last <= high && high - last < step, "{} {high} {last}", band.name);
                let spacing = frequency(span.first + band.step).unwrap() - first;
                assert!(
                    (spacing.0 * 1000.0 - f64::from(band.raster_khz)).abs() < 1e-6,
                    "{}",
                    band.name
                );
            }
            if band.duplex == Duplex::Tdd {
                assert_eq!(band.uplink, band.downlink);
            }
        }
    }

    #[test]
    fn overlapping_bands_are_all_named() {
        let bands = |number| candidates(number).iter().map(|c| c.band).collect::<Vec<_>>();
        assert_eq!(bands(632_628), ["n77", "n78"]);
        assert_eq!(bands(422_000), ["n1", "n65", "n66"]);
        assert_eq!(bands(2_100_000), [""; 0]);
        assert!(candidates(384_000).contains(&Candidate {
            band: "n1",
            direction: Direction::Uplink
        }));
        assert!(candidates(384_000).contains(&Candidate {
            band: "n39",
            direction: Direction::Both
        }));
    }

    #[test]
    fn the_table_is_the_data_file() {
        let rows: Vec<Vec<&str>> = include_str!("../../data/bands_nr.csv")
            .lines()
            .skip(1)
            .map(|row| row.split(',').collect())
            .collect();
        assert_eq!(rows.len(), BANDS.len());
        for (cells, band) in rows.iter().zip(&BANDS) {
            assert_eq!(cells[0], band.name);
            assert_eq!(format!("{:?}", band.duplex).to_uppercase(), cells[1]);
            assert_eq!(cells[7], band.raster_khz.to_string());
            for (span, [low, high, first, step, last]) in [
                (band.uplink, [2, 3, 8, 9, 10]),
                (band.downlink, [4, 5, 11, 12, 13]),
            ] {
                let Some(span) = span else {
                    assert_eq!([cells[low], cells[first]], ["", ""]);
                    continue;
                };
                let edges: [f64; 2] = [cells[low], cells[high]].map(|mhz| mhz.parse().unwrap());
                assert_eq!(edges, [span.edges().0.0, span.edges().1.0]);
                assert_eq!(
                    [cells[first], cells[step], cells[last]],
                    [span.first, band.step, span.last].map(|n| n.to_string())
                );
            }
        }
    }
}
