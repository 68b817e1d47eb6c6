//! The values of a band that a report tells about.

use crate::telemetry::Reading;

/// A value of a band.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Quantity {
    /// The smaller loop margin of both directions.
    Margin,
    /// Downlink gain in effect.
    DlGain,
    /// Uplink gain in effect.
    UlGain,
    /// Composite input at the donor port.
    Input,
    /// Output at the server port.
    DlOutput,
    /// Output at the donor port.
    UlOutput,
    /// RSRP of the wanted cell.
    Rsrp,
    /// SINR of the wanted cell.
    Sinr,
    /// Downlink gain as set.
    DlGainSet,
    /// Uplink gain as set.
    UlGainSet,
}

use Quantity as Q;

impl Quantity {
    /// Every value, in the order of a table.
    pub(super) const ALL: [Quantity; 10] = [
        Q::Margin,
        Q::DlGain,
        Q::UlGain,
        Q::Input,
        Q::DlOutput,
        Q::UlOutput,
        Q::Rsrp,
        Q::Sinr,
        Q::DlGainSet,
        Q::UlGainSet,
    ];

    /// The value in tenths; `None` where the unit does not give it.
    pub(super) fn tenths(self, reading: &Reading) -> Option<i16> {
        let t = &reading.telemetry;
        match self {
            Q::Margin => reading.margin().map(|v| v.0),
            Q::DlGain => t.dl_gain.map(|v| v.0),
            Q::UlGain => t.ul_gain.map(|v| v.0),
            Q::Input => t.dl_input.map(|v| v.0),
            Q::DlOutput => t.extra.dl_output.map(|v| v.0),
            Q::UlOutput => t.ul_output.map(|v| v.0),
            Q::Rsrp => t.extra.cell.rsrp.map(|v| v.0),
            Q::Sinr => t.extra.cell.sinr.map(|v| v.0),
            Q::DlGainSet => t.extra.dl_gain_set.map(|v| v.0),
            Q::UlGainSet => t.extra.ul_gain_set.map(|v| v.0),
        }
    }

    /// Name in the document.
    pub(super) const fn name(self) -> &'static str {
        match self {
            Q::Margin => "Loop margin",
            Q::DlGain => "Downlink gain",
            Q::UlGain => "Uplink gain",
            Q::Input => "Donor input",
            Q::DlOutput => "Downlink output",
            Q::UlOutput => "Uplink output",
            Q::Rsrp => "RSRP",
            Q::Sinr => "SINR",
            Q::DlGainSet => "Downlink gain set",
            Q::UlGainSet => "Uplink gain set",
        }
    }

    /// Its name within a sentence.
    pub(super) fn in_sentence(self) -> String {
        match self {
            Q::Rsrp | Q::Sinr => self.name().to_owned(),
            _ => self.name().to_lowercase(),
        }
    }

    /// Its unit.
    pub(super) const fn unit(self) -> &'static str {
        match self {
            Q::Input | Q::DlOutput | Q::UlOutput | Q::Rsrp => "dBm",
            _ => "dB",
        }
    }

    /// Its place in [`Quantity::ALL`].
    pub(super) const fn index(self) -> usize {
        self as usize
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_index_is_the_place() {
        for (i, quantity) in Quantity::ALL.iter().enumerate() {
            assert_eq!(quantity.index(), i);
        }
    }
}
