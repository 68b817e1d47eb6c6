//! Posterior of one cell's long-term level at every stop.
//!
//! Level at a stop = level in the beam's peak + beam pattern + multipath of that bearing; a reading adds the wander
//! of the cell, which all stops share. With the direction of the cell (and the beam) given, all of this is Gaussian
//! and a Kalman filter is exact. Its covariance does not depend on the direction, so one covariance serves a grid of
//! directions, each with its own mean and likelihood.
//! Kay, Estimation Theory, chapter 13 (memory); multiple-model filtering is common practice, no source.

use super::model::{Model, WANDER};
use radio::normal::normal_cdf;
use radio::{Bearing, Degrees};

/// Directions on the grid: every 2°.
const DIRECTIONS: usize = 180;
/// Prior standard deviation of a cell's level in the peak, dB.
pub(super) const LEVEL_SD: f64 = 25.0;
/// Uncertainty of the limit below which a cell is not heard, dB.
pub(super) const LIMIT_SD: f64 = 2.5;

/// One direction of the cell, with one beam.
#[derive(Clone, Debug)]
struct Hypothesis {
    direction: Bearing,
    /// Pattern at each stop, dB.
    pattern: Vec<f64>,
    /// Mean of the state: peak level + multipath at each stop, then the wander's terms.
    mean: Vec<f64>,
    log_likelihood: f64,
}

/// Posterior of one cell.
#[derive(Clone, Debug)]
pub struct CellPosterior {
    stops: usize,
    noise: f64,
    hypotheses: Vec<Hypothesis>,
    /// Covariance of the state.
    covariance: Vec<f64>,
    at_s: f64,
    heard: Vec<bool>,
}

const TERMS: usize = WANDER.len();

impl CellPosterior {
    /// Before the first reading at `at_s`.
    pub fn new(model: &Model, stops: &[Bearing], at_s: f64) -> Self {
        let n = stops.len() + TERMS;
        let mut covariance = vec![0.0; n * n];
        for (i, a) in stops.iter().enumerate() {
            for (j, b) in stops.iter().enumerate() {
                covariance[i * n + j] = LEVEL_SD * LEVEL_SD + model.multipath_covariance(*a, *b);
            }
        }
        for (i, (variance, _)) in WANDER.iter().enumerate() {
            covariance[(stops.len() + i) * (n + 1)] = *variance;
        }
        let middle = 0.5 * (model.levels.0 + model.levels.1);
        let mut mean = vec![0.0; n];
        mean[..stops.len()].fill(middle);
        let beams = model.beams();
        let hypotheses = (0..DIRECTIONS)
            .flat_map(|i| beams.iter().map(move |beam| (i, beam)))
            .map(|(i, beam)| {
                let direction = Bearing::new(i as f64 * 360.0 / DIRECTIONS as f64);
                Hypothesis {
                    direction,
                    pattern: stops.iter().map(|s| beam.db(direction - *s)).collect(),
                    mean: mean.clone(),
                    log_likelihood: 0.0,
                }
            })
            .collect();
        Self {
            stops: stops.len(),
            noise: model.noise.0 * model.noise.0,
            hypotheses,
            covariance,
            at_s,
            heard: vec![false; stops.len()],
        }
    }

    fn order(&self) -> usize {
        self.stops + TERMS
    }

    /// Lets time pass: the wander forgets.
    pub fn advance(&mut self, at_s: f64) {
        let dt = at_s - self.at_s;
        if dt <= 0.0 {
            return;
        }
        self.at_s = at_s;
        let keep = forget(&mut self.covariance, self.stops, dt);
        for hypothesis in &mut self.hypotheses {
            for (mean, keep) in hypothesis.mean[self.stops..].iter_mut().zip(keep) {
                *mean *= keep;
            }
        }
    }

    /// Takes in a reading of this cell at a stop.
    pub fn observe(&mut self, stop: usize, at_s: f64, level: f64) {
        if stop >= self.stops || !level.is_finite() || !at_s.is_finite() {
            return;
        }
        self.advance(at_s);
        self.heard[stop] = true;
        let stops = self.stops;
        let (gain, variance) = condition(&mut self.covariance, stops, stop, self.noise);
        for h in &mut self.hypotheses {
            let expected = h.pattern[stop] + h.mean[stop] + h.mean[stops..].iter().sum::<f64>();
            let innovation = level - expected;
            h.log_likelihood -= 0.5 * innovation * innovation / variance;
            for (mean, gain) in h.mean.iter_mut().zip(&gain) {
                *mean += gain * innovation;
            }
        }
    }

    /// Whether the cell was heard at a stop.
    pub fn heard_at(&self, stop: usize) -> bool {
        self.heard.get(stop).copied().unwrap_or(false)
    }

    /// Weight of each direction; `limits` says below which level a cell would have gone unheard at each stop, where
    /// the antenna has pointed there.
    pub fn weights(&self, limits: &[Option<f64>]) -> Vec<f64> {
        let n = self.order();
        let logs: Vec<f64> = self
            .hypotheses
            .iter()
            .map(|h| {
                let silent: f64 = (0..self.stops)
                    .filter(|stop| !self.heard[*stop])
                    .filter_map(|stop| limits.get(stop).copied().flatten().map(|limit| (stop, limit)))
                    .map(|(stop, limit)| {
                        let level = h.mean[stop] + h.pattern[stop];
                        let sd = libm::sqrt(self.covariance[stop * (n + 1)] + LIMIT_SD * LIMIT_SD);
                        libm::log(normal_cdf((limit - level) / sd).max(1e-12))
                    })
                    .sum();
                h.log_likelihood + silent
            })
            .collect();
        let most = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let mut weights: Vec<f64> = logs.iter().map(|l| libm::exp(l - most)).collect();
        let total: f64 = weights.iter().sum();
        weights.iter_mut().for_each(|w| *w /= total);
        weights
    }

    /// Long-term level at a stop under one hypothesis.
    pub fn level(&self, hypothesis: usize, stop: usize) -> f64 {
        self.hypotheses
            .get(hypothesis)
            .map_or(f64::NAN, |h| h.mean[stop] + h.pattern[stop])
    }

    /// Direction of a hypothesis.
    pub fn direction(&self, hypothesis: usize) -> Bearing {
        self.hypotheses
            .get(hypothesis)
            .map_or_else(Bearing::default, |h| h.direction)
    }

    /// Covariance of the long-term levels over the stops, given the direction.
    pub fn covariance(&self) -> Vec<f64> {
        let n = self.order();
        (0..self.stops)
            .flat_map(|i| &self.covariance[i * n..i * n + self.stops])
            .copied()
            .collect()
    }

    /// Variance of the difference of two stops' levels, given the direction, after another dwell of `readings`
    /// readings `step_s` apart at `stop`, begun `wait_s` from now.
    pub fn difference_after(
        &self,
        pair: (usize, usize),
        stop: usize,
        wait_s: f64,
        readings: usize,
        step_s: f64,
    ) -> f64 {
        let mut covariance = self.covariance.clone();
        for i in 0..readings {
            forget(&mut covariance, self.stops, if i == 0 { wait_s } else { step_s });
            condition(&mut covariance, self.stops, stop, self.noise);
        }
        difference(&covariance, self.order(), pair)
    }

    /// Variance of the difference of two stops' levels now, given the direction.
    pub fn difference_variance(&self, pair: (usize, usize)) -> f64 {
        difference(&self.covariance, self.order(), pair)
    }

    /// Step between directions on the grid.
    pub fn grid(&self) -> Degrees {
        Degrees(360.0 / DIRECTIONS as f64)
    }
}

fn difference(covariance: &[f64], n: usize, (a, b): (usize, usize)) -> f64 {
    covariance[a * (n + 1)] + covariance[b * (n + 1)] - 2.0 * covariance[a * n + b]
}

/// Passes `dt` seconds over the wander's terms; how much of each is kept.
fn forget(covariance: &mut [f64], stops: usize, dt: f64) -> [f64; TERMS] {
    let n = stops + TERMS;
    let keep = WANDER.map(|(_, tau)| libm::exp(-dt / tau));
    for (i, keep) in keep.iter().enumerate() {
        for j in 0..n {
            covariance[(stops + i) * n + j] *= keep;
            covariance[j * n + stops + i] *= keep;
        }
    }
    for (i, ((variance, _), keep)) in WANDER.iter().zip(keep).enumerate() {
        covariance[(stops + i) * (n + 1)] += variance * (1.0 - keep * keep);
    }
    keep
}

/// Conditions on a reading at `stop`; the gain and the variance of the reading as it was expected.
fn condition(covariance: &mut [f64], stops: usize, stop: usize, noise: f64) -> (Vec<f64>, f64) {
    let n = stops + TERMS;
    let seen = |row: &[f64]| row[stop] + row[stops..].iter().sum::<f64>();
    let cross: Vec<f64> = covariance.chunks_exact(n).map(seen).collect();
    let variance = seen(&cross) + noise;
    let gain: Vec<f64> = cross.iter().map(|c| c / variance).collect();
    for (row, gain) in covariance.chunks_exact_mut(n).zip(&gain) {
        for (value, cross) in row.iter_mut().zip(&cross) {
            *value -= gain * cross;
        }
    }
    (gain, variance)
}
