//! The composite input: its mean over a second or two, and how it last rose.

/// Time constants of the mean and of what the input was before, s.
const MEAN_S: f64 = 1.5;
const BEFORE_S: f64 = 10.0;
/// A rise begins this far above what was before, and is over this near to it, dB.
const RISE_DB: f64 = 3.0;
const OVER_DB: f64 = 1.0;
/// Time over which a jump is forgotten, s.
const JUMP_S: f64 = 4.0;

/// The composite input of a band.
#[derive(Clone, Debug, Default)]
pub(in crate::analysis) struct Input {
    known: bool,
    last: f64,
    mean: f64,
    before: f64,
    jump: f64,
    rising: bool,
    since_rise_s: Option<f64>,
}

impl Input {
    /// Takes in an input, dBm.
    pub(super) fn follow(&mut self, input: f64, dt_s: f64) {
        if !self.known {
            *self = Self {
                known: true,
                last: input,
                mean: input,
                before: input,
                ..Self::default()
            };
            return;
        }
        let off = input - self.before;
        let began = !self.rising && off > RISE_DB;
        self.rising = off > if self.rising { OVER_DB } else { RISE_DB };
        self.since_rise_s = if began {
            Some(0.0)
        } else {
            self.since_rise_s.map(|s| s + dt_s)
        };
        self.jump = (input - self.last).max(self.jump - self.jump * dt_s / (JUMP_S + dt_s));
        self.last = input;
        self.mean += (input - self.mean) * dt_s / (MEAN_S + dt_s);
        self.before += off * dt_s / (BEFORE_S + dt_s);
    }

    /// Mean over the last second or two, dBm.
    pub(in crate::analysis) fn mean_dbm(&self) -> Option<f64> {
        self.known.then_some(self.mean)
    }

    /// How long ago the input last rose by dB, s; `None` if it never did.
    pub(in crate::analysis) fn since_rise_s(&self) -> Option<f64> {
        self.since_rise_s
    }

    /// Whether most of what it rose came from one reading to the next, as when a carrier is switched on.
    pub(in crate::analysis) fn jumped(&self) -> bool {
        self.rising && self.jump > (self.last - self.before) / 2.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn after(level: impl Fn(f64) -> f64, seconds: f64) -> Input {
        let mut input = Input::default();
        for i in 0..(seconds * 10.0) as u32 {
            input.follow(level(f64::from(i) / 10.0), 0.1);
        }
        input
    }

    #[test]
    fn a_step_jumps_and_a_ramp_does_not() {
        let step = after(|t| if t < 20.0 { -60.0 } else { -30.0 }, 20.5);
        assert!(step.jumped());
        assert!(step.since_rise_s().is_some_and(|s| s < 0.6));
        let ramp = after(|t| -60.0 + (t - 20.0).clamp(0.0, 3.0) * 10.0, 22.8);
        assert!(!ramp.jumped() && ramp.since_rise_s().is_some_and(|s| s > 2.0));
    }

    #[test]
    fn an_input_that_was_always_there_never_rose() {
        assert_eq!(after(|_| -40.0, 30.0).since_rise_s(), None);
    }
}
