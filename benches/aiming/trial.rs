//! One way of aiming, tried on many sites.

use crate::bound::bearing_bound;
use crate::site::{Antenna, READING_S, Site, Variant, Visit};
use loopmargin::aiming::{Advice, Belief, Effort, Model, Procedure};

/// What came of one site.
#[derive(Clone, Copy, Debug)]
pub struct Outcome {
    pub loss_db: f64,
    pub probability: f64,
    pub dwell_s: f64,
    pub turns: f64,
}

/// Largest bound that a linear model can mean, degrees: beyond it the cell was heard at too few stops.
const MEANINGFUL_DEG: f64 = 30.0;

/// How well the direction of the only cell was found.
pub struct Bearings {
    /// RMS error.
    pub rmse_deg: f64,
    /// RMS of the bound over the same sites.
    pub bound_deg: f64,
    /// RMS over the sites of each one's error over its own bound: no site counts more than another.
    pub over_own_bound: f64,
    /// Share of sites whose true bearing lies in the stated 95 % interval.
    pub within_interval: f64,
    /// Sites with a meaningful bound.
    pub sites: usize,
    /// Sites without: the cell was heard at too few stops for any fit.
    pub left_out: usize,
}

/// The sites of one run.
pub struct Run {
    pub seed: u64,
    pub sites: usize,
    pub stops: usize,
    pub variant: Variant,
}

impl Run {
    /// The procedure.
    pub fn aim(&self) -> Vec<Outcome> {
        (0..self.sites)
            .map(|index| {
                let site = Site::new(self.seed, index, self.stops, false);
                let (procedure, _) = aim(&site, self.variant);
                let judgement = procedure.judgement();
                Outcome {
                    loss_db: site.loss_db(judgement.map_or(0, |j| j.best)),
                    probability: judgement.map_or(0.0, |j| j.probability),
                    dwell_s: procedure.belief().dwells().iter().map(|d| d.seconds).sum(),
                    turns: f64::from(procedure.turns()),
                }
            })
            .collect()
    }

    /// A fixed dwell at every stop; the best mean reading wins.
    pub fn fixed(&self, dwell_s: f64) -> Vec<Outcome> {
        (0..self.sites)
            .map(|index| {
                let site = Site::new(self.seed, index, self.stops, false);
                let mut visit = Visit::new(&site, 0, self.variant);
                let readings = (dwell_s / READING_S) as usize;
                let means: Vec<f64> = (0..self.stops)
                    .map(|stop| {
                        if stop > 0 {
                            visit.turn(stop);
                        }
                        let strongest =
                            |heard: Vec<(u64, f64)>| heard.iter().map(|(_, l)| *l).fold(-125.0, f64::max);
                        let levels: Vec<f64> = (0..readings)
                            .filter_map(|_| visit.read())
                            .map(strongest)
                            .collect();
                        levels.iter().sum::<f64>() / levels.len().max(1) as f64
                    })
                    .collect();
                let best = (0..means.len()).max_by(|a, b| means[*a].total_cmp(&means[*b]));
                Outcome {
                    loss_db: site.loss_db(best.unwrap_or(0)),
                    probability: 0.0,
                    dwell_s: dwell_s * self.stops as f64,
                    turns: (self.stops - 1) as f64,
                }
            })
            .collect()
    }

    /// The direction found at sites of one cell, against what is possible.
    pub fn bearings(&self, antenna: Option<&Antenna>) -> Bearings {
        let (mut squares, mut bounds, mut relative, mut inside, mut sites) = (0.0, 0.0, 0.0, 0.0, 0);
        for index in 0..self.sites {
            let site = Site::new(self.seed, index, self.stops, true);
            let site = match antenna {
                Some(antenna) => site.with_cut(antenna),
                None => site,
            };
            let (procedure, readings) = aim(&site, self.variant);
            let bound = bearing_bound(&site, &readings, self.variant.wander);
            let Some(peak) = procedure.peak().filter(|_| bound < MEANINGFUL_DEG) else {
                continue;
            };
            let error = (peak.bearing - site.bearing()).0;
            squares += error * error;
            bounds += bound * bound;
            relative += (error / bound) * (error / bound);
            let (low, high) = ((peak.low - peak.bearing).0, (peak.high - peak.bearing).0);
            inside += f64::from(u8::from((low..=high).contains(&-error)));
            sites += 1;
        }
        let n = sites.max(1) as f64;
        Bearings {
            rmse_deg: (squares / n).sqrt(),
            bound_deg: (bounds / n).sqrt(),
            over_own_bound: (relative / n).sqrt(),
            within_interval: inside / n,
            sites,
            left_out: self.sites - sites,
        }
    }
}

/// Aims at a site; also when and at which stop the only or first cell was read.
fn aim(site: &Site, variant: Variant) -> (Procedure, Vec<(f64, usize)>) {
    let model = Model {
        width: variant.width_known.then_some(site.width),
        ..Model::default()
    };
    let belief = Belief::new(model, &site.stops, &[1.0]);
    let mut procedure = Procedure::new(belief, Effort::for_stops(site.stops.len()));
    let mut visit = Visit::new(site, 0, variant);
    let mut readings = Vec::new();
    procedure.arrive(0, visit.at_s);
    loop {
        if let Some(heard) = visit.read() {
            if heard.iter().any(|(cell, _)| *cell == 0) {
                readings.push((visit.at_s, visit.stop));
            }
            procedure.reading(visit.at_s, 0, &heard);
        }
        match procedure.advise(visit.at_s) {
            Advice::Hold => {}
            Advice::Turn(stop) => {
                visit.turn(stop);
                procedure.arrive(stop, visit.at_s);
            }
            Advice::Done => return (procedure, readings),
        }
    }
}
