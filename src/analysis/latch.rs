//! When a judgement becomes a finding, and when the finding clears.

use std::time::Duration;

/// What a rule says about one reading.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Judgement {
    /// The condition holds.
    Bad,
    /// The condition clearly does not hold.
    Good,
    /// Inside the hysteresis: neither.
    Between,
    /// The unit does not report what the rule needs; the text completes "the unit does not report …".
    NotJudged(&'static str),
}

/// How long a condition must hold.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Timing {
    /// Bad for this long raises.
    pub raise: Duration,
    /// Good for this long clears.
    pub clear: Duration,
}

impl Timing {
    pub(super) const fn millis(raise: u64, clear: u64) -> Self {
        Self {
            raise: Duration::from_millis(raise),
            clear: Duration::from_millis(clear),
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
    bad: Duration,
    good: Duration,
    /// The condition held at the reading before, so that a step counts.
    was: Option<bool>,
    raised: bool,
    /// The condition was clearly absent for a while in this session.
    was_good: bool,
}

/// Good for this long counts as having been good.
const GOOD: Duration = Duration::from_secs(5);

impl Latch {
    /// Whether things were good before: what is bad now came about in this session.
    pub(super) fn was_good(&self) -> bool {
        self.was_good
    }

    pub(super) fn judge(
        &mut self,
        judgement: Judgement,
        step: Option<Duration>,
        timing: Timing,
    ) -> Option<Change> {
        let step = step.unwrap_or(Duration::ZERO);
        match judgement {
            Judgement::Bad => {
                self.good = Duration::ZERO;
                if self.was == Some(true) {
                    self.bad += step;
                }
                self.was = Some(true);
                if !self.raised && self.bad >= timing.raise {
                    self.raised = true;
                    return Some(Change::Raise);
                }
            }
            Judgement::Good => {
                self.bad = Duration::ZERO;
                if self.was == Some(false) {
                    self.good += step;
                }
                self.was = Some(false);
                self.was_good |= self.good >= GOOD;
                if self.raised && self.good >= timing.clear {
                    self.raised = false;
                    return Some(Change::Clear);
                }
            }
            // A reading between the limits, or none that can be judged, says nothing either way.
            Judgement::Between | Judgement::NotJudged(_) => {
                self.was = None;
                self.bad = Duration::ZERO;
                self.good = Duration::ZERO;
            }
        }
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const T: Timing = Timing::millis(300, 1_000);
    const STEP: Option<Duration> = Some(Duration::from_millis(100));

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
