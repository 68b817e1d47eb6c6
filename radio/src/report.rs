//! How a terminal reports what it measured: indices of 3GPP, whole decibels or halves.

use crate::range::{Check, RangeError};

/// A quantity with a report mapping.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Quantity {
    /// LTE RSRP, classic range −140 to −44 dBm, index 0 to 97 (TS 36.133 Table 9.1.4-1, seen).
    LteRsrp,
    /// LTE RSRQ, −19.5 to −3 dB, index 0 to 34 (TS 36.133 Table 9.1.7-1, seen).
    LteRsrq,
    /// LTE RS-SINR, −23 to 40 dB, index 0 to 127 (TS 36.133 Table 9.1.17.1-1, seen).
    LteRsSinr,
    /// NR SS-RSRP (layer 3), −156 to −31 dBm, index 0 to 126 (TS 38.133 Table 10.1.6.1-1, seen).
    NrSsRsrp,
    /// NR SS-RSRQ, −43 to 20 dB, index 0 to 127 (TS 38.133 Table 10.1.11.1-1, seen).
    NrSsRsrq,
    /// NR SS-SINR, −23 to 40 dB, index 0 to 127 (TS 38.133 Table 10.1.16.1-1, seen).
    NrSsSinr,
}

impl Quantity {
    /// All of them.
    pub const ALL: [Self; 6] = [
        Self::LteRsrp,
        Self::LteRsrq,
        Self::LteRsSinr,
        Self::NrSsRsrp,
        Self::NrSsRsrq,
        Self::NrSsSinr,
    ];

    /// The name used on the command line.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::LteRsrp => "lte-rsrp",
            Self::LteRsrq => "lte-rsrq",
            Self::LteRsSinr => "lte-rs-sinr",
            Self::NrSsRsrp => "nr-ss-rsrp",
            Self::NrSsRsrq => "nr-ss-rsrq",
            Self::NrSsSinr => "nr-ss-sinr",
        }
    }

    /// The quantity of this name.
    #[must_use]
    pub fn from_name(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|quantity| quantity.name() == name)
    }

    /// Lower edge of index 1 (below it: index 0), width of a bin, and highest index.
    fn mapping(self) -> (f64, f64, u8) {
        match self {
            Self::LteRsrp => (-140.0, 1.0, 97),
            Self::LteRsrq => (-19.5, 0.5, 34),
            Self::LteRsSinr | Self::NrSsSinr => (-23.0, 0.5, 127),
            Self::NrSsRsrp => (-156.0, 1.0, 126),
            Self::NrSsRsrq => (-43.0, 0.5, 127),
        }
    }

    /// Width of one bin: 1 or 0.5 dB.
    #[must_use]
    pub fn step(self) -> f64 {
        self.mapping().1
    }

    /// The index a terminal reports for `value` (dBm or dB); a value on a boundary belongs to the bin above.
    /// Values beyond the table report its first or last index. Range: −1000 to 1000.
    ///
    /// # Errors
    /// When the value is out of range or no number.
    pub fn index(self, value: f64) -> Result<u8, RangeError> {
        let value = Check("report mapping").within(
            "value",
            value,
            "",
            -1000.0..=1000.0,
            "give the value in dBm or dB",
        )?;
        let (first_edge, step, last) = self.mapping();
        let bins = libm::floor((value - first_edge) / step) + 1.0;
        Ok(bins.clamp(0.0, f64::from(last)) as u8)
    }

    /// The values that report as `index`: from (inclusive) and up to (exclusive). The first bin has no lower
    /// end and the last no upper one.
    ///
    /// # Errors
    /// When the table has no such index.
    pub fn values(self, index: u8) -> Result<(Option<f64>, Option<f64>), RangeError> {
        let (first_edge, step, last) = self.mapping();
        let at = Check("report mapping").within(
            "index",
            f64::from(index),
            "",
            0.0..=f64::from(last),
            "check which quantity the index belongs to",
        )?;
        let low = (index > 0).then_some(first_edge + step * (at - 1.0));
        let high = (index < last).then_some(first_edge + step * at);
        Ok((low, high))
    }
}

/// RSRP in dBm from a threshold field of TS 38.331 (RSRP-Range): v − 156 (seen).
#[must_use]
pub fn threshold_rsrp(value: u8) -> f64 {
    f64::from(value) - 156.0
}

/// RSRQ in dB from a threshold field of TS 38.331 (RSRQ-Range): (v − 87)/2 (seen).
#[must_use]
pub fn threshold_rsrq(value: u8) -> f64 {
    (f64::from(value) - 87.0) / 2.0
}

/// SINR in dB from a threshold field of TS 38.331 (SINR-Range): (v − 46)/2 (seen).
#[must_use]
pub fn threshold_sinr(value: u8) -> f64 {
    (f64::from(value) - 46.0) / 2.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn every_bin_reads_back() {
        for quantity in Quantity::ALL {
            assert_eq!(Quantity::from_name(quantity.name()), Some(quantity));
            let last = quantity.mapping().2;
            for index in 0..=last {
                let (low, high) = quantity.values(index).unwrap();
                let inside = low.unwrap_or_else(|| high.unwrap() - 0.1);
                assert_eq!(quantity.index(inside), Ok(index), "{quantity:?}");
                if let Some(high) = high {
                    assert_eq!(quantity.index(high), Ok(index + 1), "{quantity:?}");
                }
            }
            assert!(quantity.index(f64::NAN).is_err());
        }
        assert!(Quantity::LteRsrq.values(35).is_err());
    }

    proptest! {
        #[test]
        fn an_index_never_falls_as_the_value_rises(value in -200.0..50.0f64, more in 0.0..10.0f64) {
            for quantity in Quantity::ALL {
                prop_assert!(quantity.index(value).unwrap() <= quantity.index(value + more).unwrap());
            }
        }
    }
}
