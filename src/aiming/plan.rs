//! What was asked of an aim, as it stands in the recording.

use super::objective::Objective;
use crate::event::{Event, EventKind, SessionTime};
use radio::Bearing;
use serde::{Deserialize, Serialize};

/// Name of the setting that carries the plan.
pub const PLAN_SETTING: &str = "aim";

/// Stops and purpose of an aim.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Plan {
    /// Bearings of the stops in degrees, true or relative as the person chose; two or more.
    pub bearings_deg: Vec<f64>,
    /// Index of the stop to begin with.
    pub start: usize,
    /// What for.
    pub objective: Objective,
    /// Numbers of the bands that count; none named: all.
    pub bands: Vec<u16>,
    /// Weights of these bands, in their order; missing ones are 1.
    pub weights: Vec<f64>,
    /// Width of the beam where it is known.
    pub beam_width_deg: Option<f64>,
}

impl Plan {
    /// Whether there is anything to choose from.
    pub fn is_sound(&self) -> bool {
        self.bearings_deg.len() >= 2
            && self.bearings_deg.iter().all(|b| b.is_finite())
            && self.start < self.bearings_deg.len()
    }

    /// The event that puts the plan into the session and begins the aim.
    ///
    /// # Errors
    /// When a number in it cannot be written, such as an infinite weight.
    pub fn event(&self, at: SessionTime) -> serde_json::Result<Event> {
        let kind = EventKind::Setting {
            name: PLAN_SETTING.to_owned(),
            value: serde_json::to_string(self)?,
        };
        Ok(Event { at, kind })
    }

    /// The stops.
    pub fn stops(&self) -> Vec<Bearing> {
        self.bearings_deg.iter().map(|b| Bearing::new(*b)).collect()
    }

    /// The stop nearest to a bearing; `None` without stops.
    pub fn nearest(&self, bearing_deg: f64) -> Option<usize> {
        let off = |i: &usize| {
            (Bearing::new(self.bearings_deg[*i]) - Bearing::new(bearing_deg))
                .0
                .abs()
        };
        (0..self.bearings_deg.len()).min_by(|a, b| off(a).total_cmp(&off(b)))
    }

    /// Weight of a band.
    pub fn weight(&self, number: u16) -> f64 {
        if self.bands.is_empty() {
            return 1.0;
        }
        let position = self.bands.iter().position(|b| *b == number);
        position.map_or(0.0, |i| self.weights.get(i).copied().unwrap_or(1.0))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn stops_and_weights() {
        let plan = Plan {
            bearings_deg: vec![0.0, 90.0, 350.0],
            start: 0,
            objective: Objective::Level,
            bands: vec![2, 12],
            weights: vec![3.0],
            beam_width_deg: None,
        };
        assert_eq!((plan.nearest(356.0), plan.nearest(340.0)), (Some(0), Some(2)));
        assert_eq!((plan.weight(2), plan.weight(12), plan.weight(4)), (3.0, 1.0, 0.0));
        let text = serde_json::to_string(&plan).unwrap();
        assert_eq!(serde_json::from_str::<Plan>(&text).unwrap(), plan);
    }
}
