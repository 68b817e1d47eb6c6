//! Who the unit is: device information, features, bands.

use booster_profile::{Band, BandTable, BoosterFeature, Characteristic, Technology};

/// Strings of the Device Information Service, as far as the unit gives them.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct DeviceInformation {
    /// Manufacturer name.
    pub manufacturer: Option<String>,
    /// Model number.
    pub model: Option<String>,
    /// Serial number.
    pub serial: Option<String>,
    /// Firmware revision.
    pub firmware: Option<String>,
    /// Hardware revision.
    pub hardware: Option<String>,
}

impl DeviceInformation {
    /// Takes over a string that was read; bytes that are not UTF-8 are replaced, control characters left out.
    pub(super) fn set(&mut self, characteristic: Characteristic, bytes: &[u8]) {
        let text: String = String::from_utf8_lossy(bytes)
            .chars()
            .filter(|c| !c.is_control())
            .collect();
        let field = match characteristic {
            Characteristic::ManufacturerName => &mut self.manufacturer,
            Characteristic::ModelNumber => &mut self.model,
            Characteristic::SerialNumber => &mut self.serial,
            Characteristic::FirmwareRevision => &mut self.firmware,
            Characteristic::HardwareRevision => &mut self.hardware,
            _ => return,
        };
        *field = Some(text).filter(|t| !t.is_empty());
    }
}

/// Everything that the unit says about itself once.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Identity {
    /// Device information.
    pub device: DeviceInformation,
    /// Booster Feature.
    pub feature: Option<BoosterFeature>,
    /// Band Table; empty until read.
    pub bands: BandTable,
    /// Counts Band Tables that differ from the one before.
    revision: u32,
    names: Vec<String>,
    /// Position in the table by band index: a reading costs one look-up.
    positions: Vec<Option<usize>>,
}

impl Identity {
    pub(super) fn set_bands(&mut self, table: BandTable) {
        self.names = band_names(&table);
        self.positions = vec![None; 256];
        for (position, band) in table.bands.iter().enumerate() {
            if let Some(slot) = self.positions.get_mut(usize::from(band.index)) {
                *slot = Some(position);
            }
        }
        self.revision += u32::from(self.bands != table);
        self.bands = table;
    }

    /// Changes with the Band Table, so that what was worked out from it can be kept.
    pub fn band_revision(&self) -> u32 {
        self.revision
    }

    /// Whether the unit has said enough to interpret telemetry.
    pub fn is_known(&self) -> bool {
        self.feature.is_some() && !self.bands.bands.is_empty()
    }

    /// Position in the band table of a band index.
    pub fn position(&self, index: u8) -> Option<usize> {
        self.positions.get(usize::from(index)).copied().flatten()
    }

    /// The band at a position.
    pub fn band(&self, position: usize) -> Option<&Band> {
        self.bands.bands.get(position)
    }

    /// Name of the band at a position, `B2` or `n77`; `?` if there is none.
    pub fn name(&self, position: usize) -> &str {
        self.names.get(position).map_or("?", String::as_str)
    }
}

/// Names of the bands of a table: `B` and the 3GPP number, `n` for NR; several entries of one band are told apart by
/// `.1`, `.2` …
pub fn band_names(table: &BandTable) -> Vec<String> {
    let plain = |b: &Band| {
        let letter = if b.technology == Technology::Nr { 'n' } else { 'B' };
        format!("{letter}{}", b.number)
    };
    let names: Vec<String> = table.bands.iter().map(plain).collect();
    names
        .iter()
        .enumerate()
        .map(|(i, name)| {
            if names.iter().filter(|n| *n == name).count() == 1 {
                return name.clone();
            }
            let number = names[..=i].iter().filter(|n| *n == name).count();
            format!("{name}.{number}")
        })
        .collect()
}
