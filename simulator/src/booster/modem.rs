//! The unit's modem: it listens to one cell after the other, so that what it knows of each is seconds old.

use crate::world::{Heard, World};
use booster_profile::{TenthDb, TenthDbm};

/// What the modem last heard of a cell.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Measured {
    /// When, µs.
    pub at_us: u64,
    /// RSRP in whole dB, as modems report it (TS 36.133 table 9.1.4-1).
    pub rsrp: Option<TenthDbm>,
    /// RSRQ in half dB.
    pub rsrq: Option<TenthDb>,
    /// SINR in half dB.
    pub sinr: Option<TenthDb>,
    /// Physical cell identity.
    pub identity: u16,
}

/// The modem.
#[derive(Clone, Debug)]
pub struct Modem {
    step_us: u64,
    next_us: u64,
    turn: usize,
    last: Vec<Option<Measured>>,
}

impl Modem {
    /// A modem that needs `step_ms` for each of `cells` cells.
    pub fn new(step_ms: u16, cells: usize) -> Self {
        Self {
            step_us: u64::from(step_ms) * 1000,
            next_us: 0,
            turn: 0,
            last: vec![None; cells],
        }
    }

    /// When it finishes with the next cell.
    pub fn next_us(&self) -> u64 {
        self.next_us
    }

    /// Knows nothing, as after a start; the first round goes fast.
    pub fn reset(&mut self, now_us: u64) {
        self.last.fill(None);
        self.turn = 0;
        self.next_us = now_us;
    }

    /// Hears everything once, as a unit that has run for a while has.
    pub fn warm_up(&mut self, now_us: u64, world: &World, noise_factor: impl Fn(usize) -> f64) {
        for cell in 0..self.last.len() {
            let band = world.cells().get(cell).map_or(0, |c| c.band);
            self.hear(cell, now_us, world, noise_factor(band), 0.0);
        }
        self.next_us = now_us + self.step_us;
    }

    /// Finishes with the cell whose turn it is, if the time has come.
    pub fn step(&mut self, now_us: u64, world: &World, receiver: impl Fn(usize) -> (f64, f64)) {
        while now_us >= self.next_us && !self.last.is_empty() {
            let cell = self.turn;
            let band = world.cells().get(cell).map_or(0, |c| c.band);
            let (noise_factor, echo_ratio) = receiver(band);
            self.hear(cell, self.next_us, world, noise_factor, echo_ratio);
            self.turn = (cell + 1) % self.last.len();
            self.next_us += self.step_us;
        }
        if self.last.is_empty() {
            self.next_us = u64::MAX;
        }
    }

    fn hear(&mut self, cell: usize, at_us: u64, world: &World, noise_factor: f64, echo_ratio: f64) {
        let heard = world.hear(cell, noise_factor, echo_ratio);
        let identity = world.cells().get(cell).map_or(0, |c| c.identity);
        if let Some(slot) = self.last.get_mut(cell) {
            *slot = heard.map(|h| report(h, at_us, identity));
        }
    }

    /// What it last heard of a cell.
    pub fn last(&self, cell: usize) -> Option<&Measured> {
        self.last.get(cell)?.as_ref()
    }

    /// Number of cells that it looks for.
    pub fn cells(&self) -> usize {
        self.last.len()
    }
}

/// To the steps in which modems report: 1 dB for RSRP, half a dB for RSRQ and SINR (facts B.3).
fn report(heard: Heard, at_us: u64, identity: u16) -> Measured {
    let half = |db: f64| TenthDb::from_units(libm::round(db * 2.0) / 2.0);
    Measured {
        at_us,
        rsrp: TenthDbm::from_units(libm::round(heard.rsrp_dbm)),
        rsrq: half(heard.rsrq_db.clamp(-34.0, 2.5)),
        sinr: half(heard.sinr_db.clamp(-23.0, 40.0)),
        identity,
    }
}
