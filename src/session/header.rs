//! The first line of a session file.

use super::{FORMAT, VERSION};
use booster_profile::{Band, BandTable, Characteristic, TenthDb, TenthDbm};
use jiff::Timestamp;
use serde::{Deserialize, Serialize};

/// What a session file says about itself. What was not known when the recording began is `None`: a live recording
/// begins before the unit has told its name, and the values read from it follow as events.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Header {
    /// Name of the format, [`FORMAT`].
    pub format: String,
    /// Version of the format, [`VERSION`].
    pub version: u32,
    /// Version of the telemetry profile, `major.minor`.
    pub profile: Option<String>,
    /// Program that wrote the file, name and version.
    pub software: Option<String>,
    /// Session time zero, UTC.
    pub started: Option<Timestamp>,
    /// Which clock `started` and the stamps come from.
    pub clock: Option<Clock>,
    /// Where the values came from, as it was given on the command line.
    pub source: Option<String>,
    /// The unit, where it was known from the start.
    pub unit: Option<UnitInfo>,
    /// The unit's bands, decoded for the reader's convenience; `band_table` is what counts.
    #[serde(default)]
    pub bands: Vec<BandEntry>,
    /// The Band Table as read from the unit, hex.
    pub band_table: Option<String>,
    /// Criteria in effect, as TOML text.
    pub criteria: Option<String>,
    /// Notes on the site, free text.
    pub site: Option<String>,
    /// Whether serial numbers, addresses and free text were replaced by stand-ins.
    #[serde(default)]
    pub anonymized: bool,
}

/// The clock behind a session's stamps.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Clock {
    /// The clock of the computer that recorded.
    Host,
    /// The simulator's clock.
    Simulated,
}

/// Device information, as the unit gives it.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct UnitInfo {
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

/// A band of the unit, decoded.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct BandEntry {
    /// Index that telemetry refers to.
    pub index: u8,
    /// 3GPP operating band number.
    pub number: u16,
    /// Technology by its profile name.
    pub technology: String,
    /// Duplex mode by its profile name.
    pub duplex: String,
    /// Centre of the downlink, kHz.
    pub dl_centre_khz: u32,
    /// Centre of the uplink, kHz.
    pub ul_centre_khz: u32,
    /// Width of the pass band, kHz.
    pub bandwidth_khz: u32,
    /// Largest downlink gain, dB.
    pub max_dl_gain_db: Option<f64>,
    /// Largest uplink gain, dB.
    pub max_ul_gain_db: Option<f64>,
    /// Rated downlink output, dBm.
    pub rated_dl_output_dbm: Option<f64>,
    /// Rated uplink output, dBm.
    pub rated_ul_output_dbm: Option<f64>,
}

impl Header {
    /// A header that says nothing but which format follows.
    pub fn empty() -> Self {
        Self {
            format: FORMAT.to_owned(),
            version: VERSION,
            profile: None,
            software: None,
            started: None,
            clock: None,
            source: None,
            unit: None,
            bands: Vec::new(),
            band_table: None,
            criteria: None,
            site: None,
            anonymized: false,
        }
    }

    /// A header for a session that begins at `started` by `clock` and takes its values from `source`.
    pub fn new(source: &str, started: Timestamp, clock: Clock) -> Self {
        let profile = booster_profile::PROFILE_VERSION;
        Self {
            profile: Some(format!("{}.{}", profile.major, profile.minor)),
            software: Some(concat!("loopmargin ", env!("CARGO_PKG_VERSION")).to_owned()),
            started: Some(started),
            clock: Some(clock),
            source: Some(source.to_owned()),
            ..Self::empty()
        }
    }

    /// States the bands, from the Band Table's value as it was read. Without effect on `bands` if the value does not
    /// decode; the raw value is kept all the same.
    pub fn set_band_table(&mut self, value: &[u8]) {
        self.band_table = Some(super::hex::encode(value));
        self.bands = BandTable::decode(value)
            .map(|table| table.bands.iter().map(BandEntry::from).collect())
            .unwrap_or_default();
    }

    /// Takes over what the unit says about itself in a value that was read.
    pub fn learn(&mut self, characteristic: Characteristic, value: &[u8]) {
        if characteristic == Characteristic::BandTable {
            return self.set_band_table(value);
        }
        let unit = self.unit.get_or_insert_default();
        let field = match characteristic {
            Characteristic::ManufacturerName => &mut unit.manufacturer,
            Characteristic::ModelNumber => &mut unit.model,
            Characteristic::SerialNumber => &mut unit.serial,
            Characteristic::FirmwareRevision => &mut unit.firmware,
            Characteristic::HardwareRevision => &mut unit.hardware,
            _ => return,
        };
        let text = String::from_utf8_lossy(value);
        *field = Some(text.chars().filter(|c| !c.is_control()).collect());
    }
}

impl From<&Band> for BandEntry {
    fn from(band: &Band) -> Self {
        let db = |ratio: Option<TenthDb>| ratio.map(|TenthDb(raw)| f64::from(raw) / 10.0);
        let dbm = |level: Option<TenthDbm>| level.map(|TenthDbm(raw)| f64::from(raw) / 10.0);
        Self {
            index: band.index,
            number: band.number,
            technology: band.technology.name().to_owned(),
            duplex: band.duplex.name().to_owned(),
            dl_centre_khz: band.dl_centre_khz,
            ul_centre_khz: band.ul_centre_khz,
            bandwidth_khz: band.bandwidth_khz,
            max_dl_gain_db: db(band.max_dl_gain),
            max_ul_gain_db: db(band.max_ul_gain),
            rated_dl_output_dbm: dbm(band.rated_dl_output),
            rated_ul_output_dbm: dbm(band.rated_ul_output),
        }
    }
}
