//! An aim as a fold over a session: marks say where the antenna rests, readings say what it hears there. Live and
//! replayed sessions run through the same code and give the same result.

use super::belief::Belief;
use super::model::Model;
use super::objective::{Chain, Objective};
use super::plan::{PLAN_SETTING, Plan};
use super::procedure::{Advice, Effort, Procedure};
use crate::event::{Event, EventKind, LinkState, SessionTime};
use crate::fold::{Fold, Update};
use crate::telemetry::Reading;
use booster_profile::{Band, CellReport};
use radio::{Db, Degrees};
use std::collections::BTreeMap;

/// Key that throws the present dwell away and begins it anew.
pub const REPEAT_KEY: &str = "aim-repeat";
/// Key that ends the aim with what is known.
pub const FINISH_KEY: &str = "aim-finish";
/// A band in which nothing was measured for this long at a stop is silent there, s.
const SILENT_S: f64 = 6.0;
/// Below these a band that was asked for is of no use (common practice, no source).
const LEAST_RSRP_DBM: f64 = -118.0;
const LEAST_SINR_DB: f64 = -5.0;
/// Measurements less than this apart are one and the same: ages travel in tenths of a second.
const SAME_S: f64 = 0.15;

/// The aim of a session.
#[derive(Clone, Debug, Default)]
pub struct Session {
    plan: Option<Plan>,
    running: Option<Running>,
    advice: Option<Advice>,
    repeated: u32,
}

#[derive(Clone, Debug)]
struct Running {
    procedure: Procedure,
    /// The procedure before the present dwell, should that dwell be lost.
    before: Option<Box<Before>>,
    stop: Option<usize>,
    began_s: f64,
    /// The link dropped during a dwell at this stop.
    lost_at: Option<usize>,
    bands: Vec<Band>,
    measured: BTreeMap<(usize, u64), f64>,
    last_in_band: Vec<f64>,
    composite: Vec<Vec<Mean>>,
    sinr: Vec<Vec<Mean>>,
    allowed: Vec<Option<f64>>,
}

/// What a lost dwell leaves behind.
#[derive(Clone, Debug)]
struct Before {
    procedure: Procedure,
    composite: Vec<Vec<Mean>>,
    sinr: Vec<Vec<Mean>>,
}

#[derive(Clone, Copy, Debug, Default)]
struct Mean {
    sum: f64,
    count: f64,
}

impl Mean {
    fn add(&mut self, value: f64) {
        self.sum += value;
        self.count += 1.0;
    }

    fn get(self) -> Option<f64> {
        (self.count > 0.0).then(|| self.sum / self.count)
    }
}

impl Session {
    /// Takes in what a person or the program set or asked for; other events speak through their updates.
    pub fn event(&mut self, event: &Event) {
        match &event.kind {
            EventKind::Setting { name, value } if name == PLAN_SETTING => {
                self.plan = serde_json::from_str(value)
                    .ok()
                    .filter(|plan: &Plan| plan.bearings_deg.len() >= 2);
                (self.running, self.advice) = (None, None);
            }
            EventKind::Key { name } if name == REPEAT_KEY => self.repeat(event.at),
            EventKind::Key { name } if name == FINISH_KEY && self.running.is_some() => {
                self.advice = Some(Advice::Done);
            }
            _ => {}
        }
    }

    /// Takes in an update of the session.
    pub fn update(&mut self, update: &Update, fold: &Fold) {
        let Some(plan) = &self.plan else { return };
        match update {
            Update::Mark(at, mark) => {
                if let Some(stop) = mark.bearing_deg.and_then(|b| plan.nearest(b)) {
                    let running = self.running.get_or_insert_with(|| Running::new(plan, fold));
                    running.arrive(stop, at.seconds());
                    self.advice = Some(Advice::Hold);
                }
            }
            Update::Link { at, state, .. } => self.link(*at, *state),
            Update::Cell(at, report) if self.is_dwelling() => {
                if let Some(running) = &mut self.running {
                    running.cell(*at, report, plan.objective, fold);
                }
            }
            Update::Reading { reading, late: false } if self.is_dwelling() => {
                if let Some(running) = &mut self.running {
                    running.reading(reading, plan.objective, fold);
                    self.advice = Some(running.advise(reading.at.seconds(), plan.objective));
                }
            }
            _ => {}
        }
    }

    fn is_dwelling(&self) -> bool {
        self.advice == Some(Advice::Hold) && self.running.as_ref().is_some_and(|r| r.lost_at.is_none())
    }

    /// A link that drops costs the dwell that it interrupts, no more.
    fn link(&mut self, at: SessionTime, state: LinkState) {
        let Some(running) = self
            .running
            .as_mut()
            .filter(|_| self.advice == Some(Advice::Hold))
        else {
            return;
        };
        match (state, running.lost_at) {
            (LinkState::Live, Some(stop)) => {
                running.lost_at = None;
                running.arrive(stop, at.seconds());
                self.repeated += 1;
            }
            (LinkState::Live, None) => {}
            (_, None) => {
                running.lost_at = running.stop;
                running.forget_dwell();
            }
            _ => {}
        }
    }

    fn repeat(&mut self, at: SessionTime) {
        if let Some(running) = &mut self.running
            && let Some(stop) = running.stop
        {
            running.forget_dwell();
            running.arrive(stop, at.seconds());
            self.advice = Some(Advice::Hold);
            self.repeated += 1;
        }
    }

    /// What to do; `None` before the first mark.
    pub fn advice(&self) -> Option<Advice> {
        self.advice
    }

    /// What was asked for.
    pub fn plan(&self) -> Option<&Plan> {
        self.plan.as_ref()
    }

    /// The procedure, once it runs.
    pub fn procedure(&self) -> Option<&Procedure> {
        self.running.as_ref().map(|r| &r.procedure)
    }

    /// Stop at which the antenna rests or last rested.
    pub fn stop(&self) -> Option<usize> {
        self.running.as_ref()?.stop
    }

    /// Dwells that were begun anew.
    pub fn repeated(&self) -> u32 {
        self.repeated
    }

    /// Attenuation that a stop needs lest the unit overloads: the largest of the bands that count.
    pub fn needs_attenuation(&self, stop: usize) -> Db {
        let (Some(plan), Some(running)) = (&self.plan, &self.running) else {
            return Db(0.0);
        };
        (0..running.bands.len())
            .filter(|band| plan.weight(running.bands[*band].number) > 0.0)
            .map(|band| running.chain(band, stop).needs_attenuation())
            .fold(Db(0.0), Db::max)
    }
}

impl Running {
    fn new(plan: &Plan, fold: &Fold) -> Self {
        let bands: Vec<Band> = fold.telemetry().identity().bands.bands.iter().copied().collect();
        let weights: Vec<f64> = bands.iter().map(|band| plan.weight(band.number)).collect();
        let mut model = Model {
            width: plan.beam_width_deg.map(Degrees),
            ..Model::default()
        };
        if plan.objective == Objective::Quality {
            model.levels = (-20.0, 35.0);
        }
        let stops = plan.stops();
        let mut belief = Belief::new(model, &stops, &weights);
        if !plan.bands.is_empty() {
            belief.set_floor(match plan.objective {
                Objective::Quality => LEAST_SINR_DB,
                Objective::Service | Objective::Level => LEAST_RSRP_DBM,
            });
        }
        let table = vec![vec![Mean::default(); stops.len()]; bands.len()];
        Self {
            procedure: Procedure::new(belief, Effort::for_stops(stops.len())),
            before: None,
            stop: None,
            began_s: 0.0,
            lost_at: None,
            measured: BTreeMap::new(),
            last_in_band: vec![0.0; bands.len()],
            composite: table.clone(),
            sinr: table,
            allowed: vec![None; bands.len()],
            bands,
        }
    }

    fn arrive(&mut self, stop: usize, at_s: f64) {
        self.before = Some(Box::new(Before {
            procedure: self.procedure.clone(),
            composite: self.composite.clone(),
            sinr: self.sinr.clone(),
        }));
        self.procedure.arrive(stop, at_s);
        self.stop = Some(stop);
        self.began_s = at_s;
        self.last_in_band.fill(at_s);
    }

    fn forget_dwell(&mut self) {
        if let Some(before) = self.before.take() {
            self.procedure = before.procedure;
            (self.composite, self.sinr) = (before.composite, before.sinr);
        }
    }

    fn cell(&mut self, at: SessionTime, report: &CellReport, objective: Objective, fold: &Fold) {
        let Some(band) = self.bands.iter().position(|b| b.index == report.band) else {
            return;
        };
        let wanted_known = fold
            .cells()
            .iter()
            .any(|(_, c)| c.band == report.band && c.wanted);
        let Some(identity) = report.identity.filter(|_| report.wanted || !wanted_known) else {
            return;
        };
        let level = match objective {
            Objective::Quality => report.sinr.map(|s| s.db()),
            Objective::Service | Objective::Level => report.rsrp.map(|r| r.dbm()),
        };
        let measured = at.seconds() - f64::from(report.age_tenths_s.unwrap_or(0)) / 10.0;
        self.measurement(
            band,
            u64::from(identity),
            measured,
            level,
            report.sinr.map(|s| s.db()),
        );
    }

    fn reading(&mut self, reading: &Reading, objective: Objective, fold: &Fold) {
        let (band, telemetry) = (reading.position, &reading.telemetry);
        let (Some(stop), Some(own)) = (self.stop, self.bands.get(band)) else {
            return;
        };
        if let Some(input) = telemetry.dl_input {
            self.composite[band][stop].add(input.dbm());
        }
        let extra = &telemetry.extra;
        let gain = extra.dl_gain_set.or(own.max_dl_gain).map(|g| g.db());
        self.allowed[band] = match (gain, extra.dl_gain_allowed.map(|g| g.db())) {
            (Some(a), Some(b)) => Some(a.min(b)),
            (a, b) => a.or(b),
        };
        // Units that report cells one by one repeat the wanted one here.
        let index = own.index;
        if fold.cells().iter().all(|(_, c)| c.band != index) {
            self.procedure.belief_mut().set_heard_below(Db(0.0));
            let cell = &extra.cell;
            let level = match objective {
                Objective::Quality => cell.sinr.map(|s| s.db()),
                Objective::Service | Objective::Level => cell.rsrp.map(|r| r.dbm()),
            };
            let measured = reading.at.seconds() - f64::from(cell.age_tenths_s.unwrap_or(0)) / 10.0;
            let identity = cell.identity.unwrap_or(u16::MAX);
            self.measurement(
                band,
                u64::from(identity),
                measured,
                level,
                cell.sinr.map(|s| s.db()),
            );
        }
        let now = reading.at.seconds();
        if now - self.last_in_band[band] >= SILENT_S {
            self.last_in_band[band] = now;
            self.procedure.reading(now, band, &[]);
        }
    }

    /// A level counts when it was measured during this dwell and not told before.
    fn measurement(&mut self, band: usize, cell: u64, at_s: f64, level: Option<f64>, sinr: Option<f64>) {
        let (Some(stop), Some(level)) = (self.stop, level) else {
            return;
        };
        let last = self
            .measured
            .get(&(band, cell))
            .copied()
            .unwrap_or(f64::NEG_INFINITY);
        if at_s < self.began_s || at_s - last < SAME_S {
            return;
        }
        self.measured.insert((band, cell), at_s);
        self.last_in_band[band] = self.last_in_band[band].max(at_s);
        if let Some(sinr) = sinr {
            self.sinr[band][stop].add(sinr);
        }
        self.procedure.reading(at_s, band, &[(cell, level)]);
    }

    fn advise(&mut self, at_s: f64, objective: Objective) -> Advice {
        if objective == Objective::Service {
            self.set_offsets();
        }
        self.procedure.advise(at_s)
    }

    /// Stops that were not visited get the best of those that were: a hope that costs a turn at most, where a fear
    /// would cost the better bearing.
    fn set_offsets(&mut self) {
        for band in 0..self.bands.len() {
            let stops = self.composite[band].len();
            let known: Vec<Option<f64>> = (0..stops)
                .map(|stop| {
                    let visited = self.composite[band][stop].count > 0.0;
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

    fn chain(&self, band: usize, stop: usize) -> Chain {
        let own = &self.bands[band];
        Chain {
            composite_dbm: self.composite[band][stop].get(),
            sinr_db: self.sinr[band][stop].get(),
            overload_dbm: own.overload_level.map(|l| l.dbm()),
            rated_dbm: own.rated_dl_output.map(|l| l.dbm()),
            gain_db: self.allowed[band],
        }
    }
}

#[cfg(test)]
mod tests;
