//! The world around the unit: cells, donor antenna, isolation, handsets. A step function of simulated time.

mod antenna;
mod cell;
mod handset;
mod isolation;
mod wander;

pub use antenna::{Donor, Multipath};
pub use cell::{Cell, composite_over_rsrp_db};
pub use handset::Handset;
pub use isolation::{Isolation, Sway};
pub use wander::{GaussMarkov, TERMS, Wander};

use crate::rng::Rng;
use crate::scenario::{Action, Both, Scenario, Way, ways};
use booster_profile::Plmn;
use radio::noise::thermal_density;
use radio::{Bearing, Megahertz};

/// Thermal noise in this bandwidth, mW.
pub fn thermal_noise_mw(hz: f64) -> f64 {
    thermal_density()
        .in_bandwidth(Megahertz(hz / 1e6))
        .to_milliwatts()
        .0
}

/// What the two ports of the unit see in one band.
#[derive(Clone, Copy, Debug, Default)]
pub struct BandAir {
    /// Everything at the donor port but the unit's own noise and echo, mW.
    pub dl_mw: f64,
    /// Handsets at the server port, mW.
    pub ul_mw: f64,
    /// Isolation, dB.
    pub isolation: Both<f64>,
}

/// What a modem measures of one cell at the donor port.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Heard {
    /// RSRP, dBm.
    pub rsrp_dbm: f64,
    /// RSRQ, dB.
    pub rsrq_db: f64,
    /// SINR, dB.
    pub sinr_db: f64,
}

#[derive(Clone, Debug)]
struct Feeder {
    db: f64,
    db_per_ghz: f64,
}

impl Feeder {
    /// Loss beyond what was there when the scenario's levels were taken, dB.
    fn extra_db(&self, mhz: f64) -> f64 {
        self.db + self.db_per_ghz * mhz / 1e3
    }
}

/// The world.
#[derive(Clone, Debug)]
pub struct World {
    cells: Vec<Cell>,
    handsets: Vec<Handset>,
    isolation: Vec<Both<Isolation>>,
    interference_mw: Vec<f64>,
    blocker_mw: f64,
    donor: Donor,
    server_bearing: Bearing,
    /// Antenna's part of isolation at the first bearing, dB.
    back_db: f64,
    feeder: Feeder,
    sway: Sway,
    mhz: Vec<Both<f64>>,
    fixed_db: Vec<Both<f64>>,
    air: Vec<BandAir>,
    width_hz: Vec<f64>,
    noise_mw: Vec<f64>,
}

impl World {
    /// The world of a scenario.
    pub fn new(scenario: &Scenario, seed: u64) -> Self {
        let spec = &scenario.donor;
        let bearing = Bearing::new(spec.bearing_deg);
        let donor = match spec.measured() {
            Some(pattern) => Donor::measured(bearing, pattern.horizontal),
            None => Donor::new(bearing, spec.beam_deg, spec.front_to_back_db),
        };
        let server_bearing = spec.server_bearing_deg.map_or(bearing.reversed(), Bearing::new);
        let cells = scenario.cell.iter().enumerate().map(|(i, c)| {
            let band = scenario.band_index(&c.band).unwrap_or(0);
            Cell::new(c, band, i, spec.multipath_db, seed)
        });
        let handsets = scenario.handset.iter().enumerate().map(|(i, h)| {
            let band = scenario.band_index(&h.band).unwrap_or(0);
            let rng = Rng::stream(seed, "handset", i);
            let mut handset = Handset::new(&h.name, band, h.level_dbm, h.call_s, h.pause_s, rng);
            handset.present = h.on;
            handset
        });
        let isolation = scenario.band.iter().enumerate().map(|(i, b)| Both {
            dl: Isolation::new(
                b.isolation_dl_db,
                b.people_db,
                Rng::stream(seed, "isolation-dl", i),
            ),
            ul: Isolation::new(
                b.isolation_ul_db,
                b.people_db,
                Rng::stream(seed, "isolation-ul", i),
            ),
        });
        let bands = scenario.band.len();
        let mut world = Self {
            cells: cells.collect(),
            handsets: handsets.collect(),
            isolation: isolation.collect(),
            interference_mw: vec![0.0; bands],
            blocker_mw: 0.0,
            back_db: donor.relative_gain_db(server_bearing),
            donor,
            server_bearing,
            feeder: Feeder {
                db: 0.0,
                db_per_ghz: 0.0,
            },
            sway: Sway {
                amplitude_db: 0.0,
                period_s: 1.0,
            },
            mhz: scenario
                .band
                .iter()
                .map(|b| Both {
                    dl: b.dl_mhz,
                    ul: b.ul_mhz,
                })
                .collect(),
            fixed_db: vec![Both::default(); bands],
            air: vec![BandAir::default(); bands],
            width_hz: scenario.band.iter().map(|b| b.width_mhz * 1e6).collect(),
            noise_mw: scenario
                .band
                .iter()
                .map(|b| thermal_noise_mw(b.width_mhz * 1e6))
                .collect(),
        };
        world.refresh_paths();
        world.step(0, 0.0);
        world
    }

    fn refresh_paths(&mut self) {
        for cell in &mut self.cells {
            let feeder = self
                .mhz
                .get(cell.band)
                .map_or(0.0, |m| self.feeder.extra_db(m.dl));
            cell.set_path(&self.donor, feeder);
        }
        // Turning the antenna towards the server antenna costs isolation; loss in the feeder adds to it at the ports.
        let turned = self.back_db - self.donor.relative_gain_db(self.server_bearing);
        for (fixed, mhz) in self.fixed_db.iter_mut().zip(&self.mhz) {
            *fixed = Both {
                dl: turned + self.feeder.extra_db(mhz.dl),
                ul: turned + self.feeder.extra_db(mhz.ul),
            };
        }
    }

    /// Advances to `now_us`, `dt_s` seconds after the step before; 0 only takes changes into account.
    pub fn step(&mut self, now_us: u64, dt_s: f64) {
        let sway_db = if self.sway.amplitude_db == 0.0 {
            0.0
        } else {
            self.sway.db(now_us)
        };
        for (band, air) in self.air.iter_mut().enumerate() {
            let fixed = self.fixed_db[band];
            let isolation = &mut self.isolation[band];
            isolation.dl.step(dt_s, fixed.dl + sway_db);
            isolation.ul.step(dt_s, fixed.ul + sway_db);
            *air = BandAir {
                dl_mw: self.interference_mw[band] + self.noise_mw[band],
                ul_mw: self.noise_mw[band],
                isolation: Both {
                    dl: isolation.dl.db(),
                    ul: isolation.ul.db(),
                },
            };
        }
        for cell in &mut self.cells {
            cell.step(dt_s, sway_db);
            self.air[cell.band].dl_mw += cell.composite_mw();
        }
        for handset in &mut self.handsets {
            handset.step(now_us);
            self.air[handset.band].ul_mw += handset.power_mw();
        }
    }

    /// Carries out what the timeline says about the world; other actions are left alone.
    pub fn apply(&mut self, action: &Action) {
        match action {
            Action::Isolation { band, way, db } => {
                for (i, isolation) in self.isolation.iter_mut().enumerate() {
                    if band.is_none_or(|b| b == i) {
                        ways(*way).for_each(|w| isolation.get_mut(w).change_db += db);
                    }
                }
            }
            Action::FeederLoss { db, db_per_ghz } => {
                self.feeder.db += db;
                self.feeder.db_per_ghz += db_per_ghz;
            }
            Action::Level {
                cell,
                operator,
                band,
                db,
            } => {
                for (i, c) in self.cells.iter_mut().enumerate() {
                    let chosen = cell.is_none_or(|n| n == i)
                        && operator.as_ref().is_none_or(|o| *o == c.spec.operator)
                        && band.is_none_or(|b| b == c.band);
                    if chosen {
                        c.change_db += db;
                    }
                }
            }
            Action::CellOn { cell, on } => change(&mut self.cells, *cell, |c| c.on = *on),
            Action::Load { cell, load } => change(&mut self.cells, *cell, |c| c.load = load.clamp(0.0, 1.0)),
            Action::Identity { cell, identity } => change(&mut self.cells, *cell, |c| c.identity = *identity),
            Action::HandsetOn { handset, on } => change(&mut self.handsets, *handset, |h| h.present = *on),
            Action::HandsetLevel { handset, dbm } => {
                change(&mut self.handsets, *handset, |h| h.level_dbm = *dbm);
            }
            Action::Interference { band, dbm } => {
                change(&mut self.interference_mw, *band, |i| {
                    *i = dbm.map_or(0.0, milliwatts)
                });
            }
            Action::Blocker { dbm } => self.blocker_mw = dbm.map_or(0.0, milliwatts),
            Action::Sway { db, period_s } => {
                self.sway = Sway {
                    amplitude_db: *db,
                    period_s: *period_s,
                };
            }
            Action::Turn { bearing_deg } if bearing_deg.is_finite() => {
                self.donor.bearing = Bearing::new(*bearing_deg)
            }
            _ => return,
        }
        self.refresh_paths();
    }

    /// What the unit's ports see in each band.
    pub fn air(&self) -> &[BandAir] {
        &self.air
    }

    /// Total power of carriers outside all bands at the donor port, mW.
    pub fn blocker_mw(&self) -> f64 {
        self.blocker_mw
    }

    /// Loss of the donor line at the centre of a band beyond what it was at the start, dB.
    pub fn donor_line_db(&self, band: usize, way: Way) -> f64 {
        self.mhz
            .get(band)
            .map_or(0.0, |m| self.feeder.extra_db(*m.get(way)))
    }

    /// Where the donor antenna points.
    pub fn bearing(&self) -> Bearing {
        self.donor.bearing
    }

    /// All cells.
    pub fn cells(&self) -> &[Cell] {
        &self.cells
    }

    /// Whether a handset transmits in this band.
    pub fn handset_active(&self, band: usize) -> bool {
        self.handsets.iter().any(|h| h.band == band && h.power_mw() > 0.0)
    }

    /// What a modem of noise figure `noise_factor` (a ratio) at the donor port measures of a cell; `echo_ratio` is the
    /// echo of the unit's own output there, relative to what comes from outside. `None` below what a modem can find.
    pub fn hear(&self, cell: usize, noise_factor: f64, echo_ratio: f64) -> Option<Heard> {
        let own = self.cells.get(cell).filter(|c| c.on)?;
        let noise_per_element = thermal_noise_mw(own.subcarrier_hz()) * noise_factor;
        let density = self.interference_mw[own.band] / self.width_hz[own.band];
        let mut other_per_element = noise_per_element + density * own.subcarrier_hz();
        let mut rssi = own.rssi_mw() + other_per_element * own.width_hz() / own.subcarrier_hz();
        let rivals =
            self.cells.iter().enumerate().filter(|(i, c)| {
                *i != cell && c.on && c.band == own.band && c.spec.channel == own.spec.channel
            });
        for (_, rival) in rivals {
            other_per_element += rival.interference_per_element_mw();
            rssi += rival.rssi_mw();
        }
        other_per_element += own.rsrp_mw() * echo_ratio;
        rssi *= 1.0 + echo_ratio;
        let sinr_db = 10.0 * libm::log10(own.rsrp_mw() / other_per_element);
        // Synchronisation is lost some way below −6 dB.
        (sinr_db > -12.0).then(|| Heard {
            rsrp_dbm: own.rsrp_dbm(),
            rsrq_db: 10.0 * libm::log10(f64::from(own.spec.resource_blocks) * own.rsrp_mw() / rssi),
            sinr_db,
        })
    }
}

/// Changes one of several; an index that does not exist changes nothing.
fn change<T>(items: &mut [T], index: usize, how: impl FnOnce(&mut T)) {
    if let Some(item) = items.get_mut(index) {
        how(item);
    }
}

fn milliwatts(dbm: f64) -> f64 {
    libm::exp10(dbm / 10.0)
}

/// Operator code from its digits.
pub(crate) fn plmn(digits: &str) -> Option<Plmn> {
    if !digits.bytes().all(|b| b.is_ascii_digit()) || !(5..=6).contains(&digits.len()) {
        return None;
    }
    let (mcc, mnc) = digits.split_at(3);
    Plmn::new(mcc.parse().ok()?, mnc.parse().ok()?, mnc.len() == 3)
}
