//! How still a gain is that automatic gain control holds.
//!
//! Under a real signal it follows traffic and fading, a dB within a second. In a loop that oscillates it stands at the
//! isolation and hardly moves (FACTS D: output pinned, very low short-term variance).

/// Least distance of two values that are compared, s; with slower reports, from one to the next.
const LAG_S: f64 = 0.4;
/// Time constant of the fast part of a stationary receiver's level, s (FACTS G.3): within a shorter lag it moves less.
const FADING_S: f64 = 2.0;
/// Differences that are looked at.
const COUNT: usize = 12;

/// The last differences of a gain, as they would be over a second.
#[derive(Clone, Debug, Default)]
pub(in crate::analysis) struct Steadiness {
    before: Option<f64>,
    waited_s: f64,
    squares: [f64; COUNT],
    seen: usize,
    next: usize,
}

/// How much a difference over this lag counts as one over a second: fading moves so much more within a second.
fn to_a_second(lag_s: f64) -> f64 {
    let moves = |s: f64| 1.0 - libm::exp(-s / FADING_S);
    moves(1.0) / moves(lag_s)
}

impl Steadiness {
    /// Takes in the gain while control holds it; `None` while it does not.
    pub(in crate::analysis) fn follow(&mut self, gain: Option<f64>, dt_s: f64) {
        let Some(gain) = gain else {
            (self.before, self.seen, self.waited_s) = (None, 0, 0.0);
            return;
        };
        self.waited_s += dt_s;
        let Some(before) = self.before else {
            (self.before, self.waited_s) = (Some(gain), 0.0);
            return;
        };
        if self.waited_s >= LAG_S - 1e-9 {
            self.squares[self.next] = (gain - before) * (gain - before) * to_a_second(self.waited_s);
            self.next = (self.next + 1) % COUNT;
            self.seen = (self.seen + 1).min(COUNT);
            (self.before, self.waited_s) = (Some(gain), 0.0);
        }
    }

    /// Root mean square of the differences over a second, dB; `None` before there are enough.
    pub(in crate::analysis) fn rms_db(&self) -> Option<f64> {
        let mean = self.squares.iter().sum::<f64>() / COUNT as f64;
        (self.seen == COUNT).then(|| mean.sqrt())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tells_a_still_gain_from_one_that_follows_traffic() {
        let (mut still, mut moving) = (Steadiness::default(), Steadiness::default());
        for i in 0..30 {
            still.follow(Some(66.0 + 0.1 * f64::from(i % 2)), 0.5);
            moving.follow(Some(60.0 + f64::from(i / 2 % 3)), 0.5);
        }
        assert!(still.rms_db().unwrap() < 0.2 && moving.rms_db().unwrap() > 0.8);
        still.follow(None, 0.5);
        assert_eq!(still.rms_db(), None);
    }

    #[test]
    fn says_as_much_at_ten_reports_a_second_as_at_one() {
        // A slope of 0.1 dB in a tenth of a second is 1 dB in a second; fading would have slowed down by then.
        let rms = |per_s: u32| {
            let mut slope = Steadiness::default();
            let dt_s = 1.0 / f64::from(per_s);
            for i in 0..20 * per_s {
                slope.follow(Some(60.0 + f64::from(i) * dt_s), dt_s);
            }
            slope.rms_db().unwrap()
        };
        assert!((rms(1) - 1.0).abs() < 1e-6);
        assert!(rms(10) > 0.5 && rms(10) < 1.0);
    }
}
