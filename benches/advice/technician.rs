//! Does at the simulated site what a remedy says, as a technician would: by the instrument where it says so.

use crate::site::{Circumstances, STRONG, Site};
use booster_profile::Direction;
use booster_profile::control::UnitRequest;
use booster_simulator::rng::Rng;
use booster_simulator::scenario::PortSpec;
use booster_simulator::world::Donor;
use booster_simulator::{Action, Simulation, Way};
use loopmargin::analysis::{Path, Work};
use radio::Bearing;

/// Step in which the antenna is turned to find a better bearing, degrees.
const TURN_DEG: f64 = 10.0;
/// The wanted cell may lose this much by turning, dB, and must keep this distance from where it is too weak or noisy.
const TURN_COSTS_DB: f64 = 10.0;
const WANTED_DBM: f64 = -110.0;
const WANTED_SINR_DB: f64 = 7.0;
/// Antennas and handsets are moved in steps of a tenth of their distance.
const FARTHER: f64 = 1.1;
/// What another donor antenna takes from what lies aside of its beam, dB.
const OTHER_ANTENNA_DB: f64 = 6.0;

/// Somebody who acts at the site.
pub struct Technician<'a> {
    site: &'a Site,
    rng: Rng,
    donor: Donor,
    /// Level of the carrier outside the bands with the antenna as it was mounted, dBm.
    blocker_dbm: Option<f64>,
    handset_dbm: Option<f64>,
}

pub fn way(path: Path) -> Way {
    match path {
        Path::Downlink => Way::Dl,
        Path::Uplink => Way::Ul,
    }
}

impl<'a> Technician<'a> {
    pub fn new(site: &'a Site, seed: u64) -> Self {
        let spec = &site.scenario.donor;
        Self {
            site,
            rng: Rng::stream(seed, "technician", 0),
            donor: Donor::new(
                Bearing::new(spec.bearing_deg),
                spec.beam_deg,
                spec.front_to_back_db,
            ),
            blocker_dbm: site.event().and_then(|e| e.blocker_dbm),
            handset_dbm: None,
        }
    }

    fn circumstances(&self) -> &Circumstances {
        &self.site.circumstances
    }

    /// Whether hands are on the antenna or its line, so that aim-safe comes first.
    pub fn needs_aim_safe(work: Work) -> bool {
        matches!(
            work,
            Work::Pad(_) | Work::TurnAway | Work::Shield | Work::Filter | Work::ChangeAntenna | Work::Aim
        )
    }

    pub fn aim_safe(simulation: &mut Simulation, on: bool) {
        simulation.apply(&Action::Button);
        let now = simulation.now_us();
        let request = if on {
            UnitRequest::AimSafeOn { restore_s: 600 }
        } else {
            UnitRequest::AimSafeOff
        };
        simulation.unit_mut().control(now, request);
    }

    fn request(simulation: &mut Simulation, request: UnitRequest) {
        simulation.apply(&Action::Button);
        let now = simulation.now_us();
        simulation.unit_mut().control(now, request);
    }

    /// Does it; false where nothing at a simulated site corresponds to it.
    pub fn carry_out(&mut self, s: &mut Simulation, work: Work) -> bool {
        let event = self.site.event().cloned().unwrap_or_default();
        let band = self.site.fault.band;
        let mute = |band: usize, direction, on| UnitRequest::Mute {
            band: u8::try_from(band).ok(),
            direction,
            on,
        };
        match work {
            Work::LowerGain { band, path, db } => s.apply(&Action::Attenuation {
                band: Some(band),
                way: path.map(way),
                db,
            }),
            Work::RaiseGain { band, path, db } => s.apply(&Action::Attenuation {
                band: Some(band),
                way: Some(way(path)),
                db: -db,
            }),
            Work::Pad(db) => s.apply(&Action::FeederLoss { db, db_per_ghz: 0.0 }),
            Work::Isolate(db) => {
                let db = self.farther(db, self.circumstances().isolation_slope_db, 0.5);
                s.apply(&Action::Isolation {
                    band: None,
                    way: None,
                    db,
                });
            }
            Work::MuteUplink(band) => Self::request(s, mute(band, Direction::Uplink, true)),
            Work::UnmuteUplink(band) => Self::request(s, mute(band, Direction::Both, false)),
            Work::SwitchTddOff => {
                for (i, spec) in self.site.scenario.band.iter().enumerate() {
                    if spec.is_tdd() {
                        Self::request(s, mute(i, Direction::Both, true));
                    }
                }
            }
            Work::TurnAway => self.turn_away(s),
            Work::Shield => {
                let (building, costs) = (
                    self.circumstances().building_db,
                    self.circumstances().move_costs_db,
                );
                self.weaken_strong(s, building);
                self.wanted(s, -costs);
            }
            Work::Filter => {
                let (db, own) = self.circumstances().filter_db;
                self.weaken_strong(s, db);
                s.apply(&Action::FeederLoss {
                    db: own,
                    db_per_ghz: 0.0,
                });
            }
            Work::ChangeAntenna => self.weaken_strong(s, OTHER_ANTENNA_DB),
            Work::Aim => s.turn(self.site.scenario.donor.bearing_deg),
            Work::RestoreView => {
                if let Some(db) = event.level_db.filter(|db| *db < 0.0) {
                    s.apply(&Action::Level {
                        cell: None,
                        operator: None,
                        band,
                        db: -db,
                    });
                }
            }
            Work::MendLine => s.apply(&Action::FeederLoss {
                db: -event.feeder_loss_db.unwrap_or(0.0),
                db_per_ghz: -event.feeder_loss_db_per_ghz.unwrap_or(0.0),
            }),
            Work::FindLeak => {
                if let Some(db) = event.isolation_db {
                    s.apply(&Action::Isolation {
                        band,
                        way: event.direction,
                        db: -db,
                    });
                }
            }
            Work::RemoveInterferer => {
                if let Some(band) = band {
                    s.apply(&Action::Interference { band, dbm: None });
                }
            }
            Work::KeepHandsetsAway { band, db } => self.keep_handsets_away(s, band, db),
            Work::SteadyMast => s.apply(&Action::Sway {
                db: 0.0,
                period_s: 1.0,
            }),
            Work::Cool => {
                s.apply(&Action::Fan { good: true });
                s.apply(&Action::Ambient {
                    c: -event.ambient_c.unwrap_or(0.0),
                });
            }
            Work::MendSupply => s.apply(&Action::Supply {
                v: self.site.scenario.unit.supply_v,
            }),
            Work::MendDonorPort => s.apply(&Action::DonorPort(PortSpec::Good)),
            Work::MendServerPort => s.apply(&Action::ServerPort(PortSpec::Good)),
            Work::ShutEnclosure => s.apply(&Action::Enclosure { good: true }),
            Work::RestoreSync => {
                if let Some(band) = band {
                    s.apply(&Action::Sync { band, good: true });
                }
            }
            Work::Restart => Self::request(s, UnitRequest::Restart),
            Work::Look => return false,
        }
        true
    }

    /// Moves something away step by step until the instrument shows so much; every position reflects otherwise.
    fn farther(&mut self, needed_db: f64, slope_db: f64, scatter_db: f64) -> f64 {
        let mut times: f64 = 1.0;
        loop {
            times *= FARTHER;
            let db = slope_db * times.log10() + scatter_db * self.rng.normal();
            if db >= needed_db || times > 1e4 {
                return db;
            }
        }
    }

    fn keep_handsets_away(&mut self, s: &mut Simulation, band: usize, db: f64) {
        let scenario = &self.site.scenario;
        let name = scenario.band.get(band).map(|b| b.name.as_str());
        let strongest = scenario
            .handset
            .iter()
            .enumerate()
            .filter(|(_, h)| Some(h.band.as_str()) == name)
            .max_by(|a, b| a.1.level_dbm.total_cmp(&b.1.level_dbm));
        let Some((handset, level)) = strongest.map(|(i, h)| (i, h.level_dbm)) else {
            return;
        };
        let fallen = self.farther(db, self.circumstances().handset_slope_db, 0.3);
        let dbm = self.handset_dbm.unwrap_or(level) - fallen;
        self.handset_dbm = Some(dbm);
        s.apply(&Action::HandsetLevel { handset, dbm });
    }

    fn weaken_strong(&mut self, s: &mut Simulation, db: f64) {
        for (cell, spec) in self.site.scenario.cell.iter().enumerate() {
            if STRONG.contains(&spec.name.as_str()) {
                s.apply(&Action::Level {
                    cell: Some(cell),
                    operator: None,
                    band: None,
                    db: -db,
                });
            }
        }
        if let Some(dbm) = &mut self.blocker_dbm {
            *dbm -= db;
        }
        self.blocker(s);
    }

    fn wanted(&self, s: &mut Simulation, db: f64) {
        for (cell, spec) in self.site.scenario.cell.iter().enumerate() {
            if spec.wanted {
                s.apply(&Action::Level {
                    cell: Some(cell),
                    operator: None,
                    band: None,
                    db,
                });
            }
        }
    }

    /// Gain of the antenna towards what is too strong as it points now, dB relative to its peak.
    fn hears_db(&self, s: &Simulation) -> f64 {
        let mut now = self.donor.clone();
        now.bearing = s.world().bearing();
        now.relative_gain_db(self.circumstances().strong)
    }

    /// The carrier outside the bands as the antenna hears it now.
    fn blocker(&self, s: &mut Simulation) {
        let Some(mounted_dbm) = self.blocker_dbm else {
            return;
        };
        let strong = self.circumstances().strong;
        let dbm = mounted_dbm + self.hears_db(s) - self.donor.relative_gain_db(strong);
        s.apply(&Action::Blocker { dbm: Some(dbm) });
    }

    /// Tries bearings, stays at the one that hears least of what is too strong while the wanted cells stay good.
    fn turn_away(&self, s: &mut Simulation) {
        let wanted: Vec<usize> = (0..self.site.scenario.cell.len())
            .filter(|i| self.site.scenario.cell[*i].wanted)
            .collect();
        let levels = |s: &Simulation| -> Vec<(f64, f64)> {
            wanted
                .iter()
                .map(|c| {
                    let rsrp = s.world().cells()[*c].mean_rsrp_dbm();
                    let sinr = s.world().hear(*c, 4.0, 0.0).map_or(-20.0, |h| h.sinr_db);
                    (rsrp, sinr)
                })
                .collect()
        };
        let (start, before) = (s.world().bearing().degrees(), levels(s));
        let mut best = (self.hears_db(s), 0.0, start);
        for n in 1..=12 {
            for sign in [1.0, -1.0] {
                let turned = TURN_DEG * f64::from(n);
                s.turn(start + sign * turned);
                let good = levels(s).iter().zip(&before).all(|(now, before)| {
                    now.0 > before.0 - TURN_COSTS_DB
                        && now.0 > WANTED_DBM.min(before.0)
                        && now.1 > WANTED_SINR_DB.min(before.1)
                });
                let level = self.hears_db(s);
                if good && level < best.0 - 1.0 {
                    best = (level, turned, start + sign * turned);
                }
            }
        }
        s.turn(best.2);
        self.blocker(s);
    }
}
