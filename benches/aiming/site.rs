//! A random site and what its donor antenna hears.

use booster_simulator::rng::Rng;
use booster_simulator::world::{Donor, Multipath, Wander};
use radio::pattern::msi::{Cut, Pattern};
use radio::{Bearing, Db, Dbm, Degrees};

/// Time between readings, s.
pub const READING_S: f64 = 0.5;
/// Time that a turn takes, s (common practice, no source).
pub const TURN_S: f64 = 15.0;
/// Multipath per bearing, dB.
pub const MULTIPATH_DB: f64 = 2.0;
/// A cell is heard down to this much below all others and noise together, dB.
const HEARD_DB: f64 = -6.0;
/// Noise in a resource element of 15 kHz at a noise figure of 7 dB, dBm.
const NOISE_DBM: f64 = -125.0;
const FRONT_TO_BACK_DB: f64 = 25.0;

struct Cell {
    bearing: Bearing,
    level: f64,
    multipath: Multipath,
}

/// A site.
pub struct Site {
    cells: Vec<Cell>,
    /// The antenna's cut, where it comes from a pattern file.
    cut: Option<Cut>,
    pub width: Degrees,
    pub stops: Vec<Bearing>,
    seed: u64,
}

impl Site {
    /// The site number `index`; of one cell, or of 2 to 6.
    pub fn new(seed: u64, index: usize, stops: usize, single: bool) -> Self {
        let mut rng = Rng::stream(seed, if single { "single" } else { "site" }, index);
        let width = Degrees(if rng.chance(0.5) { 65.0 } else { 40.0 });
        let count = if single { 1 } else { 2 + rng.below(5) };
        let strongest = rng.between(-100.0, -75.0);
        let own = rng.bits();
        let cells = (0..count)
            .map(|i| Cell {
                bearing: Bearing::new(rng.between(0.0, 360.0)),
                level: strongest - if i == 0 { 0.0 } else { rng.between(0.0, 20.0) },
                multipath: Multipath::new(MULTIPATH_DB, Rng::stream(own, "multipath", i)),
            })
            .collect();
        let stops = (0..stops)
            .map(|i| Bearing::new(i as f64 * 360.0 / stops as f64))
            .collect();
        Self {
            cells,
            cut: None,
            width,
            stops,
            seed: own,
        }
    }

    /// The same with an antenna from a pattern file, whose boresight is at 0° and whose width is known.
    pub fn with_cut(self, antenna: &Antenna) -> Self {
        Self {
            cut: Some(antenna.cut.clone()),
            width: antenna.width,
            ..self
        }
    }

    /// Long-term level of a cell at a stop.
    fn level(&self, cell: &Cell, stop: usize) -> f64 {
        let donor = match &self.cut {
            Some(cut) => Donor::measured(self.stops[stop], cut.clone()),
            None => Donor::new(self.stops[stop], self.width.0, FRONT_TO_BACK_DB),
        };
        cell.level + donor.relative_gain_db(cell.bearing) + cell.multipath.db(self.stops[stop])
    }

    /// Direction of the first cell.
    pub fn bearing(&self) -> Bearing {
        self.cells[0].bearing
    }

    /// Long-term level of the strongest cell at a stop, without noise.
    fn truth(&self, stop: usize) -> f64 {
        self.cells
            .iter()
            .map(|cell| self.level(cell, stop))
            .fold(f64::NEG_INFINITY, f64::max)
    }

    /// What the choice of a stop costs against the best, dB.
    pub fn loss_db(&self, stop: usize) -> f64 {
        let best = (0..self.stops.len())
            .map(|s| self.truth(s))
            .fold(f64::NEG_INFINITY, f64::max);
        best - self.truth(stop)
    }
}

/// What differs from what the estimator assumes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Variant {
    /// Name on the command line.
    pub name: &'static str,
    /// The estimator knows the width of the beam.
    pub width_known: bool,
    /// The true wander in parts of the assumed one.
    pub wander: f64,
    /// Time from one fresh measurement of the modem to the next, s.
    pub fresh_s: f64,
}

/// As the estimator assumes, then what it may be wrong about.
pub const VARIANTS: [Variant; 5] = [
    USUAL,
    Variant {
        name: "unknown-width",
        width_known: false,
        ..USUAL
    },
    Variant {
        name: "calm",
        wander: 0.5,
        ..USUAL
    },
    Variant {
        name: "restless",
        wander: 1.5,
        ..USUAL
    },
    Variant {
        name: "slow-modem",
        fresh_s: 8.0,
        ..USUAL
    },
];

const USUAL: Variant = Variant {
    name: "usual",
    width_known: true,
    wander: 1.0,
    fresh_s: READING_S,
};

/// An antenna from a pattern file.
pub struct Antenna {
    cut: Cut,
    width: Degrees,
}

impl Antenna {
    /// Reads its horizontal cut.
    pub fn load(path: &str) -> Result<Self, String> {
        let text = std::fs::read_to_string(path).map_err(|e| format!("{path}: {e}"))?;
        let cut = Pattern::parse(&text)
            .map_err(|e| format!("{path}: {e}"))?
            .horizontal;
        let width = cut
            .width(Db(3.0))
            .ok_or_else(|| format!("{path}: no beam in azimuth"))?;
        Ok(Self { cut, width })
    }
}

/// A visit to a site: time passes, levels wander.
pub struct Visit<'a> {
    site: &'a Site,
    wander: Vec<Wander>,
    fresh_s: f64,
    next_s: f64,
    pub at_s: f64,
    pub stop: usize,
}

impl<'a> Visit<'a> {
    /// Begins at a stop.
    pub fn new(site: &'a Site, stop: usize, variant: Variant) -> Self {
        let wander = (0..site.cells.len())
            .map(|i| Wander::new(variant.wander, Rng::stream(site.seed, "wander", i)))
            .collect();
        Self {
            site,
            wander,
            fresh_s: variant.fresh_s,
            next_s: 0.0,
            at_s: 0.0,
            stop,
        }
    }

    /// Turns to another stop.
    pub fn turn(&mut self, stop: usize) {
        self.pass(TURN_S);
        self.stop = stop;
    }

    fn pass(&mut self, seconds: f64) {
        self.at_s += seconds;
        self.wander.iter_mut().for_each(|w| w.step(seconds));
    }

    /// The next reading: the cells heard, each with its level in dBm; `None` while the modem has nothing fresh.
    pub fn read(&mut self) -> Option<Vec<(u64, f64)>> {
        self.pass(READING_S);
        if self.at_s < self.next_s {
            return None;
        }
        self.next_s = self.at_s + self.fresh_s - 1e-9;
        Some(self.cells())
    }

    fn cells(&self) -> Vec<(u64, f64)> {
        let levels: Vec<f64> = self
            .site
            .cells
            .iter()
            .zip(&self.wander)
            .map(|(cell, wander)| self.site.level(cell, self.stop) + wander.db())
            .collect();
        levels
            .iter()
            .enumerate()
            .filter(|(i, level)| {
                let others = levels
                    .iter()
                    .enumerate()
                    .filter(|(j, _)| j != i)
                    .map(|(_, l)| Dbm(*l));
                let rest = Dbm::power_sum(others.chain([Dbm(NOISE_DBM)]));
                **level - rest.0 > HEARD_DB
            })
            .map(|(i, level)| (i as u64, *level))
            .collect()
    }
}
