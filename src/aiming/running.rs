//! The procedure of a session with the visits that it was fed from.

use super::belief::Belief;
use super::model::Model;
use super::objective::{Chain, Objective};
use super::plan::Plan;
use super::procedure::{Advice, Effort, Procedure};
use super::visit::{Heard, Mean, Visit};
use crate::event::SessionTime;
use crate::telemetry::Reading;
use booster_profile::{Band, CellReport};
use radio::{Bearing, Db, Degrees};
use std::collections::BTreeMap;

/// A band in which nothing was measured for this long at a stop is silent there, s.
const SILENT_S: f64 = 6.0;
/// Below these a band that was asked for is of no use (common practice, no source).
const LEAST_RSRP_DBM: f64 = -118.0;
const LEAST_SINR_DB: f64 = -5.0;
/// Measurements less than this apart are one and the same: ages travel in tenths of a second.
const SAME_S: f64 = 0.15;

/// What else is known when a value arrives.
#[derive(Clone, Copy, Debug)]
pub struct Around<'a> {
    /// The band table.
    pub bands: &'a [Band],
    /// Cell reports so far.
    pub cells: &'a [(SessionTime, CellReport)],
}

/// An aim that has begun.
#[derive(Clone, Debug)]
pub(super) struct Running {
    pub(super) procedure: Procedure,
    objective: Objective,
    bands: Vec<Band>,
    /// Weight of each band.
    weights: Vec<f64>,
    visits: Vec<Visit>,
    measured: BTreeMap<(usize, u64), f64>,
    last_in_band: Vec<f64>,
    /// Means over all visits, by band and stop.
    composite: Vec<Vec<Mean>>,
    sinr: Vec<Vec<Mean>>,
    allowed: Vec<Option<f64>>,
}

impl Running {
    pub(super) fn new(plan: &Plan, stops: &[Bearing], bands: &[Band]) -> Self {
        let weights: Vec<f64> = bands.iter().map(|band| plan.weight(band.number)).collect();
        let table = vec![vec![Mean::default(); stops.len()]; bands.len()];
        Self {
            procedure: procedure(plan, stops, &weights),
            objective: plan.objective,
            bands: bands.to_vec(),
            weights,
            visits: Vec::new(),
            measured: BTreeMap::new(),
            last_in_band: vec![0.0; bands.len()],
            composite: table.clone(),
            sinr: table,
            allowed: vec![None; bands.len()],
        }
    }

    /// The same from the visits alone, with these stops.
    pub(super) fn rebuild(&mut self, plan: &Plan, stops: &[Bearing]) {
        let visits = std::mem::take(&mut self.visits);
        let heard_below = self.procedure.belief().model().heard_below;
        let allowed = std::mem::take(&mut self.allowed);
        let measured = std::mem::take(&mut self.measured);
        *self = Self {
            allowed,
            measured,
            ..Self::new(plan, stops, &self.bands)
        };
        self.procedure.belief_mut().set_heard_below(heard_below);
        for visit in visits {
            self.visit(visit);
        }
    }

    /// Takes in a whole visit.
    pub(super) fn visit(&mut self, visit: Visit) {
        self.procedure.arrive(visit.place, visit.began_s);
        for heard in &visit.heard {
            let level: Vec<(u64, f64)> = heard.level.into_iter().collect();
            self.procedure.reading(heard.at_s, heard.band, &level);
        }
        for (means, of) in [
            (&mut self.composite, &visit.composite),
            (&mut self.sinr, &visit.sinr),
        ] {
            for (band, mean) in means.iter_mut().zip(of) {
                if let Some(here) = band.get_mut(visit.place) {
                    here.join(*mean);
                }
            }
        }
        if let Some(ended_s) = visit.ended_s {
            self.procedure.leave(ended_s);
        }
        self.visits.push(visit);
    }

    pub(super) fn arrive(&mut self, stop: usize, at_s: f64) {
        self.leave(at_s);
        self.procedure.arrive(stop, at_s);
        self.visits.push(Visit::new(stop, at_s, self.bands.len()));
        self.last_in_band.fill(at_s);
    }

    /// The dwell ends.
    pub(super) fn leave(&mut self, at_s: f64) {
        self.procedure.leave(at_s);
        if let Some(visit) = self.visits.last_mut()
            && visit.ended_s.is_none()
        {
            visit.ended_s = Some(at_s);
        }
    }

    /// Takes the last visit out; the place where it was.
    pub(super) fn forget(&mut self, plan: &Plan, stops: &[Bearing]) -> Option<usize> {
        let visit = self.visits.pop()?;
        self.rebuild(plan, stops);
        Some(visit.place)
    }

    pub(super) fn visits(&self) -> &[Visit] {
        &self.visits
    }

    fn stop(&self) -> Option<usize> {
        self.visits.last().map(|v| v.place)
    }

    pub(super) fn cell(&mut self, at: SessionTime, report: &CellReport, around: Around<'_>) {
        let Some(band) = self.bands.iter().position(|b| b.index == report.band) else {
            return;
        };
        let wanted_known = around
            .cells
            .iter()
            .any(|(_, c)| c.band == report.band && c.wanted);
        let Some(identity) = report.identity.filter(|_| report.wanted || !wanted_known) else {
            return;
        };
        let level = match self.objective {
            Objective::Quality => report.sinr.map(|s| s.db()),
            Objective::Service | Objective::Level => report.rsrp.map(|r| r.dbm()),
        };
        let measured = at.seconds() - f64::from(report.age_tenths_s.unwrap_or(0)) / 10.0;
        let sinr = report.sinr.map(|s| s.db());
        self.measurement(band, u64::from(identity), measured, level, sinr);
    }

    pub(super) fn reading(&mut self, reading: &Reading, around: Around<'_>) {
        let (band, telemetry) = (reading.position, &reading.telemetry);
        let (Some(stop), Some(own)) = (self.stop(), self.bands.get(band)) else {
            return;
        };
        let index = own.index;
        let extra = &telemetry.extra;
        let gain = extra.dl_gain_set.or(own.max_dl_gain).map(|g| g.db());
        self.allowed[band] = match (gain, extra.dl_gain_allowed.map(|g| g.db())) {
            (Some(a), Some(b)) => Some(a.min(b)),
            (a, b) => a.or(b),
        };
        if let (Some(input), Some(visit)) = (telemetry.dl_input, self.visits.last_mut()) {
            visit.composite[band].add(input.dbm());
            self.composite[band][stop].add(input.dbm());
        }
        // Units that report cells one by one repeat the wanted one here.
        if around.cells.iter().all(|(_, c)| c.band != index) {
            self.procedure.belief_mut().set_heard_below(Db(0.0));
            let cell = &extra.cell;
            let level = match self.objective {
                Objective::Quality => cell.sinr.map(|s| s.db()),
                Objective::Service | Objective::Level => cell.rsrp.map(|r| r.dbm()),
            };
            let measured = reading.at.seconds() - f64::from(cell.age_tenths_s.unwrap_or(0)) / 10.0;
            let identity = cell.identity.unwrap_or(u16::MAX);
            let sinr = cell.sinr.map(|s| s.db());
            self.measurement(band, u64::from(identity), measured, level, sinr);
        }
        let now = reading.at.seconds();
        if now - self.last_in_band[band] >= SILENT_S {
            self.last_in_band[band] = now;
            self.heard(Heard {
                at_s: now,
                band,
                level: None,
            });
        }
    }

    /// A level counts when it was measured during this dwell and not told before.
    fn measurement(&mut self, band: usize, cell: u64, at_s: f64, level: Option<f64>, sinr: Option<f64>) {
        let (Some(visit), Some(level)) = (self.visits.last_mut(), level) else {
            return;
        };
        let last = self
            .measured
            .get(&(band, cell))
            .copied()
            .unwrap_or(f64::NEG_INFINITY);
        if at_s < visit.began_s || at_s - last < SAME_S {
            return;
        }
        self.measured.insert((band, cell), at_s);
        self.last_in_band[band] = self.last_in_band[band].max(at_s);
        if let Some(sinr) = sinr {
            visit.sinr[band].add(sinr);
            self.sinr[band][visit.place].add(sinr);
        }
        self.heard(Heard {
            at_s,
            band,
            level: Some((cell, level)),
        });
    }

    fn heard(&mut self, heard: Heard) {
        let level: Vec<(u64, f64)> = heard.level.into_iter().collect();
        self.procedure.reading(heard.at_s, heard.band, &level);
        if let Some(visit) = self.visits.last_mut() {
            visit.heard.push(heard);
        }
    }

    pub(super) fn advise(&mut self, at_s: f64) -> Advice {
        if self.objective == Objective::Service {
            self.set_offsets();
        }
        let advice = self.procedure.advise(at_s);
        if advice != Advice::Hold {
            self.leave(at_s);
        }
        advice
    }

    /// Stops that were not visited get the best of those that were: a hope that costs a turn at most, where a fear
    /// would cost the better bearing.
    fn set_offsets(&mut self) {
        for band in 0..self.bands.len() {
            let stops = self.composite[band].len();
            let known: Vec<Option<f64>> = (0..stops)
                .map(|stop| {
                    let visited = self.composite[band][stop].get().is_some();
                    visited.then(|| self.chain(band, stop).service_offset().0)
                })
                .collect();
            let best = known.iter().flatten().copied().fold(f64::NEG_INFINITY, f64::max);
            let best = if best.is_finite() { best } else { 0.0 };
            for (stop, offset) in known.iter().enumerate() {
                self.procedure
                    .belief_mut()
                    .set_offset(band, stop, offset.unwrap_or(best));
            }
        }
    }

    /// Attenuation that a stop needs lest the unit overloads: the largest of the bands that count.
    pub(super) fn needs_attenuation(&self, stop: usize) -> Db {
        (0..self.bands.len())
            .filter(|band| self.weights[*band] > 0.0)
            .map(|band| self.chain(band, stop).needs_attenuation())
            .fold(Db(0.0), Db::max)
    }

    fn chain(&self, band: usize, stop: usize) -> Chain {
        let own = &self.bands[band];
        let mean = |table: &[Vec<Mean>]| table[band].get(stop).copied().and_then(Mean::get);
        Chain {
            composite_dbm: mean(&self.composite),
            sinr_db: mean(&self.sinr),
            overload_dbm: own.overload_level.map(|l| l.dbm()),
            rated_dbm: own.rated_dl_output.map(|l| l.dbm()),
            gain_db: self.allowed[band],
        }
    }
}

fn procedure(plan: &Plan, stops: &[Bearing], weights: &[f64]) -> Procedure {
    let mut model = Model {
        width: plan.beam_width_deg.map(Degrees),
        ..Model::default()
    };
    if plan.objective == Objective::Quality {
        model.levels = (-20.0, 35.0);
    }
    let mut belief = Belief::new(model, stops, weights);
    if !plan.bands.is_empty() {
        belief.set_floor(match plan.objective {
            Objective::Quality => LEAST_SINR_DB,
            Objective::Service | Objective::Level => LEAST_RSRP_DBM,
        });
    }
    Procedure::new(belief, Effort::for_stops(stops.len()))
}
