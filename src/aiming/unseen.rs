//! Cells that nobody has heard yet: what silence at the visited stops leaves possible elsewhere.

use super::model::Model;
use super::normals::Normals;
use super::posterior::LIMIT_SD;
use radio::Bearing;
use radio::normal::normal_cdf;

const DIRECTIONS: usize = 36;
const LEVEL_STEP: f64 = 3.0;

/// A cell that may be there.
#[derive(Clone, Copy, Debug)]
pub struct Candidate {
    /// Where it is.
    pub direction: Bearing,
    /// Its level in the beam's peak, dBm.
    pub level: f64,
    /// Expected number of such cells.
    pub expected: f64,
}

/// Possible cells with the number of each that is still expected; `limits` as for a heard cell.
pub fn candidates(model: &Model, stops: &[Bearing], limits: &[Option<f64>]) -> Vec<Candidate> {
    let beams = model.beams();
    let beam = beams[beams.len() / 2];
    let (low, high) = model.levels;
    let levels = ((high - low) / LEVEL_STEP).max(1.0) as usize;
    let share = model.cells / (levels * DIRECTIONS) as f64;
    let sd = libm::hypot(LIMIT_SD, model.multipath.0);
    let mut out = Vec::with_capacity(levels * DIRECTIONS);
    for i in 0..DIRECTIONS {
        let direction = Bearing::new(i as f64 * 360.0 / DIRECTIONS as f64);
        let silent: Vec<(f64, f64)> = stops
            .iter()
            .zip(limits)
            .filter_map(|(stop, limit)| limit.map(|limit| (beam.db(direction - *stop), limit)))
            .collect();
        for j in 0..levels {
            let level = low + (j as f64 + 0.5) * LEVEL_STEP;
            let unheard: f64 = silent
                .iter()
                .map(|(pattern, limit)| normal_cdf((limit - level - pattern) / sd))
                .product();
            out.push(Candidate {
                direction,
                level,
                expected: share * unheard,
            });
        }
    }
    out
}

/// Draws at most one unheard cell per sample and raises `levels` (stops side by side, sample after sample) to its own.
pub fn raise(model: &Model, stops: &[Bearing], limits: &[Option<f64>], stream: u64, levels: &mut [f64]) {
    let all = candidates(model, stops, limits);
    let expected: f64 = all.iter().map(|c| c.expected).sum();
    let any = 1.0 - libm::exp(-expected);
    let beams = model.beams();
    let beam = beams[beams.len() / 2];
    let mut normals = Normals::stream(stream);
    let strata = normals.strata(levels.len() / stops.len().max(1));
    for (sample, u) in levels.chunks_exact_mut(stops.len().max(1)).zip(strata) {
        let multipath: Vec<f64> = stops.iter().map(|_| normals.normal()).collect();
        if u >= any {
            continue;
        }
        let mut left = u / any * expected;
        let cell = all.iter().find(|c| {
            left -= c.expected;
            left < 0.0
        });
        let Some(cell) = cell else { continue };
        for (i, level) in sample.iter_mut().enumerate() {
            let own = cell.level + beam.db(cell.direction - stops[i]) + model.multipath.0 * multipath[i];
            let own = limits[i].map_or(own, |limit| own.min(limit));
            *level = level.max(own);
        }
    }
}
