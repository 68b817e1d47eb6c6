//! When a judgement becomes a finding, and when the finding clears.

/// What a rule says about one reading.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Judgement {
    /// The condition holds.
    Bad,
    /// The condition clearly does not hold.
    Good,
    /// Inside the hysteresis: neither.
    Between,
    /// The unit does not report what the rule needs; the text completes "the unit does not report …".
    NotJudged(&'static str),
}

/// How long a condition must hold, µs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Timing {
    /// Bad for this long raises.
    raise_us: u64,
    /// Good for this long clears.
    clear_us: u64,
}

impl Timing {
    pub(super) const fn millis(raise: u64, clear: u64) -> Self {
        Self {
            raise_us: raise * 1_000,
            clear_us: clear * 1_000,
        }
    }

    /// The same, with times this many times as long.
    pub(super) fn scaled(self, factor: f64) -> Self {
        let scaled = |time_us: u64| (time_us as f64 * factor.max(0.0)) as u64;
        Self {
            raise_us: scaled(self.raise_us),
            clear_us: scaled(self.clear_us),
        }
    }
}

/// A change that a latch decided on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Change {
    Raise,
    Clear,
}

/// Accumulates evidence over time. A step is the time since the reading before; `None` where readings are missing in
/// between: a gap neither raises nor clears.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Latch {
    bad_us: u64,
    good_us: u64,
    /// The condition held at the reading before, so that a step counts.
    was: Option<bool>,
    raised: bool,
    /// The condition was clearly absent for a while in this session.
    was_good: bool,
    /// What the unit does not report, by the last judgement.
    missing: Option<&'static str>,
    /// Things are and have been good: another good judgement changes nothing.
    at_rest: bool,
}

/// Good for this long counts as having been good.
const GOOD_US: u64 = 5_000_000;

impl Latch {
    /// Whether things were good before: what is bad now came about in this session.
    pub(super) fn was_good(&self) -> bool {
        self.was_good
    }

    /// Whether the finding is raised and the condition holds at this reading.
    pub(super) fn holds_on(&self) -> bool {
        self.raised && self.was == Some(true)
    }

    /// What the unit does not report, if the last judgement could not be made.
    pub(super) fn missing(&self) -> Option<&'static str> {
        self.missing
    }

    /// Takes in a judgement, `step_us` after the one before.
    pub(super) fn judge(
        &mut self,
        judgement: Judgement,
        step_us: Option<u64>,
        timing: Timing,
    ) -> Option<Change> {
        if self.at_rest && matches!(judgement, Judgement::Good) {
            return None;
        }
        self.at_rest = false;
        self.missing = None;
        let step_us = step_us.unwrap_or(0);
        match judgement {
            Judgement::Good => {
                self.bad_us = 0;
                if self.was == Some(false) {
                    self.good_us += step_us;
                }
                self.was = Some(false);
                self.was_good |= self.good_us >= GOOD_US;
                if self.raised && self.good_us >= timing.clear_us {
                    self.raised = false;
                    return Some(Change::Clear);
                }
                self.at_rest = self.was_good && !self.raised;
            }
            Judgement::Bad => {
                self.good_us = 0;
                if self.was == Some(true) {
                    self.bad_us += step_us;
                }
                self.was = Some(true);
                if !self.raised && self.bad_us >= timing.raise_us {
                    self.raised = true;
                    return Some(Change::Raise);
                }
            }
            // A reading between the limits takes back as much as one beyond them gives: noise about a limit does not
            // start the count again, and does not add up either.
            Judgement::Between => {
                self.was = None;
                self.bad_us = self.bad_us.saturating_sub(step_us);
                self.good_us = self.good_us.saturating_sub(step_us);
            }
            Judgement::NotJudged(missing) => {
                self.missing = Some(missing);
                self.was = None;
                self.bad_us = 0;
                self.good_us = 0;
            }
        }
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const T: Timing = Timing::millis(300, 1_000);
    const STEP: Option<u64> = Some(100_000);

    #[test]
    fn raises_after_its_time_and_clears_after_its_own() {
        let mut latch = Latch::default();
        let raised: Vec<_> = (0..5).map(|_| latch.judge(Judgement::Bad, STEP, T)).collect();
        assert_eq!(raised, [None, None, None, Some(Change::Raise), None]);
        let cleared = (0..11)
            .filter_map(|_| latch.judge(Judgement::Good, STEP, T))
            .collect::<Vec<_>>();
        assert_eq!(cleared, [Change::Clear]);
    }

    #[test]
    fn a_gap_neither_raises_nor_clears() {
        let mut latch = Latch::default();
        latch.judge(Judgement::Bad, STEP, T);
        for _ in 0..100 {
            assert_eq!(latch.judge(Judgement::Bad, None, T), None);
        }
    }

    #[test]
    fn noise_about_the_limit_neither_starts_again_nor_adds_up() {
        let mut latch = Latch::default();
        let count = |latch: &mut Latch, judgements: &[Judgement]| {
            judgements.iter().filter_map(|j| latch.judge(*j, STEP, T)).count()
        };
        use Judgement::{Bad, Between};
        assert_eq!(count(&mut latch, &[Bad, Bad, Bad, Between, Bad, Bad, Bad]), 1);
        let mut latch = Latch::default();
        assert_eq!(count(&mut latch, &[Bad, Bad, Between, Between].repeat(50)), 0);
    }

    #[test]
    fn a_single_good_reading_starts_the_count_again() {
        let mut latch = Latch::default();
        for _ in 0..3 {
            latch.judge(Judgement::Bad, STEP, T);
        }
        latch.judge(Judgement::Good, STEP, T);
        for _ in 0..3 {
            assert_eq!(latch.judge(Judgement::Bad, STEP, T), None);
        }
    }
}
