//! When a fault begins to count: the moment at which the simulated truth crosses the limit.

use booster_profile::{DirectionState, EventCode};
use booster_simulator::Simulation;
use booster_simulator::generate::{Family, Fault, Site};
use booster_simulator::scenario::Way;
use loopmargin::analysis::Criteria;
use radio::noise::snr_per_resource_element;
use radio::{Db, Dbm, Megahertz};

/// Slow drop that counts, dB: the limit (criteria).
const CREEP_DB: f64 = 5.0;

/// What is looked at.
enum Truth {
    /// The injection itself.
    Injected(f64),
    /// Input beyond this level on average over so many seconds.
    InputAbove(f64),
    /// RSRP of this cell below this level.
    RsrpBelow(usize, f64),
    /// Loop margin at the gain that was set below this.
    MarginBelow { limit_db: f64, set_db: f64 },
    /// The unit detects oscillation.
    Detected,
    /// The guard gives up.
    Latched,
    /// The unit reduces gain because of heat.
    Hot,
}

/// Follows the truth.
pub struct Onset {
    truth: Truth,
    band: usize,
    way: Way,
    injected_s: f64,
    until_s: f64,
    crossed_s: Option<f64>,
    /// Sum and number of values beyond the level since it was crossed.
    beyond: (f64, f64),
    counts: bool,
    events: u32,
}

impl Onset {
    /// The onset of this fault.
    pub fn new(family: Family, site: &Site, fault: &Fault) -> Self {
        let band = fault.band.unwrap_or(0);
        let spec = &site.scenario.band[band];
        let criteria = Criteria::default();
        let truth = match family {
            Family::DonorOverload => Truth::InputAbove(spec.overload_dbm()),
            Family::WeakDonor => {
                let figure = Db(spec.noise_figure_dl_db);
                let floor =
                    snr_per_resource_element(Dbm(0.0), Megahertz(0.015), figure).map_or(-126.0, |s| -s.0);
                let wanted = site
                    .scenario
                    .cell
                    .iter()
                    .position(|c| c.wanted && c.band == spec.name);
                Truth::RsrpBelow(wanted.unwrap_or(0), floor + criteria.weak.min_snr_db)
            }
            Family::LowLoopMargin | Family::OscillationUnflagged => Truth::MarginBelow {
                limit_db: if family == Family::LowLoopMargin {
                    criteria.margin.min_db
                } else {
                    0.0
                },
                set_db: spec.max_gain_db,
            },
            Family::Oscillation => Truth::Detected,
            Family::LatchedOff => Truth::Latched,
            Family::HotUnit => Truth::Hot,
            // The second start, once the unit is up again.
            Family::Restarting => Truth::Injected(site.scenario.at[1].s + site.scenario.unit.boot_s),
            Family::CreepingLoss => Truth::Injected(creeps_s(site, fault)),
            _ => Truth::Injected(fault.onset_s),
        };
        Self {
            truth,
            band,
            way: fault.way.unwrap_or(Way::Dl),
            injected_s: fault.onset_s,
            until_s: fault.until_s,
            crossed_s: None,
            beyond: (0.0, 0.0),
            counts: false,
            events: 0,
        }
    }

    /// When the limit was crossed.
    pub fn crossed_s(&self) -> Option<f64> {
        self.crossed_s
    }

    /// Whether the fault is as large and as long as counts.
    pub fn counts(&self) -> bool {
        self.counts
    }

    /// No later crossing is waited for.
    pub fn give_up_s(&self) -> f64 {
        if self.until_s.is_finite() {
            self.until_s
        } else {
            self.injected_s + 900.0
        }
    }

    /// Looks at the truth at this moment.
    pub fn look(&mut self, at_s: f64, simulation: &Simulation) {
        if at_s < self.injected_s || self.counts {
            return;
        }
        let lane = simulation.unit().bands().get(self.band).map(|b| b.lane(self.way));
        let crossed = match &self.truth {
            Truth::Injected(when) => {
                if when.is_finite() && at_s >= *when {
                    self.cross(*when);
                }
                return;
            }
            Truth::InputAbove(level) => {
                let over = simulation.true_input_dbm(self.band, Way::Dl).unwrap_or(f64::MIN) - level;
                return self.hold(at_s, over);
            }
            Truth::RsrpBelow(cell, limit) => simulation
                .world()
                .cells()
                .get(*cell)
                .is_some_and(|c| c.rsrp_dbm() < *limit),
            Truth::MarginBelow { limit_db, set_db } => simulation
                .true_isolation_db(self.band, self.way)
                .is_some_and(|isolation| isolation - set_db < *limit_db),
            Truth::Latched => lane.is_some_and(|l| l.state == DirectionState::LatchedOff),
            Truth::Hot => simulation
                .unit()
                .bands()
                .iter()
                .any(|b| b.dl.reasons.contains(booster_profile::Reasons::HEAT)),
            Truth::Detected => {
                let events = &simulation.unit().memory().events;
                let mut detected = false;
                while self.events < events.next_sequence() {
                    detected |= events
                        .get(self.events)
                        .is_some_and(|e| e.code == EventCode::OscillationDetected);
                    self.events += 1;
                }
                detected
            }
        };
        if crossed {
            self.cross(at_s);
        }
    }

    fn cross(&mut self, at_s: f64) {
        self.crossed_s = Some(at_s);
        self.counts = true;
    }

    /// Ten seconds in which the input lies beyond the level by 1 dB on average, from the moment it crossed it.
    fn hold(&mut self, at_s: f64, over_db: f64) {
        let Some(since) = self.crossed_s else {
            if over_db >= 0.0 {
                (self.crossed_s, self.beyond) = (Some(at_s), (over_db, 1.0));
            }
            return;
        };
        self.beyond.0 += over_db;
        self.beyond.1 += 1.0;
        if self.beyond.0 / self.beyond.1 < 0.0 {
            self.crossed_s = None;
        } else if at_s - since >= 10.0 {
            if self.beyond.0 / self.beyond.1 >= 1.0 {
                self.counts = true;
            } else {
                self.crossed_s = None;
            }
        }
    }
}

/// When the mean loss over the bands reaches what counts, s; infinite if it never does.
fn creeps_s(site: &Site, fault: &Fault) -> f64 {
    let Some(event) = site.scenario.at.last() else {
        return f64::INFINITY;
    };
    let bands = &site.scenario.band;
    let ghz = bands.iter().map(|b| b.dl_mhz / 1e3).sum::<f64>() / bands.len() as f64;
    let loss = event.feeder_loss_db.unwrap_or(0.0) + event.feeder_loss_db_per_ghz.unwrap_or(0.0) * ghz;
    if loss < CREEP_DB {
        return f64::INFINITY;
    }
    fault.onset_s + event.ramp_s.unwrap_or(0.0) * CREEP_DB / loss
}
