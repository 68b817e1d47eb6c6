//! Which attribute a value belongs to.

/// 128-bit form of a 16-bit number that the Bluetooth SIG assigned.
const fn sig(short: u16) -> u128 {
    0x0000_0000_0000_1000_8000_0080_5f9b_34fb | ((short as u128) << 96)
}

/// The profile's own base UUID, drawn at random once: `2b1dXXXX-3015-4201-8178-f05b11fb32cb`.
const fn own(short: u16) -> u128 {
    0x2b1d_0000_3015_4201_8178_f05b_11fb_32cb | ((short as u128) << 96)
}

/// UUID of the Booster Telemetry Service, also the one that is advertised.
pub const SERVICE_UUID: u128 = own(0x0001);

/// Every characteristic that a console reads, writes or listens to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Characteristic {
    /// Manufacturer Name String 0x2A29, Device Information Service.
    ManufacturerName,
    /// Model Number String 0x2A24.
    ModelNumber,
    /// Serial Number String 0x2A25.
    SerialNumber,
    /// Firmware Revision String 0x2A26.
    FirmwareRevision,
    /// Hardware Revision String 0x2A27.
    HardwareRevision,
    /// Booster Feature: read.
    BoosterFeature,
    /// Band Table: read.
    BandTable,
    /// Band Telemetry: notify.
    BandTelemetry,
    /// Cell Report: notify.
    CellReport,
    /// Unit Status: notify.
    UnitStatus,
    /// Unit Event: indicate.
    UnitEvent,
    /// Stored Record: notify.
    StoredRecord,
    /// Record Access Control Point 0x2A52: write, indicate.
    RecordAccess,
    /// Report Control Point: write, indicate; no pairing.
    ReportControl,
    /// Unit Control Point: write with encryption and authentication, indicate.
    UnitControl,
}

use Characteristic as C;

impl Characteristic {
    /// All characteristics, in the order of the profile document.
    pub const ALL: &[Self] = &[
        C::ManufacturerName,
        C::ModelNumber,
        C::SerialNumber,
        C::FirmwareRevision,
        C::HardwareRevision,
        C::BoosterFeature,
        C::BandTable,
        C::BandTelemetry,
        C::CellReport,
        C::UnitStatus,
        C::UnitEvent,
        C::StoredRecord,
        C::RecordAccess,
        C::ReportControl,
        C::UnitControl,
    ];

    /// The 128-bit UUID.
    pub const fn uuid(self) -> u128 {
        match self {
            C::ManufacturerName => sig(0x2A29),
            C::ModelNumber => sig(0x2A24),
            C::SerialNumber => sig(0x2A25),
            C::FirmwareRevision => sig(0x2A26),
            C::HardwareRevision => sig(0x2A27),
            C::BoosterFeature => own(0x0101),
            C::BandTable => own(0x0102),
            C::BandTelemetry => own(0x0103),
            C::CellReport => own(0x0104),
            C::UnitStatus => own(0x0105),
            C::UnitEvent => own(0x0106),
            C::StoredRecord => own(0x0107),
            C::RecordAccess => sig(0x2A52),
            C::ReportControl => own(0x0108),
            C::UnitControl => own(0x0109),
        }
    }

    /// The characteristic with this UUID, if the profile has one.
    pub fn from_uuid(uuid: u128) -> Option<Self> {
        Self::ALL.iter().copied().find(|c| c.uuid() == uuid)
    }

    /// Short name, used in recordings and logs.
    pub const fn short_name(self) -> &'static str {
        match self {
            C::ManufacturerName => "manufacturer-name",
            C::ModelNumber => "model-number",
            C::SerialNumber => "serial-number",
            C::FirmwareRevision => "firmware-revision",
            C::HardwareRevision => "hardware-revision",
            C::BoosterFeature => "booster-feature",
            C::BandTable => "band-table",
            C::BandTelemetry => "band-telemetry",
            C::CellReport => "cell-report",
            C::UnitStatus => "unit-status",
            C::UnitEvent => "unit-event",
            C::StoredRecord => "stored-record",
            C::RecordAccess => "record-access",
            C::ReportControl => "report-control",
            C::UnitControl => "unit-control",
        }
    }

    /// The characteristic with this short name.
    pub fn from_short_name(name: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|c| c.short_name() == name)
    }

    /// Read once after connecting: identity, features, bands.
    pub const fn is_readable(self) -> bool {
        matches!(
            self,
            C::ManufacturerName
                | C::ModelNumber
                | C::SerialNumber
                | C::FirmwareRevision
                | C::HardwareRevision
                | C::BoosterFeature
                | C::BandTable
        )
    }

    /// Values arrive unasked, by notification or indication, once enabled. No characteristic is both readable and
    /// notifying: a read would show up as a notification on some hosts.
    pub const fn is_subscribable(self) -> bool {
        !self.is_readable()
    }

    /// Values arrive by indication, which the client confirms.
    pub const fn is_indicated(self) -> bool {
        matches!(
            self,
            C::UnitEvent | C::RecordAccess | C::ReportControl | C::UnitControl
        )
    }

    /// Writing it takes an encrypted link with authenticated pairing: it changes the unit.
    pub const fn needs_pairing(self) -> bool {
        matches!(self, C::UnitControl)
    }
}

/// Text form of a 128-bit UUID, lower case, as stacks print it.
pub fn uuid(value: u128) -> arrayvec::ArrayString<36> {
    use core::fmt::Write;
    let mut text = arrayvec::ArrayString::new();
    // 36 characters fit by construction.
    let _ = write!(
        text,
        "{:08x}-{:04x}-{:04x}-{:04x}-{:012x}",
        value >> 96,
        (value >> 80) & 0xFFFF,
        (value >> 64) & 0xFFFF,
        (value >> 48) & 0xFFFF,
        value & 0xFFFF_FFFF_FFFF
    );
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_two_characteristics_share_a_uuid_or_a_name() {
        for (i, a) in Characteristic::ALL.iter().enumerate() {
            assert_eq!(Characteristic::from_uuid(a.uuid()), Some(*a));
            assert_eq!(Characteristic::from_short_name(a.short_name()), Some(*a));
            for b in &Characteristic::ALL[..i] {
                assert_ne!(a.uuid(), b.uuid());
                assert_ne!(a.short_name(), b.short_name());
            }
        }
    }

    #[test]
    fn uuids_print_as_stacks_print_them() {
        assert_eq!(
            uuid(Characteristic::RecordAccess.uuid()).as_str(),
            "00002a52-0000-1000-8000-00805f9b34fb"
        );
        assert_eq!(
            uuid(SERVICE_UUID).as_str(),
            "2b1d0001-3015-4201-8178-f05b11fb32cb"
        );
    }
}
