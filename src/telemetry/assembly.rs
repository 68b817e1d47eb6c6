//! Puts the parts of a reading together. Parts may arrive in any order: some stacks deliver notifications of one
//! connection out of order (Bluetooth Core specification, Enhanced ATT bearers).

use super::accounts::Cause;
use super::sequence::SequenceTracker;
use booster_profile::{BandTelemetry, DecodeError, Extra, Part};

/// Readings that may wait for their parts at the same time.
const OPEN: usize = 2;

#[derive(Clone, Debug)]
struct Open {
    sequence: u16,
    first: Option<BandTelemetry>,
    extra: Extra,
    /// Bit n: part n has arrived.
    seen: u8,
    /// Parts in all; only a continuation tells.
    parts: Option<u8>,
}

/// Readings of one band that are not complete yet.
#[derive(Clone, Debug, Default)]
pub(super) struct Assembler {
    open: Vec<Open>,
}

impl Assembler {
    /// Adds a part; the reading, if this completes it. The oldest of too many open readings is given up as incomplete.
    pub(super) fn add(
        &mut self,
        part: Part,
        tracker: &mut SequenceTracker,
    ) -> Result<Option<BandTelemetry>, DecodeError> {
        let (sequence, number) = match &part {
            Part::First { reading, more: false } => return Ok(Some(*reading)),
            Part::First { reading, .. } => (reading.sequence, 0),
            Part::Continuation(c) => (c.sequence, c.part),
        };
        let index = match self.open.iter().position(|o| o.sequence == sequence) {
            Some(index) => index,
            None => {
                if self.open.len() == OPEN {
                    let oldest = self.open.remove(0);
                    tracker.spoiled(oldest.sequence, Cause::Incomplete);
                }
                self.open.push(Open {
                    sequence,
                    first: None,
                    extra: Extra::default(),
                    seen: 0,
                    parts: None,
                });
                self.open.len() - 1
            }
        };
        let Some(open) = self.open.get_mut(index) else {
            return Ok(None);
        };
        if open.seen & (1 << number) != 0 {
            // The same part twice says nothing new.
            return Ok(None);
        }
        match part {
            Part::First { reading, .. } => open.first = Some(reading),
            Part::Continuation(c) => {
                open.extra.merge(&c.extra)?;
                open.parts = Some(c.parts);
            }
        }
        open.seen |= 1 << number;
        let complete = open
            .parts
            .is_some_and(|parts| u16::from(open.seen) == (1u16 << parts) - 1);
        let Some(mut reading) = open.first.filter(|_| complete) else {
            return Ok(None);
        };
        reading.extra.merge(&open.extra)?;
        self.open.remove(index);
        Ok(Some(reading))
    }

    /// Nothing more will come for the open readings.
    pub(super) fn flush(&mut self, tracker: &mut SequenceTracker) {
        for open in self.open.drain(..) {
            tracker.spoiled(open.sequence, Cause::Incomplete);
        }
    }
}
