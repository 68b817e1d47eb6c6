//! Where between the stops the peak of the chosen stop's cell lies.

use super::belief::Belief;
use radio::{Bearing, Degrees};

/// Direction of a cell.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FittedPeak {
    /// Most likely direction (posterior mean).
    pub bearing: Bearing,
    /// Standard deviation.
    pub sd: Degrees,
    /// Lower end of the 95 % interval, counter-clockwise.
    pub low: Bearing,
    /// Upper end, clockwise.
    pub high: Bearing,
}

/// The peak of the cell that is strongest at a stop; `None` when nothing was heard.
pub fn fitted_peak(belief: &Belief, stop: usize) -> Option<FittedPeak> {
    let key = belief.dominant(stop)?;
    let posterior = belief.posterior(key)?;
    let weights = belief.direction_weights(key)?;
    let (mut north, mut east) = (0.0, 0.0);
    for (h, weight) in weights.iter().enumerate() {
        let angle = posterior.direction(h).degrees().to_radians();
        north += weight * libm::cos(angle);
        east += weight * libm::sin(angle);
    }
    let bearing = Bearing::new(libm::atan2(east, north).to_degrees());
    let mut around: Vec<(f64, f64)> = weights
        .iter()
        .enumerate()
        .map(|(h, weight)| ((posterior.direction(h) - bearing).0, *weight))
        .collect();
    around.sort_by(|a, b| a.0.total_cmp(&b.0));
    let variance: f64 = around.iter().map(|(off, weight)| weight * off * off).sum();
    let at = |share: f64| {
        let mut sum = 0.0;
        let found = around.iter().find(|(_, weight)| {
            sum += weight;
            sum >= share
        });
        found.map_or(0.0, |(off, _)| *off)
    };
    let half_step = Degrees(posterior.grid().0 / 2.0);
    Some(FittedPeak {
        bearing,
        sd: Degrees(libm::sqrt(variance)),
        low: bearing + Degrees(at(0.025)) - half_step,
        high: bearing + Degrees(at(0.975)) + half_step,
    })
}
