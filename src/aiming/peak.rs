//! Where between the stops the peak of the chosen stop's cell lies.
//!
//! Levels of the visits are fitted by generalised least squares over a grid of directions and beams, the level in the
//! peak being all but free: y = A + pattern(φ − φ0) + multipath + wander, with the covariance of both (Kay, Estimation Theory,
//! chapter 4; memory). Real antennas follow the parabola down to about −6 dB and then go their own way: the same fit
//! with a pattern that is uncertain below that is weighed against the plain one, and what was heard decides.

use super::belief::{Belief, VisitMean};
use super::linear::{cholesky, forward};
use super::model::{Beam, Model, WANDER};
use super::posterior::{LEVEL_SD, LIMIT_SD};
use radio::normal::normal_cdf;
use radio::{Bearing, Degrees};

/// Directions on the grid: every 2°.
const DIRECTIONS: usize = 180;
/// Down to this depth, dB, the parabola holds to half a decibel for the Yagi, log-periodic and corner antennas that
/// NEC-2 computes (tests/reference/nec.py).
const TRUE_DOWN_TO_DB: f64 = 6.0;
/// Standard deviation of a pattern below that, in parts of what the parabola says it falls further.
const ROUGH: f64 = 0.7;
/// How likely an antenna is a rough one, before anything was heard.
const ROUGH_SHARE: f64 = 0.6;

/// Direction of a cell.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FittedPeak {
    /// Most likely direction: the posterior mean of the plain fit.
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
    let fit = Fit::new(belief, belief.visit_means(key)?, &belief.silent_limits(key));
    let ((plain, plain_log), (rough, rough_log)) = (fit.weights(0.0), fit.weights(ROUGH));
    let odds = libm::exp((rough_log - plain_log).clamp(-700.0, 700.0)) * ROUGH_SHARE / (1.0 - ROUGH_SHARE);
    let share = odds / (1.0 + odds);
    // The plain fit says where: its errors are smaller for rough antennas too. Both together say how sure that is.
    let bearing = mean(&plain);
    let mut both: Vec<(f64, f64)> = [(&plain, 1.0 - share), (&rough, share)]
        .into_iter()
        .flat_map(|(weights, share)| weights.iter().map(move |(d, w)| ((*d - bearing).0, w * share)))
        .collect();
    both.sort_by(|a, b| a.0.total_cmp(&b.0));
    Some(summary(bearing, &both))
}

/// What a fit needs of the visits, once for all hypotheses.
struct Fit<'a> {
    model: &'a Model,
    stops: &'a [Bearing],
    visits: &'a [VisitMean],
    /// Covariance of the visits' levels without the pattern's.
    covariance: Vec<f64>,
    /// Stops at which the cell was not heard, with the level below which it would not have been.
    silent: Vec<(usize, f64)>,
}

impl<'a> Fit<'a> {
    fn new(belief: &'a Belief, visits: &'a [VisitMean], silent: &[Option<f64>]) -> Self {
        let (model, stops) = (belief.model(), belief.stops());
        let n = visits.len();
        let mut covariance = vec![0.0; n * n];
        for (i, a) in visits.iter().enumerate() {
            for (j, b) in visits.iter().enumerate() {
                let apart = (a.middle_s() - b.middle_s()).abs();
                let wander: f64 = WANDER
                    .iter()
                    .map(|(variance, tau)| {
                        variance
                            * if i == j {
                                kept_by_mean((a.to_s - a.from_s) / tau)
                            } else {
                                libm::exp(-apart / tau)
                            }
                    })
                    .sum();
                covariance[i * n + j] = wander + model.multipath_covariance(stops[a.stop], stops[b.stop]);
            }
            covariance[i * (n + 1)] += model.noise.0 * model.noise.0 / f64::from(a.count.max(1));
        }
        let silent = silent
            .iter()
            .enumerate()
            .filter_map(|(stop, limit)| Some((stop, (*limit)?)));
        Self {
            model,
            stops,
            visits,
            covariance,
            silent: silent.collect(),
        }
    }

    /// Weight of each direction with a pattern that is as uncertain as `rough` says, over all beams; these add up to
    /// one. Also the logarithm of how well that explains what was heard.
    fn weights(&self, rough: f64) -> (Vec<(Bearing, f64)>, f64) {
        let mut logs = Vec::new();
        for i in 0..DIRECTIONS {
            let direction = Bearing::new(i as f64 * 360.0 / DIRECTIONS as f64);
            for beam in self.model.beams() {
                logs.push((direction, self.log_likelihood(direction, beam, rough)));
            }
        }
        let most = logs.iter().map(|(_, log)| *log).fold(f64::NEG_INFINITY, f64::max);
        let total: f64 = logs.iter().map(|(_, log)| libm::exp(log - most)).sum();
        let weights = logs
            .into_iter()
            .map(|(direction, log)| (direction, libm::exp(log - most) / total))
            .collect();
        (weights, most + libm::log(total))
    }

    fn log_likelihood(&self, direction: Bearing, beam: Beam, rough: f64) -> f64 {
        let pattern = |stop: usize| beam.db(direction - self.stops[stop]);
        let uncertain = |stop: usize| {
            let sd = rough * (-pattern(stop) - TRUE_DOWN_TO_DB).max(0.0);
            sd * sd
        };
        let n = self.visits.len();
        let mut covariance = self.covariance.clone();
        for (i, a) in self.visits.iter().enumerate() {
            for (j, b) in self.visits.iter().enumerate() {
                if a.stop == b.stop {
                    covariance[i * n + j] += uncertain(a.stop);
                }
            }
        }
        let factor = cholesky(&covariance, n);
        let ones = forward(&factor, n, &vec![1.0; n]);
        let middle = 0.5 * (self.model.levels.0 + self.model.levels.1);
        let rest = |v: &VisitMean| v.mean - pattern(v.stop) - middle;
        let rest: Vec<f64> = self.visits.iter().map(rest).collect();
        let rest = forward(&factor, n, &rest);
        let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(x, y)| x * y).sum::<f64>();
        let information = dot(&ones, &ones) + 1.0 / (LEVEL_SD * LEVEL_SD);
        let level = dot(&ones, &rest) / information;
        let squares = dot(&rest, &rest) - level * level * information;
        let determinant: f64 = (0..n).map(|i| libm::log(factor[i * (n + 1)].max(1e-12))).sum();
        let silence: f64 = self
            .silent
            .iter()
            .map(|(stop, limit)| {
                let multipath = self.model.multipath.0;
                let variance =
                    LIMIT_SD * LIMIT_SD + multipath * multipath + uncertain(*stop) + 1.0 / information;
                let below = (limit - middle - level - pattern(*stop)) / libm::sqrt(variance);
                libm::log(normal_cdf(below).max(1e-12))
            })
            .sum();
        silence - determinant - 0.5 * libm::log(information) - 0.5 * squares
    }
}

/// Share of a term's variance that the mean over a span of `x` time constants keeps.
fn kept_by_mean(x: f64) -> f64 {
    if x < 1e-3 {
        return 1.0;
    }
    2.0 * (x - 1.0 + libm::exp(-x)) / (x * x)
}

fn mean(weights: &[(Bearing, f64)]) -> Bearing {
    let (mut north, mut east) = (0.0, 0.0);
    for (direction, weight) in weights {
        let angle = direction.degrees().to_radians();
        north += weight * libm::cos(angle);
        east += weight * libm::sin(angle);
    }
    Bearing::new(libm::atan2(east, north).to_degrees())
}

/// Around a bearing: how far off each direction is, in order, with its weight.
fn summary(bearing: Bearing, around: &[(f64, f64)]) -> FittedPeak {
    let variance: f64 = around.iter().map(|(off, weight)| weight * off * off).sum();
    let at = |share: f64| {
        let mut sum = 0.0;
        let found = around.iter().find(|(_, weight)| {
            sum += weight;
            sum >= share
        });
        found.map_or(0.0, |(off, _)| *off)
    };
    let half_step = Degrees(180.0 / DIRECTIONS as f64);
    FittedPeak {
        bearing,
        sd: Degrees(libm::sqrt(variance)),
        low: bearing + Degrees(at(0.025).min(0.0)) - half_step,
        high: bearing + Degrees(at(0.975).max(0.0)) + half_step,
    }
}
