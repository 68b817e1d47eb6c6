//! What is believed about all stops, and how sure the choice of one of them is.

use super::dwell::Dwell;
use super::linear::{cholesky, row_times};
use super::model::Model;
use super::normals::Normals;
use super::posterior::CellPosterior;
use super::unseen;
use radio::{Bearing, Db};
use std::collections::BTreeMap;

/// Draws from the posterior: the probability of 0.98 has a standard error of 0.4 %.
const SAMPLES: usize = 1024;
/// A stop is as good as the best within this, dB.
pub const GOOD_WITHIN_DB: f64 = 1.0;

/// Readings of one stop that lie further apart belong to two visits, s.
const SAME_VISIT_S: f64 = 10.0;

/// What a band below its floor costs a stop: more than any level can make good, dB.
const UNUSABLE_DB: f64 = 100.0;

/// A cell of a band; the number tells cells of a band apart.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct CellKey {
    /// Position of the band.
    pub band: usize,
    /// Which cell: channel and physical identity in one number, or anything else that is unique.
    pub cell: u64,
}

/// What the draws say.
#[derive(Clone, Debug, PartialEq)]
pub struct Judgement {
    /// Stop most likely to be within 1 dB of the best.
    pub best: usize,
    /// That probability.
    pub probability: f64,
    /// For each stop, the probability that it is within 1 dB of the best.
    pub good: Vec<f64>,
    /// For each stop, the probability that it beats the chosen one by more than 1 dB and all others.
    pub beats: Vec<f64>,
    /// Mean score of each stop, dB.
    pub mean: Vec<f64>,
    /// Standard deviation of each stop's score, dB.
    pub sd: Vec<f64>,
}

/// Everything measured so far.
#[derive(Clone, Debug)]
pub struct Belief {
    model: Model,
    stops: Vec<Bearing>,
    weights: Vec<f64>,
    cells: BTreeMap<CellKey, Tracked>,
    dwells: Vec<Dwell>,
    /// Whether a band was listened to at a stop.
    listened: Vec<Vec<bool>>,
    /// Level below which a band is of no use.
    floor: Option<f64>,
    /// What is added to a band's level at a stop to make its score, dB.
    offsets: Vec<Vec<f64>>,
}

/// Mean level of a cell over a visit of a stop.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct VisitMean {
    /// The stop.
    pub stop: usize,
    /// First and last reading, s.
    pub from_s: f64,
    /// As above.
    pub to_s: f64,
    /// Mean, dBm or dB.
    pub mean: f64,
    /// Readings.
    pub count: u32,
}

impl VisitMean {
    /// Middle of the visit, s.
    pub fn middle_s(&self) -> f64 {
        0.5 * (self.from_s + self.to_s)
    }
}

#[derive(Clone, Debug)]
struct Tracked {
    posterior: CellPosterior,
    visits: Vec<VisitMean>,
    /// Mean reading at each stop, with the number of readings.
    seen: Vec<(f64, u32)>,
    draws: Vec<f64>,
    strata: Vec<f64>,
}

impl Belief {
    /// Before the first reading; `weights` of the bands, whose order readings follow.
    pub fn new(model: Model, stops: &[Bearing], weights: &[f64]) -> Self {
        let total: f64 = weights.iter().filter(|w| **w > 0.0).sum();
        let weights: Vec<f64> = weights
            .iter()
            .map(|w| if total > 0.0 { w.max(0.0) / total } else { 0.0 })
            .collect();
        Self {
            model,
            cells: BTreeMap::new(),
            dwells: vec![Dwell::default(); stops.len()],
            listened: vec![vec![false; stops.len()]; weights.len()],
            floor: None,
            offsets: vec![vec![0.0; stops.len()]; weights.len()],
            stops: stops.to_vec(),
            weights,
        }
    }

    /// Takes in what was heard in one band at a stop at one moment; cells come in any order, none is fine too: then
    /// it is known that nothing was heard.
    pub fn observe(&mut self, stop: usize, at_s: f64, band: usize, heard: &[(u64, f64)]) {
        let Some(listened) = self.listened.get_mut(band).and_then(|l| l.get_mut(stop)) else {
            return;
        };
        *listened = true;
        for (cell, level) in heard.iter().filter(|(_, level)| level.is_finite()) {
            let key = CellKey { band, cell: *cell };
            let (model, stops, number) = (&self.model, &self.stops, self.cells.len() as u64);
            let tracked = self
                .cells
                .entry(key)
                .or_insert_with(|| Tracked::new(model, stops, at_s, number));
            let (mean, count) = &mut tracked.seen[stop];
            *count += 1;
            *mean += (level - *mean) / f64::from(*count);
            tracked.note(stop, at_s, *level);
            tracked.posterior.observe(stop, at_s, *level);
        }
    }

    /// Level below which a cell of a band would not have been heard, for each stop that was visited.
    fn limits(&self, band: usize) -> Vec<Option<f64>> {
        let below = self.model.heard_below.0;
        let strongest = |stop: usize| {
            self.cells
                .iter()
                .filter(|(key, tracked)| key.band == band && tracked.seen[stop].1 > 0)
                .map(|(_, tracked)| tracked.seen[stop].0)
                .fold(self.model.levels.0 + below, f64::max)
        };
        self.listened[band]
            .iter()
            .enumerate()
            .map(|(stop, listened)| listened.then(|| strongest(stop) - below))
            .collect()
    }

    /// What is added to a band's level at a stop: gain in effect, attenuation that overload makes necessary.
    pub fn set_offset(&mut self, band: usize, stop: usize, db: f64) {
        if let Some(offset) = self.offsets.get_mut(band).and_then(|o| o.get_mut(stop)) {
            *offset = db;
        }
    }

    /// Ranks every stop that leaves a band of positive weight below this level after those that do not.
    pub fn set_floor(&mut self, level: f64) {
        self.floor = Some(level);
    }

    /// Accounts of the stops.
    pub fn dwells(&self) -> &[Dwell] {
        &self.dwells
    }

    /// Account of a stop, to be kept by whoever knows when the antenna stands still.
    pub fn dwell_mut(&mut self, stop: usize) -> Option<&mut Dwell> {
        self.dwells.get_mut(stop)
    }

    /// The stops.
    pub fn stops(&self) -> &[Bearing] {
        &self.stops
    }

    /// States how far below the strongest cell the modem still hears; 0 for a unit that reports one cell only.
    pub fn set_heard_below(&mut self, db: Db) {
        self.model.heard_below = db;
    }

    /// The model.
    pub fn model(&self) -> &Model {
        &self.model
    }

    /// Number of cells heard at a stop, over all bands.
    pub fn heard_at(&self, stop: usize) -> usize {
        let heard = |t: &&Tracked| t.posterior.heard_at(stop);
        self.cells.values().filter(heard).count()
    }

    /// Cells heard in a band.
    pub fn cells(&self, band: usize) -> impl Iterator<Item = (CellKey, &CellPosterior)> {
        self.cells
            .iter()
            .filter(move |(key, _)| key.band == band)
            .map(|(key, tracked)| (*key, &tracked.posterior))
    }

    /// Visits at which a cell was heard, in order.
    pub(super) fn visit_means(&self, key: CellKey) -> Option<&[VisitMean]> {
        self.cells.get(&key).map(|tracked| tracked.visits.as_slice())
    }

    /// For each stop at which a cell was listened for and not heard, the level below which it would not have been.
    pub(super) fn silent_limits(&self, key: CellKey) -> Vec<Option<f64>> {
        let heard = |stop: usize| self.cells.get(&key).is_some_and(|t| t.posterior.heard_at(stop));
        self.limits(key.band)
            .into_iter()
            .enumerate()
            .map(|(stop, limit)| limit.filter(|_| !heard(stop)))
            .collect()
    }

    /// The cell of the weightiest band that is strongest at a stop.
    pub fn dominant(&self, stop: usize) -> Option<CellKey> {
        let band = (0..self.weights.len()).max_by(|a, b| self.weights[*a].total_cmp(&self.weights[*b]))?;
        let limits = self.limits(band);
        self.cells(band)
            .map(|(key, posterior)| {
                let weights = posterior.weights(&limits);
                let level: f64 = weights
                    .iter()
                    .enumerate()
                    .filter(|(_, w)| **w > 1e-6)
                    .map(|(h, w)| w * posterior.level(h, stop))
                    .sum();
                (key, level)
            })
            .max_by(|a, b| a.1.total_cmp(&b.1))
            .map(|(key, _)| key)
    }

    /// Posterior of a cell.
    pub fn posterior(&self, key: CellKey) -> Option<&CellPosterior> {
        self.cells.get(&key).map(|tracked| &tracked.posterior)
    }

    /// Weighs all stops against each other.
    pub fn judge(&self) -> Judgement {
        let n = self.stops.len();
        let mut scores = vec![0.0; SAMPLES * n];
        for (band, weight) in self.weights.iter().enumerate().filter(|(_, w)| **w > 0.0) {
            let levels = self.draw(band);
            for (sample, row) in scores
                .chunks_exact_mut(n.max(1))
                .zip(levels.chunks_exact(n.max(1)))
            {
                for (stop, (score, level)) in sample.iter_mut().zip(row).enumerate() {
                    *score += weight * (level + self.offsets[band][stop]);
                    if self.floor.is_some_and(|floor| *level < floor) {
                        *score -= UNUSABLE_DB;
                    }
                }
            }
        }
        judge(&scores, n)
    }

    /// Draws of the strongest cell's level in a band at every stop, stops side by side.
    fn draw(&self, band: usize) -> Vec<f64> {
        let n = self.stops.len();
        let limits = self.limits(band);
        let mut levels = vec![self.model.levels.0 - 10.0; SAMPLES * n];
        for tracked in self.cells.iter().filter(|(k, _)| k.band == band).map(|(_, t)| t) {
            tracked.raise(&limits, &mut levels, n);
        }
        unseen::raise(
            &self.model,
            &self.stops,
            &limits,
            1_000 + band as u64,
            &mut levels,
        );
        levels
    }
}

impl Tracked {
    fn new(model: &Model, stops: &[Bearing], at_s: f64, number: u64) -> Self {
        let mut normals = Normals::stream(number);
        Self {
            posterior: CellPosterior::new(model, stops, at_s),
            visits: Vec::new(),
            seen: vec![(0.0, 0); stops.len()],
            draws: (0..SAMPLES * stops.len()).map(|_| normals.normal()).collect(),
            strata: normals.strata(SAMPLES),
        }
    }

    /// Adds a reading to the visit that it belongs to.
    fn note(&mut self, stop: usize, at_s: f64, level: f64) {
        match self.visits.last_mut() {
            Some(visit) if visit.stop == stop && at_s - visit.to_s < SAME_VISIT_S => {
                visit.to_s = at_s.max(visit.to_s);
                visit.count += 1;
                visit.mean += (level - visit.mean) / f64::from(visit.count);
            }
            _ => self.visits.push(VisitMean {
                stop,
                from_s: at_s,
                to_s: at_s,
                mean: level,
                count: 1,
            }),
        }
    }

    /// Raises `levels` to draws of this cell's.
    fn raise(&self, limits: &[Option<f64>], levels: &mut [f64], n: usize) {
        let mut cumulative = self.posterior.weights(limits);
        let mut sum = 0.0;
        for weight in &mut cumulative {
            sum += *weight;
            *weight = sum;
        }
        let factor = cholesky(&self.posterior.covariance(), n);
        // Where the antenna pointed and the cell was not heard it was below the limit.
        let ceiling: Vec<f64> = (0..n)
            .map(|stop| match limits.get(stop).copied().flatten() {
                Some(limit) if !self.posterior.heard_at(stop) => limit,
                _ => f64::INFINITY,
            })
            .collect();
        for ((sample, draw), u) in levels
            .chunks_exact_mut(n.max(1))
            .zip(self.draws.chunks_exact(n.max(1)))
            .zip(&self.strata)
        {
            let hypothesis = cumulative.partition_point(|c| c < u).min(cumulative.len() - 1);
            for (stop, level) in sample.iter_mut().enumerate() {
                let own = self.posterior.level(hypothesis, stop) + row_times(&factor, n, stop, draw);
                *level = level.max(own.min(ceiling[stop]));
            }
        }
    }
}

fn judge(scores: &[f64], n: usize) -> Judgement {
    let count = (scores.len() / n.max(1)).max(1) as f64;
    let (mut good, mut mean, mut square) = (vec![0.0; n], vec![0.0; n], vec![0.0; n]);
    let tops: Vec<(usize, f64)> = scores
        .chunks_exact(n.max(1))
        .map(|sample| {
            let top = (0..n)
                .max_by(|a, b| sample[*a].total_cmp(&sample[*b]))
                .unwrap_or(0);
            for (stop, score) in sample.iter().enumerate() {
                if sample[top] - score <= GOOD_WITHIN_DB {
                    good[stop] += 1.0 / count;
                }
                mean[stop] += score / count;
                square[stop] += score * score / count;
            }
            (top, sample.get(top).copied().unwrap_or(0.0))
        })
        .collect();
    let best = (0..n)
        .max_by(|a, b| good[*a].total_cmp(&good[*b]).then(mean[*a].total_cmp(&mean[*b])))
        .unwrap_or(0);
    let mut beats = vec![0.0; n];
    for (sample, (top, score)) in scores.chunks_exact(n.max(1)).zip(&tops) {
        if score - sample[best] > GOOD_WITHIN_DB {
            beats[*top] += 1.0 / count;
        }
    }
    let sd = mean
        .iter()
        .zip(&square)
        .map(|(m, s)| libm::sqrt((s - m * m).max(0.0)))
        .collect();
    Judgement {
        best,
        probability: good.get(best).copied().unwrap_or(0.0),
        good,
        beats,
        mean,
        sd,
    }
}
