//! Site: cells, donor antenna, handsets, and the way to the console.

use radio::pattern::msi::Pattern;
use serde::Deserialize;
use std::path::PathBuf;

/// One cell.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CellSpec {
    /// Name that the timeline refers to.
    pub name: String,
    /// Band by its name.
    pub band: String,
    /// Downlink channel number: EARFCN or NR-ARFCN.
    pub channel: u32,
    /// Bandwidth in resource blocks.
    pub resource_blocks: u16,
    /// Subcarrier spacing, kHz: 15, 30 or 60.
    #[serde(default = "fifteen")]
    pub spacing_khz: u8,
    /// Physical cell identity.
    pub identity: u16,
    /// Operator code in digits, country then network, 5 or 6 of them.
    pub operator: String,
    /// Bearing of the site from the building, degrees from north.
    #[serde(default)]
    pub bearing_deg: f64,
    /// RSRP at the donor port with the antenna pointing at the site and the feeder as installed, dBm.
    pub rsrp_dbm: f64,
    /// Mean share of resource elements in use, 0 to 1.
    #[serde(default = "third")]
    pub load: f64,
    /// Standard deviation of the load over time.
    #[serde(default = "tenth")]
    pub load_swing: f64,
    /// Antenna ports with reference symbols, 1 or 2.
    #[serde(default = "two")]
    pub ports: u8,
    /// With two ports: whether reference symbols are boosted by 3 dB, which keeps RSSI − RSRP at 10·log10(12·N).
    #[serde(default = "yes")]
    pub boosted: bool,
    /// Whether the unit is meant to serve it.
    #[serde(default)]
    pub wanted: bool,
    /// Whether it is on the air at the start.
    #[serde(default = "yes")]
    pub on: bool,
    /// Wander relative to what was recorded at stationary receivers (1).
    #[serde(default = "one")]
    pub wander: f64,
}

impl CellSpec {
    /// A cell with usual values: EARFCN, resource blocks, RSRP in dBm with the antenna pointing at it.
    pub fn new(
        name: &str,
        band: &str,
        channel: u32,
        resource_blocks: u16,
        identity: u16,
        rsrp_dbm: f64,
    ) -> Self {
        Self {
            name: name.to_owned(),
            band: band.to_owned(),
            channel,
            resource_blocks,
            spacing_khz: fifteen(),
            identity,
            operator: "00101".to_owned(),
            bearing_deg: 0.0,
            rsrp_dbm,
            load: third(),
            load_swing: tenth(),
            ports: two(),
            boosted: true,
            wanted: false,
            on: true,
            wander: one(),
        }
    }
}

/// The donor antenna and its feeder.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DonorSpec {
    /// Where it points at the start, degrees from north.
    #[serde(default)]
    pub bearing_deg: f64,
    /// Half-power beamwidth, degrees.
    #[serde(default = "beam")]
    pub beam_deg: f64,
    /// Front-to-back ratio, dB.
    #[serde(default = "front_to_back")]
    pub front_to_back_db: f64,
    /// Text of a pattern file in the open MSI layout; replaces the two above.
    pub pattern: Option<String>,
    /// The same as a file, its path relative to the scenario file; only a scenario that is read from a file has one.
    pub pattern_file: Option<PathBuf>,
    /// Bearing from the donor antenna to the server antenna; opposite to the first bearing if not given.
    pub server_bearing_deg: Option<f64>,
    /// Standard deviation of what reflections add per bearing, dB.
    #[serde(default)]
    pub multipath_db: f64,
}

impl Default for DonorSpec {
    fn default() -> Self {
        Self {
            bearing_deg: 0.0,
            beam_deg: beam(),
            front_to_back_db: front_to_back(),
            pattern: None,
            pattern_file: None,
            server_bearing_deg: None,
            multipath_db: 0.0,
        }
    }
}

impl DonorSpec {
    /// The pattern, where one is given; scenarios are checked, so that a damaged one was refused before.
    pub fn measured(&self) -> Option<Pattern> {
        Pattern::parse(self.pattern.as_deref()?).ok()
    }
}

/// A handset in the rooms.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct HandsetSpec {
    /// Name that the timeline refers to.
    pub name: String,
    /// Band by its name.
    pub band: String,
    /// Level at the server port while it transmits, dBm.
    pub level_dbm: f64,
    /// Mean length of a call, s.
    #[serde(default = "call")]
    pub call_s: f64,
    /// Mean pause between calls, s; 0 means that it transmits all the time.
    #[serde(default = "pause")]
    pub pause_s: f64,
    /// Whether it is there at the start.
    #[serde(default = "yes")]
    pub on: bool,
}

impl HandsetSpec {
    /// A handset that calls now and then.
    pub fn new(name: &str, band: &str, level_dbm: f64) -> Self {
        Self {
            name: name.to_owned(),
            band: band.to_owned(),
            level_dbm,
            call_s: call(),
            pause_s: pause(),
            on: true,
        }
    }
}

/// Faults on the way from the unit to the console.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TransportSpec {
    /// ATT MTU that both sides agree on.
    #[serde(default = "mtu")]
    pub mtu: u16,
    /// Connection interval, ms: values arrive at its multiples. 0: at once.
    #[serde(default = "interval")]
    pub interval_ms: f64,
    /// Probability that a notification is lost.
    #[serde(default)]
    pub loss: f64,
    /// Probability that a notification arrives twice.
    #[serde(default)]
    pub duplicate: f64,
    /// Probability that a notification is held back and overtaken by later ones.
    #[serde(default)]
    pub reorder: f64,
    /// Probability that a notification is cut short.
    #[serde(default)]
    pub truncate: f64,
    /// Probability that a bit of a telemetry notification that the profile reserves, or a state, is set to something
    /// new or contradictory.
    #[serde(default)]
    pub garble: f64,
    /// Mean time between dropped connections, s; 0: never.
    #[serde(default)]
    pub drop_every_s: f64,
    /// How long the unit stays out of reach after a dropped connection, s.
    #[serde(default = "away")]
    pub away_s: f64,
    /// Every notification is sent this many times over (a unit gone mad), 1: once.
    #[serde(default = "once")]
    pub storm: u8,
}

impl Default for TransportSpec {
    fn default() -> Self {
        Self {
            mtu: mtu(),
            interval_ms: interval(),
            loss: 0.0,
            duplicate: 0.0,
            reorder: 0.0,
            truncate: 0.0,
            garble: 0.0,
            drop_every_s: 0.0,
            away_s: away(),
            storm: once(),
        }
    }
}

fn fifteen() -> u8 {
    15
}
fn two() -> u8 {
    2
}
fn once() -> u8 {
    1
}
fn third() -> f64 {
    0.3
}
fn tenth() -> f64 {
    0.1
}
fn one() -> f64 {
    1.0
}
fn yes() -> bool {
    true
}
fn beam() -> f64 {
    60.0
}
fn front_to_back() -> f64 {
    22.0
}
fn call() -> f64 {
    40.0
}
fn pause() -> f64 {
    60.0
}
fn mtu() -> u16 {
    247
}
fn interval() -> f64 {
    30.0
}
fn away() -> f64 {
    3.0
}
