//! A level against its own past: sudden lasting drops and slow ones.
//!
//! Blocks of two seconds make up the last half minute. A level that lies far below what it was some seconds ago has
//! fallen: what it was then is kept as the reference until the level is back. A slow drop shows against the mean of
//! the first minute, and never looks like a fall.

/// Time constants, s.
const FAST_S: f64 = 2.5;
const LATE_S: f64 = 20.0;
/// Length of a block, number of blocks, and the newest of them that are "now" rather than "before".
const BLOCK_S: f64 = 2.0;
const BLOCKS: usize = 12;
const NOW: usize = 2;
/// A fall begins this far below what was before, dB: three times the wander of such means (FACTS G.3).
const FALL_DB: f64 = 3.0;
/// It was none if it has not been this deep within so long, dB and s.
const DEEP_DB: f64 = 4.0;
const DEEP_AFTER_S: f64 = 10.0;
/// Wander of the level now about its mean of 20 s, dB.
const LAG_DB: f64 = 1.0;
/// It is over this near to the reference, dB.
const BACK_DB: f64 = 2.0;
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
    late: f64,
    first: f64,
    /// Means of past blocks, oldest first, and the block that is being filled.
    blocks: [f64; BLOCKS],
    block: (f64, f64),
    /// Mean of the blocks before now.
    before: f64,
    fall: Option<Fall>,
    identity: Option<u16>,
    /// The cell is another than the one that the reference was taken of.
    changed: bool,
}

/// What the level was before it fell, and how long ago that was.
#[derive(Clone, Copy, Debug)]
struct Fall {
    reference: f64,
    deepest: f64,
    since_s: f64,
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
                late: level,
                first: level,
                blocks: [level; BLOCKS],
                before: level,
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
        self.fill(level, dt_s);
        self.fall(dt_s);
        if self.changed && self.fall.is_none() && self.since_first_s > SETTLED_S {
            self.changed = false;
        }
        self.age_s += dt_s;
        self.since_first_s += dt_s;
    }

    fn fill(&mut self, level: f64, dt_s: f64) {
        self.block.0 += level * dt_s;
        self.block.1 += dt_s;
        if self.block.1 >= BLOCK_S - 1e-9 {
            self.blocks.rotate_left(1);
            self.blocks[BLOCKS - 1] = self.block.0 / self.block.1;
            self.block = (0.0, 0.0);
            let past = BLOCKS - NOW;
            self.before = self.blocks[..past].iter().sum::<f64>() / past as f64;
        }
    }

    fn fall(&mut self, dt_s: f64) {
        let Some(fall) = &mut self.fall else {
            if self.before - self.fast > FALL_DB && self.age_s >= SETTLED_S {
                self.fall = Some(Fall {
                    reference: self.before,
                    deepest: 0.0,
                    since_s: 0.0,
                });
            }
            return;
        };
        fall.since_s += dt_s;
        let depth = fall.reference - self.fast;
        fall.deepest = fall.deepest.max(depth);
        if depth < BACK_DB {
            self.fall = None;
            (self.blocks, self.before) = ([self.fast; BLOCKS], self.fast);
        } else if fall.since_s >= DEEP_AFTER_S && fall.deepest < DEEP_DB {
            self.fall = None;
        }
    }

    /// How far the level lies below what it was before it fell, dB; 0 if it has not fallen, `None` while there is no
    /// before.
    pub(in crate::analysis) fn drop_db(&self) -> Option<f64> {
        let drop = self.fall.map_or(0.0, |f| f.reference - self.fast);
        (self.age_s >= SETTLED_S).then_some(drop)
    }

    /// The same once it has stood there for a while, averaged over some 20 s, dB.
    pub(in crate::analysis) fn lasting_drop_db(&self) -> Option<f64> {
        let stands = self.age_s >= SETTLED_S && (self.late - self.fast).abs() <= FALL_DB;
        stands.then(|| self.fall.map_or(0.0, |f| f.reference - self.late))
    }

    /// How far the level lies below that of the first minute without ever having dropped at once, dB.
    pub(in crate::analysis) fn creep_db(&self) -> Option<f64> {
        // Nor does a level that is back creep while its mean of 20 s still lags behind.
        let creep = if self.fall.is_some() {
            0.0
        } else {
            (self.first - self.late).min(self.first - self.fast + LAG_DB)
        };
        (self.since_first_s >= CREEP_FROM_S).then_some(creep)
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
        assert_eq!(level.drop_db(), Some(0.0));
        follow(&mut level, |_| -98.0, 8);
        assert!(
            level.drop_db().unwrap() > 7.0,
            "a second step shows like the first"
        );
    }

    #[test]
    fn a_slow_fall_creeps_and_does_not_drop() {
        let mut level = Level::default();
        follow(&mut level, |_| -90.0, 60);
        // 3.5 dB a minute, with a ripple of a modem that reports whole dB.
        let ripple = |t: f64| 0.5 * (t * 0.7).sin();
        follow(&mut level, |t| -90.0 - t * 3.5 / 60.0 + ripple(t), 300);
        assert_eq!(level.drop_db(), Some(0.0));
        assert!(level.creep_db().unwrap() > 13.0);
    }

    #[test]
    fn a_level_that_comes_back_did_not_creep() {
        let mut level = Level::default();
        follow(&mut level, |_| -90.0, 120);
        follow(&mut level, |_| -104.0, 120);
        for _ in 0..60 {
            follow(&mut level, |_| -90.0, 1);
            assert!(level.creep_db().unwrap() <= 3.0, "{:?}", level.creep_db());
        }
    }

    #[test]
    fn a_dip_of_seconds_is_no_drop() {
        let mut level = Level::default();
        follow(&mut level, |_| -90.0, 60);
        follow(&mut level, |_| -94.0, 4);
        follow(&mut level, |_| -90.0, 15);
        assert_eq!(level.drop_db(), Some(0.0));
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
