//! Cramér–Rao bound of the bearing of the only cell from the readings taken, with the width known.

use crate::site::{MULTIPATH_DB, Site};
use booster_simulator::world::TERMS;

/// Weight of the simulator's multipath from one grid point to the next, exp(−2·5°/15°).
const NEIGHBOUR: f64 = 0.513_417_119_032_592;

/// The bound in degrees; `readings` are times in s and stops, `wander` is the true one in parts of the usual.
///
/// The levels are Gaussian with mean A + pattern(φ − φ0) and the covariance of wander and multipath, so the Fisher
/// information is DᵀC⁻¹D with the derivatives to A and φ0 in D (Kay, Estimation Theory, chapter 3; memory).
pub fn bearing_bound(site: &Site, readings: &[(f64, usize)], wander: f64) -> f64 {
    let n = readings.len();
    let mut covariance = vec![0.0; n * n];
    for (i, (at, stop)) in readings.iter().enumerate() {
        for (j, (other_at, other_stop)) in readings.iter().enumerate() {
            let steps = (site.stops[*stop] - site.stops[*other_stop]).abs().0 / 5.0;
            let square = NEIGHBOUR * NEIGHBOUR;
            let multipath = NEIGHBOUR.powf(steps) * (1.0 + steps * (1.0 - square) / (1.0 + square));
            let own: f64 = TERMS
                .iter()
                .map(|(v, tau)| v * (-(at - other_at).abs() / tau).exp())
                .sum();
            covariance[i * n + j] = MULTIPATH_DB * MULTIPATH_DB * multipath + wander * wander * own;
        }
        covariance[i * (n + 1)] += 1e-9;
    }
    let factor = factor(&covariance, n);
    let ones = solve(&factor, n, &vec![1.0; n]);
    let slopes: Vec<f64> = readings
        .iter()
        .map(|(_, stop)| {
            let off = (site.stops[*stop] - site.bearing()).0;
            let ratio = off / site.width.0;
            if 12.0 * ratio * ratio < 25.0 {
                24.0 * ratio / site.width.0
            } else {
                0.0
            }
        })
        .collect();
    let slopes = solve(&factor, n, &slopes);
    let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(x, y)| x * y).sum::<f64>();
    let information = dot(&slopes, &slopes) - dot(&ones, &slopes).powi(2) / dot(&ones, &ones);
    1.0 / information.max(1e-9).sqrt()
}

fn factor(matrix: &[f64], n: usize) -> Vec<f64> {
    let mut l = vec![0.0; n * n];
    for i in 0..n {
        for j in 0..=i {
            let dot: f64 = (0..j).map(|k| l[i * n + k] * l[j * n + k]).sum();
            let rest = matrix[i * n + j] - dot;
            l[i * n + j] = if i == j {
                rest.max(1e-12).sqrt()
            } else {
                rest / l[j * n + j]
            };
        }
    }
    l
}

/// L⁻¹·x.
fn solve(l: &[f64], n: usize, x: &[f64]) -> Vec<f64> {
    let mut y = x.to_vec();
    for i in 0..n {
        let dot: f64 = (0..i).map(|k| l[i * n + k] * y[k]).sum();
        y[i] = (y[i] - dot) / l[i * (n + 1)];
    }
    y
}
