//! Timeline: what happens when, in order.

use super::{Action, EventSpec, Scenario};

/// The timeline in the order in which it happens.
#[derive(Clone, Debug, Default)]
pub struct Timeline {
    changes: Vec<(u64, Action)>,
    next: usize,
}

/// Length of the steps of a ramp, s.
const RAMP_STEP_S: f64 = 0.1;

impl Timeline {
    /// The timeline of a scenario.
    ///
    /// # Errors
    /// In words: which entry is wrong and why.
    pub fn new(scenario: &Scenario) -> Result<Self, String> {
        let mut changes = Vec::new();
        for (number, event) in scenario.at.iter().enumerate() {
            let wrong =
                |what: String| format!("entry {} of the timeline (at {} s): {what}", number + 1, event.s);
            if !event.s.is_finite() || event.s < 0.0 {
                return Err(wrong("`s` must be 0 or more".to_owned()));
            }
            let action = event.action(scenario).map_err(wrong)?;
            push(&mut changes, event, &action, scenario).map_err(wrong)?;
        }
        changes.sort_by_key(|(at, _)| *at);
        Ok(Self { changes, next: 0 })
    }

    /// What an entry does, with names resolved.
    ///
    /// # Errors
    /// In words: why it does nothing, or more than one thing.
    pub fn action(scenario: &Scenario, event: &EventSpec) -> Result<Action, String> {
        event.action(scenario)
    }

    /// When the next change happens, µs.
    pub fn next_us(&self) -> Option<u64> {
        self.changes.get(self.next).map(|(at, _)| *at)
    }

    /// The next change if it is due at `now_us`.
    pub fn take_due(&mut self, now_us: u64) -> Option<Action> {
        let (at, action) = self.changes.get(self.next)?;
        if *at > now_us {
            return None;
        }
        self.next += 1;
        Some(action.clone())
    }

    /// Every change with its time in µs.
    pub fn changes(&self) -> &[(u64, Action)] {
        &self.changes
    }
}

fn micros(s: f64) -> u64 {
    (s * 1e6).round() as u64
}

fn push(
    changes: &mut Vec<(u64, Action)>,
    event: &EventSpec,
    action: &Action,
    scenario: &Scenario,
) -> Result<(), String> {
    let start = event.s;
    let steps = match event.ramp_s {
        None => 1,
        Some(ramp) if ramp > 0.0 && ramp <= 86_400.0 => ((ramp / RAMP_STEP_S).round() as usize).max(1),
        Some(_) => return Err("`ramp_s` must lie above 0 and at most a day".to_owned()),
    };
    let mut ramp = |from_s: f64, action: &Action| -> Result<(), String> {
        for step in 1..=steps {
            let at = if steps == 1 {
                from_s
            } else {
                from_s + step as f64 * RAMP_STEP_S
            };
            let part = if steps == 1 {
                action.clone()
            } else {
                action
                    .scaled(1.0 / steps as f64)
                    .ok_or("`ramp_s` goes with changes in dB or °C only")?
            };
            changes.push((micros(at), part));
        }
        Ok(())
    };
    ramp(start, action)?;
    if let Some(duration) = event.for_s {
        if !duration.is_finite() || duration <= 0.0 {
            return Err("`for_s` must lie above 0".to_owned());
        }
        let undo = action
            .undone(scenario)
            .ok_or("`for_s` does not go with this action: state both moments")?;
        ramp(start + duration, &undo)?;
    }
    Ok(())
}
