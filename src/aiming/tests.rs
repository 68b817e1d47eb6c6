//! The estimator against closed forms and the procedure on simple sites.

use super::linear::cholesky;
use super::model::WANDER;
use super::normals::Normals;
use super::posterior::CellPosterior;
use super::*;
use proptest::prelude::*;
use radio::{Bearing, Db, Degrees};

fn scan(count: usize, step: f64) -> Vec<Bearing> {
    let middle = (count - 1) as f64 / 2.0;
    (0..count)
        .map(|i| Bearing::new((i as f64 - middle) * step))
        .collect()
}

/// A model without multipath whose readings, taken far apart in time, scatter by `sigma` independently. The parabola
/// has no floor, as in the closed form: a flat back lobe would explain a noisy scan of 60° nearly as well.
fn white(width: f64, sigma: f64) -> Model {
    let wander: f64 = WANDER.iter().map(|(variance, _)| variance).sum();
    Model {
        width: Some(Degrees(width)),
        front_to_back: Db(200.0),
        multipath: Db(1e-6),
        noise: Db((sigma * sigma - wander).sqrt()),
        ..Model::default()
    }
}

/// Rows G01, G03 and G04 of the project's table of worked values: the bound on a bearing with the width known. The
/// spread of the posterior is that bound when readings are independent.
#[test]
fn the_spread_of_the_bearing_is_the_bound() {
    for (sigma, width, count, step, bound) in [
        (2.0, 60.0, 13, 5.0, 4.4475),
        (2.0, 30.0, 13, 2.5, 2.22375),
        (2.0, 60.0, 19, 5.0, 2.51312),
    ] {
        let stops = scan(count, step);
        let mut belief = Belief::new(white(width, sigma), &stops, &[1.0]);
        let beam = white(width, sigma).beams()[0];
        for (i, stop) in stops.iter().enumerate() {
            let level = -80.0 + beam.db(*stop - Bearing::new(0.0));
            belief.observe(i, i as f64 * 1e6, 0, &[(1, level)]);
        }
        let peak = peak::fitted_peak(&belief, count / 2).unwrap();
        assert!((peak.sd.0 / bound - 1.0).abs() < 0.02, "{width}: {}", peak.sd.0);
        assert!((peak.bearing - Bearing::new(0.0)).0.abs() < 0.1);
        let half = (peak.high - peak.low).0 / 2.0;
        assert!((half - 1.96 * bound).abs() < 2.5, "{half}");
    }
}

/// Row G07: over noisy scans the fit is as good as the known-width fit, far better than the best
/// reading.
#[test]
fn noisy_scans_are_fitted_as_well_as_can_be() {
    let stops = scan(13, 5.0);
    let model = white(60.0, 2.0);
    let beam = model.beams()[0];
    let mut noise = Normals::stream(5);
    let runs = 300;
    let squares: f64 = (0..runs)
        .map(|_| {
            let mut belief = Belief::new(model, &stops, &[1.0]);
            for (i, stop) in stops.iter().enumerate() {
                let level = -80.0 + beam.db(*stop - Bearing::new(0.0)) + 2.0 * noise.normal();
                belief.observe(i, i as f64 * 1e6, 0, &[(1, level)]);
            }
            let error = (peak::fitted_peak(&belief, 6).unwrap().bearing - Bearing::new(0.0)).0;
            error * error
        })
        .sum();
    let rms = (squares / f64::from(runs)).sqrt();
    // 4.48° ± three standard errors of 300 runs.
    assert!((rms - 4.48).abs() < 0.6, "{rms}");
}

/// The filter gives what conditioning on all readings at once gives.
#[test]
fn the_filter_equals_the_batch_solution() {
    let stops = [Bearing::new(0.0), Bearing::new(20.0)];
    let model = Model {
        width: Some(Degrees(65.0)),
        ..Model::default()
    };
    let readings = [(0, 0.0), (0, 0.5), (1, 16.0), (1, 17.0), (0, 40.0)];
    let mut posterior = CellPosterior::new(&model, &stops, 0.0);
    for (stop, at) in readings {
        posterior.observe(stop, at, -80.0);
    }
    let prior = |a: usize, b: usize| 625.0 + model.multipath_covariance(stops[a], stops[b]);
    let n = readings.len();
    // Joint covariance of the readings and of the difference of both stops, which comes last.
    let mut joint = vec![0.0; (n + 1) * (n + 1)];
    for (i, (a, at)) in readings.iter().enumerate() {
        for (j, (b, other)) in readings.iter().enumerate() {
            let wander: f64 = WANDER
                .iter()
                .map(|(v, tau)| v * (-(at - other).abs() / tau).exp())
                .sum();
            let noise = if i == j {
                model.noise.0 * model.noise.0
            } else {
                0.0
            };
            joint[i * (n + 1) + j] = prior(*a, *b) + wander + noise;
        }
        let cross = prior(*a, 0) - prior(*a, 1);
        joint[i * (n + 1) + n] = cross;
        joint[n * (n + 1) + i] = cross;
    }
    joint[n * (n + 2)] = prior(0, 0) + prior(1, 1) - 2.0 * prior(0, 1);
    // The last pivot of the factor is the standard deviation left after conditioning.
    let left = cholesky(&joint, n + 1)[n * (n + 2)].powi(2);
    assert!(
        (posterior.difference_variance((0, 1)) - left).abs() < 1e-6,
        "{left}"
    );
    let after = posterior.difference_after((0, 1), 1, 15.0, 6, 0.5);
    assert!(after < left && after > 0.0);
}

/// Aims at a site of one cell without wander; the procedure and the times that it took.
fn aim(stops: usize, cell: f64) -> Procedure {
    let model = Model {
        width: Some(Degrees(65.0)),
        ..Model::default()
    };
    let stops: Vec<Bearing> = (0..stops)
        .map(|i| Bearing::new(i as f64 * 360.0 / stops as f64))
        .collect();
    let beam = model.beams()[0];
    let mut procedure = Procedure::new(Belief::new(model, &stops, &[1.0]), Effort::for_stops(stops.len()));
    let (mut at, mut stop) = (0.0, 0);
    procedure.arrive(stop, at);
    for _ in 0..10_000 {
        at += 0.5;
        let level = -85.0 + beam.db(Bearing::new(cell) - stops[stop]);
        let heard: Vec<(u64, f64)> = (level > -118.0).then_some((7, level)).into_iter().collect();
        procedure.reading(at, 0, &heard);
        match procedure.advise(at) {
            Advice::Hold => {}
            Advice::Turn(next) => {
                assert_ne!(next, stop);
                at += 15.0;
                stop = next;
                procedure.arrive(stop, at);
            }
            Advice::Done => return procedure,
        }
    }
    procedure
}

#[test]
fn a_plain_site_is_aimed_at_quickly_and_the_same_way_each_time() {
    let procedure = aim(8, 100.0);
    let judgement = procedure.judgement().unwrap();
    assert_eq!(judgement.best, 2);
    assert!(judgement.probability >= 0.98);
    assert!(procedure.turns() <= 9, "{}", procedure.turns());
    let peak = procedure.peak().unwrap();
    assert!((peak.bearing - Bearing::new(100.0)).0.abs() < 8.0, "{peak:?}");
    assert_eq!(aim(8, 100.0).judgement(), Some(judgement));
    let seconds: f64 = procedure.belief().dwells().iter().map(|d| d.seconds).sum();
    assert!(seconds < 48.0, "{seconds}");
}

#[test]
fn a_silent_stop_rules_out_strong_cells_nearby() {
    let stops = [Bearing::new(0.0), Bearing::new(20.0), Bearing::new(180.0)];
    let near = |limits: &[Option<f64>]| -> f64 {
        unseen::candidates(&Model::default(), &stops, limits)
            .iter()
            .filter(|c| c.level > -90.0 && (c.direction - stops[1]).abs().0 < 10.0)
            .map(|c| c.expected)
            .sum()
    };
    let before = near(&[None, None, None]);
    assert!(near(&[Some(-110.0), None, None]) < 0.01 * before);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 32, ..ProptestConfig::default() })]

    /// Whatever readings say, in whatever order times come, there is an answer and its probability is one.
    #[test]
    fn anything_is_taken_in(
        readings in prop::collection::vec((0_usize..5, -1e3..1e6f64, 0_usize..3, 0_u64..3, prop::num::f64::ANY), 0..40)
    ) {
        let stops = scan(4, 40.0);
        let belief = Belief::new(Model::default(), &stops, &[1.0, 0.5]);
        let mut procedure = Procedure::new(belief, Effort::for_stops(4));
        for (stop, at, band, cell, level) in readings {
            if stop < 4 {
                procedure.arrive(stop, at);
            }
            procedure.reading(at, band, &[(cell, level.clamp(-200.0, 50.0))]);
            procedure.advise(at + 10.0);
        }
        if let Some(judgement) = procedure.judgement() {
            prop_assert!((0.0..=1.0 + 1e-9).contains(&judgement.probability));
            prop_assert!(judgement.best < 4);
        }
    }
}
