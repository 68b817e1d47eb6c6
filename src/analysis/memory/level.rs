//! A level against its own past: sudden lasting drops and slow ones.
//!
//! Three averages of first order. `fast` is the level now, `reference` what it was before something happened: it
//! follows slowly, and stands still while the level is far below it. `first` is the mean of the first minute.

/// Time constants, s.
const FAST_S: f64 = 2.5;
const SLOW_S: f64 = 60.0;
const LATE_S: f64 = 20.0;
const RISE_S: f64 = 10.0;
const LEAK_S: f64 = 600.0;
/// The reference stops following a level that lies this far off, dB: more than twice the wander of a stationary
/// receiver (total 1.1 dB, FACTS G.3).
const OFF_DB: f64 = 2.5;
/// Beyond this the reference does not follow at all, dB.
const FAR_DB: f64 = 4.0;
/// Time until a drop means anything, s.
const SETTLED_S: f64 = 15.0;
/// Length of the first mean, and time until a slow drop means anything, s.
const FIRST_S: f64 = 60.0;
const CREEP_FROM_S: f64 = 120.0;

/// A level and what it was before.
#[derive(Clone, Debug, Default)]
pub(in crate::analysis) struct Level {
    age_s: f64,
    since_first_s: f64,
    fast: f64,
    reference: f64,
    late: f64,
    first: f64,
    identity: Option<u16>,
    /// The cell is another than the one that the reference was taken of.
    changed: bool,
}

fn average(value: &mut f64, new: f64, dt_s: f64, tau_s: f64) {
    *value += (new - *value) * dt_s / (tau_s + dt_s);
}

impl Level {
    /// Takes in a level, of this cell where it is known.
    pub(in crate::analysis) fn follow(&mut self, level: f64, identity: Option<u16>, dt_s: f64) {
        if self.age_s == 0.0 {
            *self = Self {
                age_s: dt_s.max(1e-3),
                fast: level,
                reference: level,
                late: level,
                first: level,
                identity,
                ..Self::default()
            };
            return;
        }
        if identity.is_some() && identity != self.identity {
            self.changed |= self.identity.is_some();
            self.identity = identity;
            // A slow loss can be told of one and the same cell only.
            (self.first, self.late, self.since_first_s) = (level, level, 0.0);
        }
        average(&mut self.fast, level, dt_s, FAST_S.min(self.age_s));
        average(&mut self.late, level, dt_s, LATE_S.min(self.age_s));
        if self.since_first_s < FIRST_S {
            average(&mut self.first, level, dt_s, self.since_first_s.max(1e-3));
        }
        let off = self.reference - self.fast;
        let tau = match off {
            _ if off > FAR_DB => f64::INFINITY,
            _ if off > OFF_DB => LEAK_S,
            _ if off < -OFF_DB => RISE_S,
            _ => SLOW_S.min(self.age_s),
        };
        average(&mut self.reference, self.fast, dt_s, tau);
        if self.changed && off.abs() < OFF_DB && self.since_first_s > SETTLED_S {
            self.changed = false;
        }
        self.age_s += dt_s;
        self.since_first_s += dt_s;
    }

    /// How far the level lies below what it was before something happened, dB; `None` while there is no before.
    pub(in crate::analysis) fn drop_db(&self) -> Option<f64> {
        (self.age_s >= SETTLED_S).then_some(self.reference - self.fast)
    }

    /// The same once it has stood there for a while, averaged over some 20 s, dB.
    pub(in crate::analysis) fn lasting_drop_db(&self) -> Option<f64> {
        (self.age_s >= SETTLED_S).then_some(self.reference - self.late)
    }

    /// How far the level lies below that of the first minute without ever having dropped at once, dB.
    pub(in crate::analysis) fn creep_db(&self) -> Option<f64> {
        // Nor does a level creep while its mean of 20 s still lags behind a step, down or up again.
        let sudden = self.reference - self.fast > OFF_DB || (self.late - self.fast).abs() > OFF_DB;
        (self.since_first_s >= CREEP_FROM_S).then_some(if sudden { 0.0 } else { self.first - self.late })
    }

    /// Whether another cell is heard than before the drop.
    pub(in crate::analysis) fn cell_changed(&self) -> bool {
        self.changed
    }

    /// The level averaged over some 20 s.
    pub(in crate::analysis) fn average(&self) -> Option<f64> {
        (self.age_s > 0.0).then_some(self.late)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn follow(level: &mut Level, value: impl Fn(f64) -> f64, seconds: u32) {
        for i in 0..seconds * 2 {
            level.follow(value(f64::from(i) / 2.0), Some(7), 0.5);
        }
    }

    #[test]
    fn a_step_shows_in_seconds_and_stays() {
        let mut level = Level::default();
        follow(&mut level, |_| -90.0, 120);
        follow(&mut level, |_| -98.0, 8);
        assert!(level.drop_db().unwrap() > 7.0);
        follow(&mut level, |_| -98.0, 3_600);
        assert!((level.drop_db().unwrap() - 8.0).abs() < 0.5);
        assert_eq!(level.creep_db(), Some(0.0));
        follow(&mut level, |_| -90.0, 20);
        assert!(level.drop_db().unwrap().abs() < 0.5);
    }

    #[test]
    fn a_slow_fall_creeps_and_does_not_drop() {
        let mut level = Level::default();
        follow(&mut level, |_| -90.0, 60);
        follow(&mut level, |t| -90.0 - t * 8.0 / 540.0, 540);
        assert!(level.drop_db().unwrap() < OFF_DB);
        assert!(level.creep_db().unwrap() > 7.0);
    }

    #[test]
    fn a_level_that_comes_back_did_not_creep() {
        let mut level = Level::default();
        follow(&mut level, |_| -90.0, 120);
        follow(&mut level, |_| -104.0, 120);
        for _ in 0..60 {
            follow(&mut level, |_| -90.0, 1);
            assert!(level.creep_db().unwrap() < 3.0, "{:?}", level.creep_db());
        }
    }

    #[test]
    fn another_cell_is_told_until_the_level_is_back() {
        let mut level = Level::default();
        follow(&mut level, |_| -90.0, 60);
        for _ in 0..20 {
            level.follow(-97.0, Some(8), 0.5);
        }
        assert!(level.cell_changed() && level.drop_db().unwrap() > 5.0);
        for _ in 0..60 {
            level.follow(-90.0, Some(8), 0.5);
        }
        assert!(!level.cell_changed());
    }
}
