//! A level that swings to and fro, as a mast does in the wind.

/// Time constant of the mean about which it swings, s.
const MEAN_S: f64 = 10.0;
/// Time constant of the power of the swing, s.
const POWER_S: f64 = 15.0;
/// A swing reaches this far on both sides, dB.
const SIDE_DB: f64 = 1.5;
/// So many half swings within so many seconds, the last one not long ago.
const TURNS: usize = 4;
const WITHIN_S: f64 = 40.0;
const RECENT_S: f64 = 15.0;

/// Mean, power and half swings of a level.
#[derive(Clone, Debug, Default)]
pub(in crate::analysis) struct Sway {
    clock_s: f64,
    mean: f64,
    power: f64,
    above: Option<bool>,
    turns: [f64; TURNS],
    seen: usize,
}

impl Sway {
    /// Takes in a level.
    pub(in crate::analysis) fn follow(&mut self, level: f64, dt_s: f64) {
        if self.clock_s == 0.0 {
            self.mean = level;
        }
        self.clock_s += dt_s.max(1e-3);
        let off = level - self.mean;
        self.mean += off * dt_s / (MEAN_S.min(self.clock_s) + dt_s);
        self.power += (off * off - self.power) * dt_s / (POWER_S + dt_s);
        let above = match off {
            _ if off > SIDE_DB => true,
            _ if off < -SIDE_DB => false,
            _ => return,
        };
        if self.above.replace(above).is_some_and(|before| before != above) {
            self.turns.rotate_left(1);
            self.turns[TURNS - 1] = self.clock_s;
            self.seen = (self.seen + 1).min(TURNS);
        }
    }

    /// Mean square of the swing, dB².
    pub(in crate::analysis) fn power(&self) -> f64 {
        self.power
    }

    /// Whether it goes to and fro, rather than up or down once.
    pub(in crate::analysis) fn turns(&self) -> bool {
        self.seen == TURNS
            && self.clock_s - self.turns[0] <= WITHIN_S
            && self.clock_s - self.turns[TURNS - 1] <= RECENT_S
    }

    /// Period of the last swings, s.
    pub(in crate::analysis) fn period_s(&self) -> f64 {
        (self.turns[TURNS - 1] - self.turns[0]) * 2.0 / (TURNS - 1) as f64
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_swing_has_turns_and_a_period_and_a_step_has_none() {
        let mut swing = Sway::default();
        for i in 0..80 {
            let t = f64::from(i) / 2.0;
            swing.follow(-60.0 + 4.0 * (t * std::f64::consts::TAU / 5.0).sin(), 0.5);
        }
        assert!(swing.turns() && swing.power() > 5.0);
        assert!((swing.period_s() - 5.0).abs() < 1.0, "{}", swing.period_s());

        let mut step = Sway::default();
        for i in 0..80 {
            step.follow(if i < 40 { -60.0 } else { -70.0 }, 0.5);
        }
        assert!(!step.turns());
    }
}
