//! Sequence numbers of one band: unwrapping, gaps, duplicates, late arrivals, restarts.

use super::accounts::{Accounts, Cause};
use std::collections::VecDeque;

/// Gaps that a late arrival can still fill, and readings known to be spoiled: more than a link can hold back.
const REMEMBERED: usize = 64;

/// Losses that are known in number but not by band: the next gaps draw from them.
pub(super) struct Pools<'a> {
    pub(super) dropped: &'a mut u64,
    pub(super) malformed: &'a mut u64,
}

/// How a complete reading stands in its sequence. Numbers and device time are unwrapped within the boot.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Arrival {
    InOrder { sequence: u64, unit_ms: u64 },
    Late { sequence: u64, unit_ms: u64 },
    Duplicate,
}

/// Why the next gap, if there is one, was not lost on the air.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
enum Excuse {
    #[default]
    None,
    LinkWasDown,
    RecordingDamaged,
}

#[derive(Clone, Copy, Debug)]
struct Gap {
    from: u64,
    to: u64,
    cause: Cause,
}

#[derive(Clone, Copy, Debug)]
struct Last {
    sequence: u64,
    unit_ms: u64,
}

/// Follows one band through boots.
#[derive(Clone, Debug, Default)]
pub(super) struct SequenceTracker {
    boot: Option<u8>,
    last: Option<Last>,
    /// The unit was heard before this boot: readings before the first one heard were missed.
    from_zero: bool,
    gaps: VecDeque<Gap>,
    spoiled: VecDeque<(u16, Cause)>,
    excuse: Excuse,
    awaits_dropped: bool,
    accounts: Accounts,
}

impl SequenceTracker {
    pub(super) fn accounts(&self) -> Accounts {
        self.accounts
    }

    /// Whether the pool of dropped values is still open for this band's next reading.
    pub(super) fn awaits_dropped(&self) -> bool {
        self.awaits_dropped
    }

    pub(super) fn values_dropped(&mut self) {
        self.awaits_dropped = true;
    }

    pub(super) fn recording_damaged(&mut self) {
        self.excuse = Excuse::RecordingDamaged;
    }

    pub(super) fn link_down(&mut self) {
        if self.excuse == Excuse::None && self.last.is_some() {
            self.excuse = Excuse::LinkWasDown;
        }
    }

    /// A reading that arrived but will not become one: charged to `cause` when its gap shows.
    pub(super) fn spoiled(&mut self, sequence: u16, cause: Cause) {
        if self.spoiled.len() == REMEMBERED {
            self.spoiled.pop_front();
        }
        if !self.spoiled.iter().any(|(s, _)| *s == sequence) {
            self.spoiled.push_back((sequence, cause));
        }
    }

    /// The unit started anew; its sequence begins at 0 and everything before the first reading heard was missed.
    pub(super) fn restarted(&mut self, boot: u8) {
        self.charge_spoiled_tail();
        self.from_zero = self.boot.is_some();
        self.boot = Some(boot);
        self.last = None;
        self.gaps.clear();
        self.spoiled.clear();
        if self.excuse == Excuse::None && self.from_zero {
            self.excuse = Excuse::LinkWasDown;
        }
    }

    /// The session is over: spoiled readings at its end are expected ones too.
    pub(super) fn finish(&mut self) {
        self.charge_spoiled_tail();
    }

    /// Spoiled readings after the last good one, as long as they follow it closely: a number far ahead is damage.
    fn charge_spoiled_tail(&mut self) {
        let Some(last) = self.last else { return };
        let ahead = |s: u16| u64::from(s.wrapping_sub(last.sequence as u16));
        let end = self
            .spoiled
            .iter()
            .filter(|(s, cause)| *cause == Cause::Incomplete && (1..=16).contains(&ahead(*s)))
            .map(|(s, _)| ahead(*s))
            .max();
        if let Some(span) = end {
            let (mut none, mut nothing) = (0, 0);
            let mut pools = Pools {
                dropped: &mut none,
                malformed: &mut nothing,
            };
            self.accounts.expected += span;
            self.charge(last.sequence + 1, last.sequence + span, &mut pools);
            self.last = Some(Last {
                sequence: last.sequence + span,
                ..last
            });
        }
    }

    /// A complete reading. `interval_ms` resolves a gap of more than half the 16-bit range by device time.
    pub(super) fn observe(
        &mut self,
        boot: u8,
        sequence: u16,
        time_ms: u32,
        interval_ms: u64,
        pools: &mut Pools<'_>,
    ) -> Arrival {
        self.boot = Some(boot);
        let Some(last) = self.last else {
            return self.first(sequence, time_ms, pools);
        };
        let elapsed_ms = i64::from(time_ms.wrapping_sub(last.unit_ms as u32) as i32);
        let step = unwrap_step(
            sequence.wrapping_sub(last.sequence as u16),
            elapsed_ms,
            interval_ms,
        );
        let unit_ms = last.unit_ms.saturating_add_signed(elapsed_ms);
        let Some(now) = last.sequence.checked_add_signed(step) else {
            self.accounts.duplicates += 1;
            return Arrival::Duplicate;
        };
        if step <= 0 {
            return if step < 0 && self.fill(now) {
                self.accounts.out_of_order += 1;
                Arrival::Late {
                    sequence: now,
                    unit_ms,
                }
            } else {
                self.accounts.duplicates += 1;
                Arrival::Duplicate
            };
        }
        self.accounts.expected += step.unsigned_abs();
        self.accounts.readings += 1;
        if step > 1 {
            self.charge(last.sequence + 1, now - 1, pools);
        }
        self.settle(now, unit_ms);
        Arrival::InOrder {
            sequence: now,
            unit_ms,
        }
    }

    /// The first reading of a boot.
    fn first(&mut self, sequence: u16, time_ms: u32, pools: &mut Pools<'_>) -> Arrival {
        let (sequence, unit_ms) = (u64::from(sequence), u64::from(time_ms));
        self.accounts.expected += 1;
        self.accounts.readings += 1;
        if self.from_zero && sequence > 0 {
            self.accounts.expected += sequence;
            self.charge(0, sequence - 1, pools);
        }
        self.settle(sequence, unit_ms);
        Arrival::InOrder { sequence, unit_ms }
    }

    fn settle(&mut self, sequence: u64, unit_ms: u64) {
        self.last = Some(Last { sequence, unit_ms });
        self.excuse = Excuse::None;
        self.awaits_dropped = false;
        // What was spoiled before this reading has shown up as a gap by now, or never will.
        self.spoiled
            .retain(|(s, _)| (1..=1024).contains(&s.wrapping_sub(sequence as u16)));
    }

    /// Charges the missing readings `from..=to` to their causes.
    fn charge(&mut self, from: u64, to: u64, pools: &mut Pools<'_>) {
        let mut start = from;
        // Spoiled readings are known by number; the stretches between them share one cause.
        let mut spoiled: Vec<(u64, Cause)> = self
            .spoiled
            .iter()
            .map(|(s, cause)| (from + u64::from(s.wrapping_sub(from as u16)), *cause))
            .filter(|(s, _)| *s <= to)
            .collect();
        spoiled.sort_by_key(|(s, _)| *s);
        for (s, cause) in spoiled {
            if s > start {
                self.charge_stretch(start, s - 1, pools);
            }
            self.remember(s, s, cause);
            start = s + 1;
        }
        if start <= to {
            self.charge_stretch(start, to, pools);
        }
    }

    fn charge_stretch(&mut self, from: u64, to: u64, pools: &mut Pools<'_>) {
        match self.excuse {
            Excuse::LinkWasDown => self.remember(from, to, Cause::Outage),
            Excuse::RecordingDamaged => self.remember(from, to, Cause::Unreadable),
            Excuse::None => {
                let missing = to - from + 1;
                let malformed = missing.min(*pools.malformed);
                *pools.malformed -= malformed;
                let dropped = if self.awaits_dropped {
                    (missing - malformed).min(*pools.dropped)
                } else {
                    0
                };
                *pools.dropped -= dropped;
                let mut start = from;
                for (count, cause) in [
                    (malformed, Cause::Malformed),
                    (dropped, Cause::DroppedOnHost),
                    (missing - malformed - dropped, Cause::LostOnAir),
                ] {
                    if count > 0 {
                        self.remember(start, start + count - 1, cause);
                        start += count;
                    }
                }
            }
        }
    }

    fn remember(&mut self, from: u64, to: u64, cause: Cause) {
        *self.accounts.of(cause) += to - from + 1;
        if self.gaps.len() == REMEMBERED {
            self.gaps.pop_front();
        }
        self.gaps.push_back(Gap { from, to, cause });
    }

    /// A late reading: takes it back from the account that it was charged to. False if it was not missing.
    fn fill(&mut self, sequence: u64) -> bool {
        let Some(index) = self.gaps.iter().position(|g| (g.from..=g.to).contains(&sequence)) else {
            return false;
        };
        let Some(gap) = self.gaps.remove(index) else {
            return false;
        };
        for rest in [
            (sequence > gap.from).then(|| Gap {
                to: sequence - 1,
                ..gap
            }),
            (sequence < gap.to).then(|| Gap {
                from: sequence + 1,
                ..gap
            }),
        ]
        .into_iter()
        .flatten()
        {
            self.gaps.push_back(rest);
        }
        *self.accounts.of(gap.cause) -= 1;
        self.accounts.readings += 1;
        true
    }
}

/// Signed step from the last sequence number: modulo 65,536, the candidate that device time speaks for.
fn unwrap_step(difference: u16, elapsed_ms: i64, interval_ms: u64) -> i64 {
    let near = i64::from(difference as i16);
    let by_time = elapsed_ms / i64::try_from(interval_ms.max(1)).unwrap_or(i64::MAX);
    // Within a quarter of the range the numbers speak for themselves: the interval may have been changed.
    if by_time < 16_384 {
        return near;
    }
    let turns = (by_time - near + 32_768).div_euclid(65_536);
    near + turns * 65_536
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn observe(t: &mut SequenceTracker, sequence: u16, time_ms: u32) -> Arrival {
        let (mut dropped, mut malformed) = (0, 0);
        t.observe(
            1,
            sequence,
            time_ms,
            100,
            &mut Pools {
                dropped: &mut dropped,
                malformed: &mut malformed,
            },
        )
    }

    #[test]
    fn a_gap_is_lost_on_the_air_and_a_late_reading_takes_it_back() {
        let mut t = SequenceTracker::default();
        observe(&mut t, 10, 1_000);
        observe(&mut t, 13, 1_300);
        assert_eq!(t.accounts().lost_on_air, 2);
        assert_eq!(
            observe(&mut t, 11, 1_100),
            Arrival::Late {
                sequence: 11,
                unit_ms: 1_100
            }
        );
        assert_eq!(observe(&mut t, 11, 1_100), Arrival::Duplicate);
        let a = t.accounts();
        assert_eq!(
            (a.readings, a.lost_on_air, a.out_of_order, a.duplicates),
            (3, 1, 1, 1)
        );
        assert!(a.balanced());
    }

    #[test]
    fn a_gap_while_the_link_was_down_is_outage() {
        let mut t = SequenceTracker::default();
        observe(&mut t, 10, 1_000);
        t.link_down();
        observe(&mut t, 20, 2_000);
        observe(&mut t, 22, 2_200);
        assert_eq!((t.accounts().outage, t.accounts().lost_on_air), (9, 1));
    }

    #[test]
    fn after_a_restart_the_readings_before_the_first_heard_are_outage() {
        let mut t = SequenceTracker::default();
        observe(&mut t, 500, 50_000);
        t.restarted(2);
        observe(&mut t, 7, 700);
        let a = t.accounts();
        assert_eq!((a.expected, a.readings, a.outage), (9, 2, 7));
    }

    #[test]
    fn wrap_and_long_absence_are_told_apart_by_device_time() {
        let mut t = SequenceTracker::default();
        observe(&mut t, 65_535, u32::MAX - 50);
        assert_eq!(
            observe(&mut t, 0, 49),
            Arrival::InOrder {
                sequence: 65_536,
                unit_ms: u64::from(u32::MAX) + 50
            }
        );
        // 70,000 readings of 100 ms later: more than one turn of the 16-bit number.
        let later = observe(&mut t, (70_000u32 % 65_536) as u16, 49 + 7_000_000);
        assert_eq!(
            later,
            Arrival::InOrder {
                sequence: 65_536 + 70_000,
                unit_ms: u64::from(u32::MAX) + 50 + 7_000_000
            }
        );
        assert!(t.accounts().balanced());
    }

    proptest! {
        /// Whatever arrives in whatever order, every expected reading is accounted for.
        #[test]
        fn accounts_always_balance(steps in proptest::collection::vec((0u16..40, 0u8..12), 1..400)) {
            let mut t = SequenceTracker::default();
            let mut sequence = 65_500u16;
            let (mut dropped, mut malformed) = (0u64, 0u64);
            for (step, kind) in steps {
                match kind {
                    0 => t.link_down(),
                    1 => t.recording_damaged(),
                    2 => { t.values_dropped(); dropped += u64::from(step); }
                    3 => malformed += 1,
                    4 => t.spoiled(sequence.wrapping_add(step), Cause::Incomplete),
                    5 => t.restarted((step % 16) as u8),
                    6 => {
                        let mut pools = Pools { dropped: &mut dropped, malformed: &mut malformed };
                        t.observe(1, sequence.wrapping_sub(step), 0, 100, &mut pools);
                    }
                    _ => {
                        sequence = sequence.wrapping_add(step);
                        let mut pools = Pools { dropped: &mut dropped, malformed: &mut malformed };
                        t.observe(1, sequence, u32::from(sequence) * 100, 100, &mut pools);
                    }
                }
                prop_assert!(t.accounts().balanced(), "{:?}", t.accounts());
            }
            t.finish();
            prop_assert!(t.accounts().balanced(), "{:?}", t.accounts());
        }
    }
}
