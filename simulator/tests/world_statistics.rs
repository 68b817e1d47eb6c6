//! Statistics of the world against what was measured (facts G.3) and against design/aiming.md.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use booster_simulator::rng::Rng;
use booster_simulator::world::{Multipath, Wander};
use radio::Bearing;

const RUNS: usize = 60;
const SECONDS: usize = 3_600;

/// Wander at 1 Hz, stepped with `steps` a second, one run a seed.
fn runs(steps: usize) -> Vec<Vec<f64>> {
    (0..RUNS)
        .map(|run| {
            let mut wander = Wander::new(1.0, Rng::stream(20_260 + steps as u64, "wander", run));
            (0..SECONDS)
                .map(|_| {
                    (0..steps).for_each(|_| wander.step(1.0 / steps as f64));
                    wander.db()
                })
                .collect()
        })
        .collect()
}

/// Root mean square difference over √2 of dwells of `dwell` seconds whose starts lie `apart` seconds apart.
fn dwell_noise(runs: &[Vec<f64>], dwell: usize, apart: usize) -> f64 {
    let mean = |part: &[f64]| part.iter().sum::<f64>() / part.len() as f64;
    let mut squares = 0.0;
    let mut count = 0.0;
    for run in runs {
        let mut start = 0;
        while start + apart + dwell <= run.len() {
            let difference =
                mean(&run[start..start + dwell]) - mean(&run[start + apart..start + apart + dwell]);
            squares += difference * difference;
            count += 1.0;
            start += dwell.max(5);
        }
    }
    (squares / count / 2.0).sqrt()
}

#[test]
fn wander_has_the_recorded_spectrum() {
    let runs = runs(10);
    // One dwell and the next, dwell in s → dB (facts G.3).
    for (dwell, expected) in [(1, 0.44), (5, 0.48), (10, 0.47), (30, 0.40), (60, 0.42)] {
        let measured = dwell_noise(&runs, dwell, dwell);
        assert!((measured - expected).abs() < 0.1, "dwell {dwell} s: {measured}");
    }
    // Two 5 s dwells, start to start in s → dB.
    for (apart, expected) in [(5, 0.51), (30, 0.69), (60, 0.78), (120, 0.81), (300, 0.91)] {
        let measured = dwell_noise(&runs, 5, apart);
        assert!((measured - expected).abs() < 0.1, "{apart} s apart: {measured}");
    }
    // Standard deviation of all: 1.11 dB (design/simulator.md; recorded within runs: median 1.20 dB).
    let all: Vec<f64> = runs.concat();
    let sd = (all.iter().map(|x| x * x).sum::<f64>() / all.len() as f64).sqrt();
    assert!((sd - 1.11).abs() < 0.08, "{sd}");
    // Lag of 1 s: median 0.83 (quartiles 0.74 and 0.89).
    let lag: f64 = runs
        .iter()
        .flat_map(|r| r.windows(2))
        .map(|w| w[0] * w[1])
        .sum::<f64>();
    let power: f64 = runs.iter().flatten().map(|x| x * x).sum();
    assert!((0.74..=0.89).contains(&(lag / power)), "{}", lag / power);
}

#[test]
fn the_step_does_not_change_the_statistics() {
    let (fine, coarse) = (runs(20), runs(1));
    for (dwell, apart) in [(1, 1), (5, 5), (5, 60), (60, 60)] {
        let (a, b) = (
            dwell_noise(&fine, dwell, apart),
            dwell_noise(&coarse, dwell, apart),
        );
        // The fine steps are read at the end of each second, as the coarse ones are.
        assert!((a - b).abs() < 0.05, "{dwell} {apart}: {a} {b}");
    }
}

#[test]
fn multipath_is_correlated_over_fifteen_degrees_and_closes_at_north() {
    // design/aiming.md: σ 2 dB, correlated over 15°.
    let mut sums = [0.0; 5];
    let mut power = 0.0;
    let mut count = 0.0;
    let lags = [5.0, 15.0, 30.0, 60.0, 120.0];
    for seed in 0..400 {
        let paths = Multipath::new(2.0, Rng::stream(seed, "multipath", 0));
        let at = |degrees: f64| paths.db(Bearing::new(degrees));
        assert!((at(359.999) - at(0.0)).abs() < 0.01);
        for step in 0..24 {
            let here = f64::from(step) * 15.0;
            power += at(here) * at(here);
            count += 1.0;
            for (sum, lag) in sums.iter_mut().zip(lags) {
                *sum += at(here) * at(here + lag);
            }
        }
    }
    let sd = (power / count).sqrt();
    assert!((sd - 2.0).abs() < 0.1, "{sd}");
    let correlation = sums.map(|s| s / power);
    for (got, (low, high)) in correlation.into_iter().zip([
        (0.75, 0.95),
        (0.30, 0.48),
        (0.02, 0.2),
        (-0.08, 0.08),
        (-0.08, 0.08),
    ]) {
        assert!((low..=high).contains(&got), "{correlation:?}");
    }
}
