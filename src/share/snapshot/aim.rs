//! The aim on the page: where it stands, what to do next, what is known of each bearing.

use crate::aiming::{Outcome, Prompt, Session};
use crate::event::SessionTime;
use crate::fold::Fold;
use radio::Bearing;
use serde::Serialize;

/// The aim.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct AimPicture {
    /// What the bearing is chosen for.
    pub objective: &'static str,
    /// What to do: `turn`, `hold`, `settle`, `link-lost` or `done`.
    pub prompt: &'static str,
    /// Where to turn, degrees.
    pub turn_to_deg: Option<f64>,
    /// Where the antenna rests or last rested, degrees.
    pub rests_at_deg: Option<f64>,
    /// Length of the present dwell, s.
    pub dwell_s: Option<f64>,
    /// Every bearing that there is to choose from, degrees.
    pub places_deg: Vec<f64>,
    /// Dwells so far.
    pub dwells: usize,
    /// What is known; `None` before the first look at the whole.
    pub outcome: Option<Outcome>,
}

impl AimPicture {
    /// The aim of a session; `None` without one.
    pub(super) fn of(fold: &Fold, now: SessionTime) -> Option<Self> {
        let aim = fold.aim();
        let (plan, prompt) = (aim.plan()?, aim.prompt()?);
        let degrees = |place: usize| aim.bearing(place).map(Bearing::degrees);
        Some(Self {
            objective: plan.objective.name(),
            prompt: match prompt {
                Prompt::Turn(_) => "turn",
                Prompt::Hold => "hold",
                Prompt::Settle => "settle",
                Prompt::LinkLost => "link-lost",
                Prompt::Done => "done",
            },
            turn_to_deg: match prompt {
                Prompt::Turn(place) => degrees(place),
                _ => None,
            },
            rests_at_deg: aim.place().and_then(degrees),
            dwell_s: dwell_s(aim, now).filter(|_| prompt == Prompt::Hold),
            places_deg: aim.places().iter().map(|b| b.degrees()).collect(),
            dwells: aim.visits().len(),
            outcome: Outcome::of(aim),
        })
    }
}

fn dwell_s(aim: &Session, now: SessionTime) -> Option<f64> {
    let visit = aim.visits().last().filter(|v| v.ended_s.is_none())?;
    Some((now.seconds() - visit.began_s).max(0.0))
}
