//! A cell: its level at the donor port, and how much power its traffic adds.

use super::Multipath;
use super::wander::{GaussMarkov, Wander};
use crate::rng::Rng;
use crate::scenario::CellSpec;
use booster_profile::Plmn;
use radio::Bearing;

/// Time constant of the traffic, s.
const TRAFFIC_TAU_S: f64 = 3.0;
/// Resource elements of a resource block over one slot, and those that carry reference symbols per antenna port
/// (TS 36.211 table 6.2.3-1 and 6.10.1; facts B.2).
const ELEMENTS: f64 = 168.0;
const REFERENCE_ELEMENTS_PER_PORT: f64 = 8.0;

/// Power of a data element relative to a reference element: two ports without boosted reference symbols send data from
/// both (facts, correction 2).
fn data_per_reference(spec: &CellSpec) -> f64 {
    if spec.ports >= 2 && !spec.boosted {
        2.0
    } else {
        1.0
    }
}

/// Power of the whole carrier relative to one in which every element is as strong as a reference element.
fn power_share(spec: &CellSpec, load: f64) -> f64 {
    let silent = f64::from(spec.ports) * REFERENCE_ELEMENTS_PER_PORT / ELEMENTS;
    silent + (1.0 - silent) * load * data_per_reference(spec)
}

/// Composite power of a cell at its mean load over its RSRP, dB.
pub fn composite_over_rsrp_db(spec: &CellSpec) -> f64 {
    10.0 * libm::log10(12.0 * f64::from(spec.resource_blocks) * power_share(spec, spec.load))
}

/// A cell on the air.
#[derive(Clone, Debug)]
pub struct Cell {
    /// As the scenario states it.
    pub spec: CellSpec,
    /// Index of its band.
    pub band: usize,
    /// Operator code.
    pub operator: Option<Plmn>,
    /// Physical cell identity now.
    pub identity: u16,
    /// Whether it is on the air.
    pub on: bool,
    /// Mean load now.
    pub load: f64,
    /// Change of level by the timeline, dB.
    pub change_db: f64,
    bearing: Bearing,
    multipath: Multipath,
    /// Antenna and multipath at the present bearing, dB; feeder included.
    path_db: f64,
    wander: Wander,
    traffic: GaussMarkov,
    traffic_rng: Rng,
    rsrp_mw: f64,
    rsrp_dbm: f64,
    composite_mw: f64,
    load_now: f64,
}

impl Cell {
    /// The cell number `index` of a site.
    pub fn new(spec: &CellSpec, band: usize, index: usize, multipath_db: f64, seed: u64) -> Self {
        let mut traffic_rng = Rng::stream(seed, "traffic", index);
        Self {
            band,
            operator: super::plmn(&spec.operator),
            identity: spec.identity,
            on: spec.on,
            load: spec.load,
            change_db: 0.0,
            bearing: Bearing::new(spec.bearing_deg),
            multipath: Multipath::new(multipath_db, Rng::stream(seed, "multipath", index)),
            path_db: 0.0,
            wander: Wander::new(spec.wander, Rng::stream(seed, "wander", index)),
            traffic: GaussMarkov::new(spec.load_swing, TRAFFIC_TAU_S, &mut traffic_rng),
            traffic_rng,
            rsrp_mw: 0.0,
            rsrp_dbm: f64::NEG_INFINITY,
            composite_mw: 0.0,
            load_now: spec.load,
            spec: spec.clone(),
        }
    }

    /// Where the antenna points or what the feeder loses has changed.
    pub fn set_path(&mut self, donor: &super::Donor, feeder_db: f64) {
        self.path_db = donor.relative_gain_db(self.bearing) + self.multipath.db(donor.bearing) - feeder_db;
    }

    /// Advances by `dt_s`; `sway_db` is what the wind does to the level now.
    pub fn step(&mut self, dt_s: f64, sway_db: f64) {
        if dt_s > 0.0 {
            self.wander.step(dt_s);
            self.traffic.step(dt_s, &mut self.traffic_rng);
        }
        if !self.on {
            self.rsrp_mw = 0.0;
            self.rsrp_dbm = f64::NEG_INFINITY;
            self.composite_mw = 0.0;
            return;
        }
        self.rsrp_dbm = self.mean_rsrp_dbm() + self.wander.db() + sway_db;
        self.rsrp_mw = libm::exp10(self.rsrp_dbm / 10.0);
        self.load_now = (self.load + self.traffic.value()).clamp(0.0, 1.0);
        let share = power_share(&self.spec, self.load_now);
        self.composite_mw = self.rsrp_mw * self.subcarriers() * share;
    }

    fn subcarriers(&self) -> f64 {
        12.0 * f64::from(self.spec.resource_blocks)
    }

    /// RSRP without wander at the present bearing, dBm: what a long average would tend to.
    pub fn mean_rsrp_dbm(&self) -> f64 {
        self.spec.rsrp_dbm + self.change_db + self.path_db
    }

    /// RSRP now, dBm; −∞ when off the air.
    pub fn rsrp_dbm(&self) -> f64 {
        self.rsrp_dbm
    }

    /// Power of a reference element, mW.
    pub fn rsrp_mw(&self) -> f64 {
        self.rsrp_mw
    }

    /// Power over the whole carrier, mW.
    pub fn composite_mw(&self) -> f64 {
        self.composite_mw
    }

    /// Width of the carrier, Hz.
    pub fn width_hz(&self) -> f64 {
        self.subcarriers() * self.subcarrier_hz()
    }

    /// Spacing of subcarriers, Hz.
    pub fn subcarrier_hz(&self) -> f64 {
        f64::from(self.spec.spacing_khz) * 1e3
    }

    /// Own part of RSSI in the symbols that carry reference elements, mW: RSRQ of an empty cell is −3.01 dB with one
    /// port and −6.02 dB with two, of a full one −10.79 dB (facts B.2).
    pub fn rssi_mw(&self) -> f64 {
        let reference = 2.0 * f64::from(self.spec.ports);
        let per_block = reference + (12.0 - reference) * self.load_now * data_per_reference(&self.spec);
        self.rsrp_mw * f64::from(self.spec.resource_blocks) * per_block
    }

    /// Power that it adds to each element of another cell on the same channel, mW.
    pub fn interference_per_element_mw(&self) -> f64 {
        self.rsrp_mw * self.load_now.max(0.05)
    }
}
