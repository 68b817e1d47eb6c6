//! What is taken as known before the first reading: the wander of levels, the beam, the multipath, the cells.

use radio::{Bearing, Db, Degrees};

/// Terms of the wander of one cell's level: variance in dB² and time constant in s. Their sum has the spectrum that
/// stationary receivers recorded (facts G.3).
pub const WANDER: [(f64, f64); 4] = [(0.61, 2.0), (0.073, 15.0), (0.233, 60.0), (0.323, 400.0)];

/// Widths tried when the beam's is not known: those of the panel and log-periodic antennas in use (common practice,
/// no source).
const USUAL_WIDTHS: [f64; 5] = [30.0, 40.0, 52.0, 65.0, 85.0];

/// Horizontal pattern of the donor antenna: −min(12·(φ/φ3)², front-to-back), TR 38.901 table 7.3-1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Beam {
    /// Full −3 dB width, 5° to 180°.
    pub width: Degrees,
    /// Front-to-back ratio, positive.
    pub front_to_back: Db,
}

impl Beam {
    /// Gain towards a direction `off` the boresight relative to the peak, dB; zero or negative.
    pub fn db(&self, off: Degrees) -> f64 {
        let ratio = off.wrapped().0 / self.width.0.clamp(5.0, 180.0);
        -(12.0 * ratio * ratio).min(self.front_to_back.0.abs())
    }
}

/// What the estimator assumes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Model {
    /// Width of the beam; `None`: estimated with the rest.
    pub width: Option<Degrees>,
    /// Front-to-back ratio.
    pub front_to_back: Db,
    /// Standard deviation of what reflections add at a bearing.
    pub multipath: Db,
    /// Turn over which multipath stays alike.
    pub multipath_turn: Degrees,
    /// Standard deviation of a reading that no wander explains: rounding to whole dB is 0.29 dB (facts G.4).
    pub noise: Db,
    /// How far below the strongest cell a cell can still be heard.
    pub heard_below: Db,
    /// Levels that a cell in the beam's peak can have: from what a modem can just hear to the strongest met.
    pub levels: (f64, f64),
    /// Cells expected at a site whose level is anywhere in this range.
    pub cells: f64,
}

impl Default for Model {
    /// RSRP in dBm. Multipath as in the project's simulator (design/aiming.md); the number of cells was chosen so that
    /// the stated probability is right over simulated sites.
    fn default() -> Self {
        Self {
            width: None,
            front_to_back: Db(25.0),
            multipath: Db(2.0),
            multipath_turn: Degrees(15.0),
            noise: Db(0.3),
            heard_below: Db(6.0),
            levels: (-120.0, -60.0),
            cells: 4.0,
        }
    }
}

impl Model {
    /// Beams to consider.
    pub fn beams(&self) -> Vec<Beam> {
        let beam = |width| Beam {
            width,
            front_to_back: self.front_to_back,
        };
        match self.width {
            Some(width) => vec![beam(width)],
            None => USUAL_WIDTHS.iter().map(|w| beam(Degrees(*w))).collect(),
        }
    }

    /// Covariance of multipath at two bearings, dB²: white noise smoothed by exp(−2|Δ|/turn).
    pub fn multipath_covariance(&self, a: Bearing, b: Bearing) -> f64 {
        let x = 2.0 * (a - b).abs().0 / self.multipath_turn.0.max(1e-3);
        self.multipath.0 * self.multipath.0 * (1.0 + x) * libm::exp(-x)
    }
}
