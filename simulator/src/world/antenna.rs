//! The donor antenna on its mount: where it points, what it hears from each bearing, and what each bearing adds by
//! reflections.

use crate::rng::Rng;
use radio::pattern::element::parabolic_cut;
use radio::pattern::msi::Cut;
use radio::{Bearing, Db, Degrees};

/// The donor antenna.
#[derive(Clone, Debug)]
pub struct Donor {
    /// Where the antenna points.
    pub bearing: Bearing,
    shape: Shape,
}

/// Shape of the horizontal pattern.
#[derive(Clone, Debug)]
enum Shape {
    /// The element of TR 38.901, by half-power beamwidth and front-to-back ratio.
    Parabolic { beam_deg: f64, front_to_back_db: f64 },
    /// The horizontal cut of a pattern file.
    Measured(Box<Cut>),
}

impl Donor {
    /// An antenna of this half-power beamwidth and front-to-back ratio, pointing to `bearing`.
    pub fn new(bearing: Bearing, beam_deg: f64, front_to_back_db: f64) -> Self {
        Self {
            bearing,
            shape: Shape::Parabolic {
                beam_deg,
                front_to_back_db,
            },
        }
    }

    /// An antenna whose horizontal cut comes from a pattern file.
    pub fn measured(bearing: Bearing, horizontal: Cut) -> Self {
        Self {
            bearing,
            shape: Shape::Measured(Box::new(horizontal)),
        }
    }

    /// Gain towards `target` relative to boresight, dB (zero or negative).
    pub fn relative_gain_db(&self, target: Bearing) -> f64 {
        let off = target - self.bearing;
        match &self.shape {
            // Scenarios are checked; a width or suppression out of range hears the same all round.
            Shape::Parabolic {
                beam_deg,
                front_to_back_db,
            } => parabolic_cut(off, Degrees(*beam_deg), Db(*front_to_back_db)).map_or(0.0, |gain| gain.0),
            Shape::Measured(cut) => (cut.loss(Degrees(0.0)) - cut.loss(off)).0,
        }
    }
}

/// Step of the multipath grid, degrees.
const GRID_DEG: f64 = 5.0;
/// Correlation angle of multipath over the bearing, degrees (design/aiming.md).
const CORRELATION_DEG: f64 = 15.0;
const POINTS: usize = 72;

/// What reflections add to a cell's level at each bearing of the antenna: a random function around the circle.
#[derive(Clone, Debug)]
pub struct Multipath {
    grid: Option<Box<[f64; POINTS]>>,
}

impl Multipath {
    /// A random function of standard deviation `sigma_db`, correlated over 15°; flat for zero.
    pub fn new(sigma_db: f64, mut rng: Rng) -> Self {
        if sigma_db <= 0.0 {
            return Self { grid: None };
        }
        // White noise smoothed around the circle by exp(−|Δ|/15°) weights: no seam at north.
        let white: [f64; POINTS] = core::array::from_fn(|_| rng.normal());
        let weight = |k: usize| {
            let turn = k.min(POINTS - k) as f64 * GRID_DEG;
            libm::exp(-2.0 * turn / CORRELATION_DEG)
        };
        let norm = libm::sqrt((0..POINTS).map(|k| weight(k) * weight(k)).sum::<f64>());
        let grid = core::array::from_fn(|i| {
            let sum: f64 = (0..POINTS).map(|k| weight(k) * white[(i + k) % POINTS]).sum();
            sigma_db * sum / norm
        });
        Self {
            grid: Some(Box::new(grid)),
        }
    }

    /// The contribution at this bearing, dB.
    pub fn db(&self, bearing: Bearing) -> f64 {
        let Some(grid) = &self.grid else { return 0.0 };
        let position = bearing.degrees() / GRID_DEG;
        let (index, part) = (position as usize % POINTS, position - libm::floor(position));
        grid[index] * (1.0 - part) + grid[(index + 1) % POINTS] * part
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_measured_cut_replaces_the_parabola() {
        // Flat to ±20°, then 1 dB a degree down to 30 dB.
        let loss = |deg: f64| (deg.abs() - 20.0).clamp(0.0, 30.0);
        let cut = Cut::new((-180..180).map(|d| (Degrees(f64::from(d)), Db(loss(f64::from(d))))));
        let donor = Donor::measured(Bearing::new(90.0), cut.expect("a cut"));
        for (target, gain) in [
            (90.0, 0.0),
            (105.0, 0.0),
            (65.0, -5.0),
            (120.0, -10.0),
            (270.0, -30.0),
        ] {
            assert_eq!(
                donor.relative_gain_db(Bearing::new(target)),
                gain,
                "towards {target}"
            );
        }
    }
}
