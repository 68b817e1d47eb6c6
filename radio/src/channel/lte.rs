//! LTE: EARFCN and bands (TS 36.104 clause 5.7.3 and Tables 5.5-1 and 5.7.3-1, seen; band 47 secondary).

pub use super::lte_table::BANDS;
use super::{ChannelError, Direction, Duplex, Span, kilohertz, megahertz};
use crate::units::Megahertz;

/// Channel spacing, kHz.
const RASTER_KHZ: u32 = 100;

/// An operating band.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Band {
    /// Band number.
    pub number: u16,
    /// How it separates directions.
    pub duplex: Duplex,
    /// Uplink, when it has one; in time division the same as the downlink.
    pub uplink: Option<Span>,
    /// Downlink, when it has one.
    pub downlink: Option<Span>,
}

/// What an EARFCN stands for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Channel {
    /// The band; every EARFCN belongs to one only.
    pub band: u16,
    /// Its direction.
    pub direction: Direction,
    /// Its centre frequency.
    pub frequency: Megahertz,
}

/// The band of this number.
#[must_use]
pub fn band(number: u16) -> Option<&'static Band> {
    BANDS.iter().find(|band| band.number == number)
}

/// Band, direction and frequency of an EARFCN: F = F_low + 0.1·(N − N_offs).
///
/// # Errors
/// For a number that belongs to no band.
pub fn channel(earfcn: u32) -> Result<Channel, ChannelError> {
    let found = BANDS.iter().find_map(|band| {
        let within = |span: Option<Span>| span.filter(|span| span.contains(earfcn));
        let (span, direction) = match (within(band.downlink), within(band.uplink)) {
            (Some(span), Some(_)) => (span, Direction::Both),
            (Some(span), None) => (span, Direction::Downlink),
            (None, Some(span)) => (span, Direction::Uplink),
            (None, None) => return None,
        };
        let frequency = megahertz(span.low_khz + RASTER_KHZ * (earfcn - span.first));
        Some(Channel {
            band: band.number,
            direction,
            frequency,
        })
    });
    found.ok_or(ChannelError::Earfcn(earfcn))
}

/// The EARFCN of a frequency in a band and direction (both directions are the same in time division).
///
/// # Errors
/// For an unknown band, a direction the band has not, or a frequency off its raster.
pub fn earfcn(number: u16, direction: Direction, frequency: Megahertz) -> Result<u32, ChannelError> {
    let band = band(number).ok_or(ChannelError::Band(number))?;
    let span = match direction {
        Direction::Uplink => band.uplink,
        Direction::Downlink => band.downlink,
        Direction::Both => band.downlink.filter(|_| band.duplex == Duplex::Tdd),
    }
    .ok_or(ChannelError::NoDirection {
        band: number,
        direction,
    })?;
    kilohertz(frequency)
        .and_then(|khz| khz.checked_sub(span.low_khz))
        .filter(|offset| offset % RASTER_KHZ == 0)
        .map(|offset| span.first + offset / RASTER_KHZ)
        .filter(|earfcn| span.contains(*earfcn))
        .ok_or(ChannelError::Frequency(frequency))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_span_holds_ten_channels_a_megahertz() {
        for band in &BANDS {
            for span in [band.uplink, band.downlink].into_iter().flatten() {
                let channels = span.last - span.first + 1;
                assert_eq!(
                    channels * RASTER_KHZ,
                    span.high_khz - span.low_khz,
                    "band {}",
                    band.number
                );
            }
            match band.duplex {
                Duplex::Tdd => assert_eq!(band.uplink, band.downlink),
                Duplex::Fdd => assert!(band.uplink.is_some() && band.downlink.is_some()),
                Duplex::Sul => assert!(band.downlink.is_none()),
                Duplex::Sdl | Duplex::Sdo => assert!(band.uplink.is_none()),
            }
        }
    }

    #[test]
    fn every_number_comes_back() {
        let mut channels = 0_u32;
        for number in 0..140_000 {
            if let Ok(found) = channel(number) {
                assert_eq!(earfcn(found.band, found.direction, found.frequency), Ok(number));
                channels += 1;
            }
        }
        let listed: u32 = BANDS
            .iter()
            .flat_map(|band| {
                if band.duplex == Duplex::Tdd {
                    [None, band.downlink]
                } else {
                    [band.uplink, band.downlink]
                }
            })
            .flatten()
            .map(|span| span.last - span.first + 1)
            .sum();
        assert_eq!(channels, listed, "a number belongs to two bands");
    }

    #[test]
    fn what_is_no_channel_is_refused() {
        assert_eq!(channel(7400), Err(ChannelError::Earfcn(7400)));
        assert_eq!(channel(u32::MAX), Err(ChannelError::Earfcn(u32::MAX)));
        let downlink = Direction::Downlink;
        assert_eq!(
            earfcn(16, downlink, Megahertz(740.0)),
            Err(ChannelError::Band(16))
        );
        assert!(earfcn(29, Direction::Uplink, Megahertz(720.0)).is_err());
        assert!(earfcn(3, Direction::Both, Megahertz(1842.5)).is_err());
        for f in [1842.55, 1880.0, 1804.9, f64::NAN, -1.0, 1e12] {
            assert!(earfcn(3, downlink, Megahertz(f)).is_err(), "{f}");
        }
    }

    #[test]
    fn the_table_is_the_data_file() {
        let mut rows = 0;
        for row in include_str!("../../data/bands_lte.csv").lines().skip(1) {
            let cells: Vec<&str> = row.split(',').collect();
            let band = band(cells[0].parse().unwrap()).unwrap();
            assert_eq!(format!("{:?}", band.duplex).to_uppercase(), cells[1]);
            for (span, columns) in [(band.uplink, [2, 3, 11, 12]), (band.downlink, [4, 5, 8, 9])] {
                let text = columns.map(|column| cells[column]);
                let Some(span) = span else {
                    assert_eq!(text, [""; 4]);
                    continue;
                };
                assert_eq!(
                    text[..2]
                        .iter()
                        .map(|mhz| mhz.parse().unwrap())
                        .collect::<Vec<f64>>(),
                    [span.edges().0.0, span.edges().1.0]
                );
                assert_eq!(text[2..], [span.first.to_string(), span.last.to_string()]);
            }
            rows += 1;
        }
        assert_eq!(rows, BANDS.len());
    }
}
