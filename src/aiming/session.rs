//! An aim as a fold over a session: steps say where the antenna rests, readings say what it hears there. Live and
//! replayed sessions run through the same code and give the same result.

use super::plan::{PLAN_SETTING, Plan};
use super::procedure::{Advice, Effort, Procedure};
use super::running::{Around, Running};
use super::step::Step;
use super::visit::Visit;
use crate::event::{Event, EventKind, LinkState, Mark, SessionTime};
use crate::telemetry::Reading;
use booster_profile::CellReport;
use radio::{Bearing, Db};
use std::time::Duration;

/// What the person should do now.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Prompt {
    /// Turn the antenna to this place and say [`Step::Turned`].
    Turn(usize),
    /// Leave the antenna alone.
    Hold,
    /// Hands are on the antenna: take them off and say [`Step::Settled`] or [`Step::Turned`].
    Settle,
    /// The link dropped: leave the antenna where it is, this dwell begins anew when it is back.
    LinkLost,
    /// The choice is made.
    Done,
}

/// The aim of a session; without a plan there is none.
#[derive(Clone, Debug, Default)]
pub struct Session {
    plan: Option<Plan>,
    places: Vec<Bearing>,
    running: Option<Running>,
    advice: Option<Advice>,
    /// The antenna rests here since this time, but the unit has not said yet which bands it has.
    waiting: Option<(usize, f64)>,
    moving: bool,
    link_lost: bool,
    repeated: u32,
    /// What the unit said last about being held down.
    holds_down: Option<bool>,
    held_down: Option<bool>,
}

impl Session {
    /// Takes in what a person or the program set or did, and what became of the link.
    pub fn event(&mut self, event: &Event) {
        match &event.kind {
            EventKind::Setting { name, value } if name == PLAN_SETTING => {
                let plan = serde_json::from_str(value).ok().filter(Plan::is_sound);
                *self = Self {
                    holds_down: self.holds_down,
                    places: plan.as_ref().map(Plan::stops).unwrap_or_default(),
                    plan,
                    ..Self::default()
                };
            }
            EventKind::Link { state, .. } => self.link(event.at, *state),
            kind => {
                if let Some(step) = Step::of(kind) {
                    self.step(event.at, step);
                }
            }
        }
    }

    fn step(&mut self, at: SessionTime, step: Step) {
        match step {
            Step::Turned(mark) => self.turned(at, &mark),
            Step::Moving => self.moving = self.is_holding(),
            Step::Settled if self.moving => {
                self.repeat(at);
            }
            Step::Repeat => self.repeated += u32::from(self.repeat(at)),
            Step::Undo => {
                if let Some(place) = self.forget() {
                    self.advice = Some(Advice::Turn(place));
                    self.moving = false;
                }
            }
            Step::Finish if self.running.is_some() => {
                if let Some(running) = &mut self.running {
                    running.leave(at.seconds());
                }
                self.advice = Some(Advice::Done);
            }
            Step::Settled | Step::Finish => {}
        }
    }

    fn turned(&mut self, at: SessionTime, mark: &Mark) {
        let Some(plan) = &self.plan else { return };
        let Some(place) = mark.bearing_deg.and_then(|b| plan.nearest(b)) else {
            return;
        };
        self.arrive(place, at.seconds());
    }

    fn arrive(&mut self, place: usize, at_s: f64) {
        self.moving = false;
        self.advice = Some(Advice::Hold);
        self.note_held_down();
        match &mut self.running {
            Some(running) => running.arrive(place, at_s),
            None => self.waiting = Some((place, at_s)),
        }
    }

    /// Takes the last visit back; where it was.
    fn forget(&mut self) -> Option<usize> {
        let (plan, running) = (self.plan.as_ref()?, self.running.as_mut()?);
        running.forget(plan, &self.places)
    }

    /// Begins the last dwell anew; false without one.
    fn repeat(&mut self, at: SessionTime) -> bool {
        let place = self.forget();
        if let Some(place) = place {
            self.arrive(place, at.seconds());
        }
        place.is_some()
    }

    /// A link that drops costs the dwell that it interrupts, no more.
    fn link(&mut self, at: SessionTime, state: LinkState) {
        let live = state == LinkState::Live;
        if live && self.link_lost && self.is_holding() {
            self.repeated += u32::from(self.repeat(at));
        }
        self.link_lost = !live && (self.link_lost || self.is_holding());
    }

    /// The unit restarted: the dwell begins anew.
    pub fn restarted(&mut self, at: SessionTime) {
        if self.is_holding() && !self.link_lost {
            self.repeated += u32::from(self.repeat(at));
        }
    }

    /// Takes in whether the unit holds itself down; `None` for a unit that has no aim-safe.
    pub fn holds_down(&mut self, holds_down: Option<bool>) {
        self.holds_down = holds_down;
        self.note_held_down();
    }

    /// One dwell without is enough to have been without.
    fn note_held_down(&mut self) {
        if self.is_dwelling()
            && let Some(now) = self.holds_down
        {
            self.held_down = Some(self.held_down.unwrap_or(true) && now);
        }
    }

    /// Whether the unit was held down during every dwell, by its own account; `None` where it gave none.
    pub fn held_down(&self) -> Option<bool> {
        self.held_down
    }

    /// Takes in a cell report; `around` holds it already.
    pub fn cell(&mut self, at: SessionTime, report: &CellReport, around: Around<'_>) {
        self.begin(around);
        if self.is_dwelling()
            && let Some(running) = &mut self.running
        {
            running.cell(at, report, around);
        }
    }

    /// Takes in a reading that came in order.
    pub fn reading(&mut self, reading: &Reading, around: Around<'_>) {
        self.begin(around);
        if self.is_dwelling()
            && let Some(running) = &mut self.running
        {
            running.reading(reading, around);
            self.advice = Some(running.advise(reading.at.seconds()));
        }
    }

    /// The first visit waits for the band table.
    fn begin(&mut self, around: Around<'_>) {
        if around.bands.is_empty() {
            return;
        }
        let (Some(plan), Some((place, at_s))) = (&self.plan, self.waiting.take()) else {
            return;
        };
        let running = self
            .running
            .get_or_insert_with(|| Running::new(plan, &self.places, around.bands));
        running.arrive(place, at_s);
    }

    fn is_holding(&self) -> bool {
        self.advice == Some(Advice::Hold)
    }

    fn is_dwelling(&self) -> bool {
        self.is_holding() && !self.link_lost && !self.moving
    }

    /// What the person should do; `None` without a plan.
    pub fn prompt(&self) -> Option<Prompt> {
        let plan = self.plan.as_ref()?;
        Some(match self.advice {
            None => Prompt::Turn(plan.start),
            Some(Advice::Turn(place)) => Prompt::Turn(place),
            Some(Advice::Done) => Prompt::Done,
            Some(Advice::Hold) if self.link_lost => Prompt::LinkLost,
            Some(Advice::Hold) if self.moving => Prompt::Settle,
            Some(Advice::Hold) => Prompt::Hold,
        })
    }

    /// What the procedure says; `None` before the first mark.
    pub fn advice(&self) -> Option<Advice> {
        self.advice
    }

    /// What was asked for.
    pub fn plan(&self) -> Option<&Plan> {
        self.plan.as_ref()
    }

    /// Bearing of a place; `None` for a place that there is not.
    pub fn bearing(&self, place: usize) -> Option<Bearing> {
        self.places.get(place).copied()
    }

    /// All places, those of the plan first.
    pub fn places(&self) -> &[Bearing] {
        &self.places
    }

    /// The procedure, once it runs.
    pub fn procedure(&self) -> Option<&Procedure> {
        self.running.as_ref().map(|r| &r.procedure)
    }

    /// Dwells so far, oldest first; the last of them may still last.
    pub fn visits(&self) -> &[Visit] {
        self.running.as_ref().map_or(&[], Running::visits)
    }

    /// Place at which the antenna rests or last rested.
    pub fn place(&self) -> Option<usize> {
        let visited = self.visits().last().map(|v| v.place);
        self.waiting.map(|(place, _)| place).or(visited)
    }

    /// How far the present dwell is at `now`, as parts of the longest; `None` between dwells.
    pub fn dwell_done(&self, now: SessionTime) -> Option<f64> {
        let visit = self
            .visits()
            .last()
            .filter(|v| v.ended_s.is_none() && self.is_dwelling())?;
        let most_s = self.procedure()?.effort().most_s;
        Some(((now.seconds() - visit.began_s) / most_s).clamp(0.0, 1.0))
    }

    /// About how long the rest of the aim takes, turns included; `None` once it is done.
    pub fn left(&self) -> Option<Duration> {
        if self.plan.is_none() || self.advice == Some(Advice::Done) {
            return None;
        }
        let turns = self.procedure().map_or(0, Procedure::turns);
        Some(Effort::for_stops(self.places.len()).left(turns))
    }

    /// The place next to another one in the order of bearings, clockwise or counter-clockwise.
    pub fn neighbour(&self, place: usize, clockwise: bool) -> Option<usize> {
        let here = self.bearing(place)?.degrees();
        let turn = |other: &usize| {
            let bearing = self.places[*other].degrees();
            let turn = if clockwise { bearing - here } else { here - bearing };
            turn.rem_euclid(360.0)
        };
        (0..self.places.len())
            .filter(|i| *i != place)
            .min_by(|a, b| turn(a).total_cmp(&turn(b)))
    }

    /// Dwells that were begun anew.
    pub fn repeated(&self) -> u32 {
        self.repeated
    }

    /// Attenuation that a place needs lest the unit overloads: the largest of the bands that count.
    pub fn needs_attenuation(&self, place: usize) -> Db {
        self.running
            .as_ref()
            .map_or(Db(0.0), |r| r.needs_attenuation(place))
    }
}

#[cfg(test)]
mod tests;
