//! A level that swings to and fro, as a mast does in the wind.
//!
//! The wind moves the mast, and so every band alike and at once; traffic and fading move each band by itself. What
//! bands have in common is therefore told from few swings; one band alone needs more of them.

/// Time constant of the mean about which a level swings, s.
const MEAN_S: f64 = 10.0;
/// A step this large is no swing, and neither is a level that stays on one side longer than half a swing lasts: the
/// mean begins anew, dB and s.
const STEP_DB: f64 = 12.0;
const HALF_S: f64 = 6.0;
/// Time constant of the power of the swing, of several bands and of one alone, s.
const POWER_S: f64 = 8.0;
const ALONE_S: f64 = 15.0;
/// A swing reaches this far on both sides, dB.
const SIDE_DB: f64 = 1.5;
/// Half swings that are remembered; the longest of them lasts at most so many times as long as the shortest.
const TURNS: usize = 4;
const REGULAR: f64 = 2.5;
/// Share of the limit that RSRP reaches, which a slow modem sees now and then only.
const LEVEL_SHARE: f64 = 0.7;

/// A level and how far it is off its mean.
#[derive(Clone, Debug, Default)]
pub(in crate::analysis) struct Swing {
    clock_s: f64,
    mean: f64,
    off: f64,
    aside_s: f64,
}

impl Swing {
    /// Takes in a level.
    pub(in crate::analysis) fn follow(&mut self, level: f64, dt_s: f64) {
        let off = level - self.mean;
        let same_side = off * self.off > 0.0 && off.abs() > SIDE_DB;
        self.aside_s = if same_side { self.aside_s + dt_s } else { 0.0 };
        self.off = off;
        if self.clock_s == 0.0 || self.off.abs() > STEP_DB || self.aside_s > HALF_S {
            (self.mean, self.off, self.clock_s, self.aside_s) = (level, 0.0, 0.0, 0.0);
        }
        self.clock_s += dt_s.max(1e-3);
        self.mean += self.off * dt_s / (MEAN_S.min(self.clock_s) + dt_s);
    }

    /// How far it is off its mean, dB.
    pub(in crate::analysis) fn off_db(&self) -> f64 {
        self.off
    }
}

/// How far bands are off their means, all at one moment.
#[derive(Clone, Copy, Debug, Default)]
pub(in crate::analysis) struct Swings {
    /// Bands.
    pub(in crate::analysis) bands: u32,
    /// Sum and sum of squares of the composite inputs, dB and dB².
    pub(in crate::analysis) sum: f64,
    pub(in crate::analysis) squares: f64,
    /// Sum of squares of the levels that traffic does not move (RSRP, where it is reported), dB².
    pub(in crate::analysis) level_squares: f64,
}

/// Power and half swings of what all bands have in common.
#[derive(Clone, Debug, Default)]
pub(in crate::analysis) struct Sway {
    clock_s: f64,
    bands: u32,
    common: f64,
    level: f64,
    above: Option<bool>,
    turns: [f64; TURNS],
    seen: usize,
}

impl Sway {
    /// Takes in how far the bands are off their means now.
    pub(in crate::analysis) fn follow(&mut self, swings: Swings, dt_s: f64) {
        self.clock_s += dt_s;
        self.bands = swings.bands;
        let n = f64::from(swings.bands.max(1));
        let weight = dt_s / (dt_s + if swings.bands > 1 { POWER_S } else { ALONE_S });
        // The mean product of different bands leaves out what moves each by itself.
        let common = if swings.bands > 1 {
            (swings.sum * swings.sum - swings.squares) / (n * (n - 1.0))
        } else {
            swings.squares
        };
        self.common += (common - self.common) * weight;
        self.level += (swings.level_squares / n - self.level) * weight;
        let above = match swings.sum / n {
            off if off > SIDE_DB => true,
            off if off < -SIDE_DB => false,
            _ => return,
        };
        if self.above.replace(above).is_some_and(|before| before != above) {
            self.turns.rotate_left(1);
            self.turns[TURNS - 1] = self.clock_s;
            self.seen = (self.seen + 1).min(TURNS);
        }
    }

    /// Mean square of what the bands have in common; of one alone, of its RSRP, dB².
    pub(in crate::analysis) fn power(&self) -> f64 {
        if self.bands > 1 { self.common } else { self.level }
    }

    /// Whether every level swings, and not by chance at the same time: RSRP does too. And they went to and fro, rather
    /// than up or down once.
    pub(in crate::analysis) fn is_swing(&self, limit: f64) -> bool {
        let alike = self.level >= limit * LEVEL_SHARE;
        let turns = if self.bands > 1 { TURNS - 1 } else { TURNS };
        self.power() >= limit && alike && self.turned(turns)
    }

    /// Whether the last turns follow each other as those of a swing do.
    fn turned(&self, times: usize) -> bool {
        let last = &self.turns[TURNS - times.min(TURNS)..];
        let halves = || last.windows(2).map(|t| t[1] - t[0]);
        let longest = halves().fold(0.0, f64::max);
        let shortest = halves().fold(f64::INFINITY, f64::min);
        self.seen >= times
            && longest <= HALF_S
            && longest <= shortest * REGULAR
            && self.clock_s - self.turns[TURNS - 1] <= HALF_S
    }

    /// Period of the last swings, s.
    pub(in crate::analysis) fn period_s(&self) -> Option<f64> {
        let halves = self.seen.checked_sub(1).filter(|n| *n > 0)?;
        let first = self.turns[TURNS - self.seen];
        Some((self.turns[TURNS - 1] - first) * 2.0 / halves as f64)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bands_that_move_by_themselves_have_nothing_in_common() {
        let mut sway = Sway::default();
        for i in 0..400 {
            let t = f64::from(i) / 10.0;
            let (a, b) = (4.0 * (t * 1.1).sin(), 4.0 * (t * 1.9).sin());
            let swings = Swings {
                bands: 2,
                sum: a + b,
                squares: a * a + b * b,
                level_squares: 2.0,
            };
            sway.follow(swings, 0.1);
            assert!(!sway.is_swing(2.9));
        }
    }

    fn follow(level: impl Fn(f64) -> f64) -> Sway {
        let (mut swing, mut sway) = (Swing::default(), Sway::default());
        for i in 0..80 {
            swing.follow(level(f64::from(i) / 2.0), 0.5);
            let off = swing.off_db();
            let swings = Swings {
                bands: 2,
                sum: 2.0 * off,
                squares: 2.0 * off * off,
                level_squares: 2.0 * off * off,
            };
            sway.follow(swings, 0.5);
        }
        sway
    }

    #[test]
    fn a_swing_has_turns_and_a_period_and_a_step_has_none() {
        let swing = follow(|t| -60.0 + 4.0 * (t * std::f64::consts::TAU / 5.0).sin());
        assert!(swing.is_swing(2.9) && swing.power() > 5.0);
        assert!((swing.period_s().unwrap() - 5.0).abs() < 1.0, "{swing:?}");

        for depth in [8.0, 30.0] {
            let step = follow(|t| if t < 20.0 { -60.0 } else { -60.0 - depth });
            assert!(!step.is_swing(2.9), "{depth}");
        }
    }
}
