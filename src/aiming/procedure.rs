//! What to do next: hold, turn, or done.

use super::belief::{Belief, CellKey, Judgement};
use super::peak::{FittedPeak, fitted_peak};
use std::time::Duration;

/// Turns beyond the number of stops after which an aim ends with what it has.
const MORE_TURNS: u32 = 6;

/// How long and how often to measure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Effort {
    /// Probability at which the choice is good enough.
    pub target: f64,
    /// Fresh readings that a dwell needs before it can end.
    pub least_readings: u32,
    /// Shortest dwell, s.
    pub least_s: f64,
    /// Longest dwell, s: beyond it the slow wander rules (facts G.3).
    pub most_s: f64,
    /// Time between two looks at the whole, s.
    pub look_every_s: f64,
    /// What a turn costs, in seconds of dwell.
    pub turn_costs_s: f64,
    /// Time that a turn takes, s.
    pub turn_s: f64,
    /// Turns after which the procedure ends with the probability it has.
    pub most_turns: u32,
}

impl Effort {
    /// Fit for this number of stops.
    pub fn for_stops(stops: usize) -> Self {
        Self {
            // With few stops a little more certainty costs no turn worth mentioning.
            target: if stops <= 16 { 0.985 } else { 0.98 },
            least_readings: 2,
            least_s: 3.0,
            most_s: 8.0,
            look_every_s: 1.0,
            turn_costs_s: 20.0,
            turn_s: 15.0,
            most_turns: stops as u32 + MORE_TURNS,
        }
    }
}

impl Effort {
    /// About how long an aim of this many stops goes on after so many turns: the mean number of turns that the
    /// benchmark measured (6.0 at 8 stops, 7.4 at 12, 10.9 at 24), at least one more.
    pub fn left(&self, turns: u32) -> Duration {
        let stops = f64::from(self.most_turns.saturating_sub(MORE_TURNS));
        let usual = 3.5 + 0.31 * stops;
        let more = (usual - f64::from(turns)).max(1.0);
        Duration::from_secs_f64(more * (self.turn_s + self.least_s))
    }
}

/// What to do.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Advice {
    /// Stay at this stop.
    Hold,
    /// Turn to this stop.
    Turn(usize),
    /// Done: the choice is made.
    Done,
}

/// The procedure, fed with readings.
#[derive(Clone, Debug)]
pub struct Procedure {
    belief: Belief,
    effort: Effort,
    at: Option<usize>,
    began_s: f64,
    readings: u32,
    looked_s: f64,
    turns: u32,
    /// The antenna rests and its readings count.
    dwelling: bool,
    judgement: Option<Judgement>,
    peak: Option<FittedPeak>,
}

impl Procedure {
    /// A procedure before the first stop.
    pub fn new(belief: Belief, effort: Effort) -> Self {
        Self {
            belief,
            effort,
            at: None,
            began_s: 0.0,
            readings: 0,
            looked_s: 0.0,
            turns: 0,
            dwelling: false,
            judgement: None,
            peak: None,
        }
    }

    /// The antenna has come to rest at a stop.
    pub fn arrive(&mut self, stop: usize, at_s: f64) {
        if self.at.is_some_and(|at| at != stop) {
            self.turns += 1;
        }
        self.leave(at_s);
        self.at = Some(stop);
        self.dwelling = true;
        self.began_s = at_s;
        self.looked_s = at_s;
        self.readings = 0;
        if let Some(dwell) = self.belief.dwell_mut(stop) {
            dwell.visits += 1;
        }
    }

    /// The dwell ends; nothing happens where none lasts.
    pub fn leave(&mut self, at_s: f64) {
        let dwelt = at_s - self.began_s;
        if std::mem::take(&mut self.dwelling)
            && let Some(dwell) = self.at.and_then(|at| self.belief.dwell_mut(at))
        {
            dwell.seconds += dwelt.max(0.0);
        }
    }

    /// Takes in what was heard in one band; `last` of the bands of one moment ends that moment.
    pub fn reading(&mut self, at_s: f64, band: usize, heard: &[(u64, f64)]) {
        let Some(stop) = self.at else { return };
        self.belief.observe(stop, at_s, band, heard);
        self.readings += 1;
        if let Some(dwell) = self.belief.dwell_mut(stop) {
            dwell.readings += 1;
        }
    }

    /// What to do at this moment.
    pub fn advise(&mut self, at_s: f64) -> Advice {
        let Some(stop) = self.at else {
            return Advice::Hold;
        };
        let dwelt = at_s - self.began_s;
        let e = self.effort;
        let due = at_s - self.looked_s >= e.look_every_s - 1e-9;
        // A slow modem has no second reading within any useful dwell: then one has to do.
        let enough = self.readings >= e.least_readings || (self.readings > 0 && dwelt >= e.most_s);
        if !at_s.is_finite() || dwelt < e.least_s - 1e-9 || !enough || !due {
            return Advice::Hold;
        }
        self.looked_s = at_s;
        let judgement = self.belief.judge();
        let sure = judgement.probability >= e.target;
        let advice = if self.turns >= e.most_turns {
            Advice::Done
        } else if sure && self.belief.dwells()[judgement.best].visits == 0 {
            // What was only foretold is measured before it is recommended.
            Advice::Turn(judgement.best)
        } else if sure {
            Advice::Done
        } else {
            let next = self.next(&judgement, stop, dwelt);
            if next == stop {
                Advice::Hold
            } else {
                Advice::Turn(next)
            }
        };
        self.peak = fitted_peak(&self.belief, judgement.best);
        self.judgement = Some(judgement);
        if advice != Advice::Hold {
            self.leave(at_s);
        }
        advice
    }

    /// The stop whose measurement helps the choice most for what it costs.
    fn next(&self, judgement: &Judgement, here: usize, dwelt: f64) -> usize {
        let n = self.belief.stops().len();
        let rival = (0..n)
            .max_by(|a, b| judgement.beats[*a].total_cmp(&judgement.beats[*b]))
            .unwrap_or(here);
        let best = judgement.best;
        if self.belief.dwells()[rival].visits == 0 {
            return self.explore(judgement);
        }
        if self.belief.dwells()[best].visits == 0 {
            return best;
        }
        let gain = |stop: usize| {
            let e = &self.effort;
            let (wait, cost) = if stop == here {
                (0.5, 2.0)
            } else {
                (e.turn_s, e.turn_costs_s + 3.0)
            };
            let readings = if stop == here { 4 } else { 6 };
            self.reduction((best, rival), stop, wait, readings) / cost
        };
        let mut options = vec![best, rival];
        if dwelt < self.effort.most_s {
            options.push(here);
        } else {
            options.retain(|o| *o != here);
        }
        options
            .into_iter()
            .map(|o| (o, gain(o)))
            .max_by(|a, b| a.1.total_cmp(&b.1))
            .map_or(rival, |(o, _)| o)
    }

    /// By how much a dwell at `stop` would reduce the variance of the difference between two stops, dB².
    fn reduction(&self, pair: (usize, usize), stop: usize, wait_s: f64, readings: usize) -> f64 {
        let cells: Vec<CellKey> = [pair.0, pair.1]
            .iter()
            .filter_map(|s| self.belief.dominant(*s))
            .collect();
        let Some(first) = cells.first() else { return 0.0 };
        let Some(posterior) = self.belief.posterior(*first) else {
            return 0.0;
        };
        posterior.difference_variance(pair) - posterior.difference_after(pair, stop, wait_s, readings, 0.5)
    }

    /// The unvisited stop about which, with its neighbours, most is open.
    fn explore(&self, judgement: &Judgement) -> usize {
        let stops = self.belief.stops();
        let width = self.belief.model().beams().last().map_or(65.0, |b| b.width.0);
        let open = |i: usize| -> f64 {
            stops
                .iter()
                .enumerate()
                .map(|(j, other)| {
                    let turn = (stops[i] - *other).abs().0 / (0.5 * width);
                    judgement.beats[j] * libm::exp(-turn * turn)
                })
                .sum()
        };
        (0..stops.len())
            .filter(|i| self.belief.dwells()[*i].visits == 0)
            .max_by(|a, b| open(*a).total_cmp(&open(*b)))
            .unwrap_or(judgement.best)
    }

    /// What is believed, for those who know more of a stop than levels.
    pub fn belief_mut(&mut self) -> &mut Belief {
        &mut self.belief
    }

    /// How long and how often it measures.
    pub fn effort(&self) -> &Effort {
        &self.effort
    }

    /// What is believed.
    pub fn belief(&self) -> &Belief {
        &self.belief
    }

    /// The last look at the whole.
    pub fn judgement(&self) -> Option<&Judgement> {
        self.judgement.as_ref()
    }

    /// Turns made.
    pub fn turns(&self) -> u32 {
        self.turns
    }

    /// Peak of the chosen stop's cell, at the last look.
    pub fn peak(&self) -> Option<FittedPeak> {
        self.peak
    }
}
