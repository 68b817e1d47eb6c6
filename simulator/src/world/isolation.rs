//! Isolation between donor and server antenna, per band and direction, as it is at the unit's two ports.

use super::wander::GaussMarkov;
use crate::rng::Rng;

/// A periodic change: wind moving a mast.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sway {
    /// Peak change, dB.
    pub amplitude_db: f64,
    /// Period, s.
    pub period_s: f64,
}

impl Sway {
    /// The change at this moment, dB.
    pub fn db(self, now_us: u64) -> f64 {
        let turns = now_us as f64 / 1e6 / self.period_s;
        self.amplitude_db * libm::sin(core::f64::consts::TAU * (turns - libm::floor(turns)))
    }
}

/// Time constant of the change that people cause by moving about, s.
const PEOPLE_TAU_S: f64 = 6.0;

/// Isolation of one band in one direction.
#[derive(Clone, Debug)]
pub struct Isolation {
    /// Isolation with doors and people as found, dB.
    pub base_db: f64,
    /// Change by doors, moved antennas, pads in the donor line, dB.
    pub change_db: f64,
    people: GaussMarkov,
    rng: Rng,
    db: f64,
}

impl Isolation {
    /// An isolation that people change by `people_db` (standard deviation).
    pub fn new(base_db: f64, people_db: f64, mut rng: Rng) -> Self {
        let people = GaussMarkov::new(people_db, PEOPLE_TAU_S, &mut rng);
        Self {
            base_db,
            change_db: 0.0,
            db: base_db + people.value(),
            people,
            rng,
        }
    }

    /// Advances by `dt_s` seconds; `extra_db` is what the antenna's bearing, the feeder and the wind add now.
    pub fn step(&mut self, dt_s: f64, extra_db: f64) {
        if dt_s > 0.0 {
            self.people.step(dt_s, &mut self.rng);
        }
        self.db = self.base_db + self.change_db + extra_db + self.people.value();
    }

    /// Isolation now, dB.
    pub fn db(&self) -> f64 {
        self.db
    }
}
