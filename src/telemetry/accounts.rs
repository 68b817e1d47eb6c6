//! Loss is measured, never guessed: where every expected reading went.

use std::iter::Sum;
use std::ops::AddAssign;

/// Where a reading went that is not there.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Cause {
    /// Sent while connected, and never arrived.
    LostOnAir,
    /// Arrived, and dropped from a full queue on this computer.
    DroppedOnHost,
    /// Arrived, and could not be decoded.
    Malformed,
    /// Arrived in parts of which at least one is missing.
    Incomplete,
    /// In a part of the recording that is damaged.
    Unreadable,
    /// Taken while the unit was restarting or out of reach.
    Outage,
}

/// Accounts in readings. `expected` is counted from sequence numbers alone; that it equals the sum of the parts
/// ([`Accounts::balanced`]) is a test, not a definition.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Accounts {
    /// Span of the sequence numbers.
    pub expected: u64,
    /// Readings received whole.
    pub readings: u64,
    /// See [`Cause::LostOnAir`].
    pub lost_on_air: u64,
    /// See [`Cause::DroppedOnHost`].
    pub dropped_on_host: u64,
    /// See [`Cause::Malformed`].
    pub malformed: u64,
    /// See [`Cause::Incomplete`].
    pub incomplete: u64,
    /// See [`Cause::Unreadable`].
    pub unreadable: u64,
    /// See [`Cause::Outage`].
    pub outage: u64,
    /// Readings that arrived again; beside the identity.
    pub duplicates: u64,
    /// Readings that arrived after a later one; beside the identity (they count as readings).
    pub out_of_order: u64,
}

impl Accounts {
    /// Whether every expected reading is accounted for.
    pub fn balanced(&self) -> bool {
        self.expected == self.readings + self.missing()
    }

    /// Expected readings that are not there, whatever the cause.
    pub fn missing(&self) -> u64 {
        self.lost_on_air
            + self.dropped_on_host
            + self.malformed
            + self.incomplete
            + self.unreadable
            + self.outage
    }

    /// The account of a cause.
    pub(super) fn of(&mut self, cause: Cause) -> &mut u64 {
        match cause {
            Cause::LostOnAir => &mut self.lost_on_air,
            Cause::DroppedOnHost => &mut self.dropped_on_host,
            Cause::Malformed => &mut self.malformed,
            Cause::Incomplete => &mut self.incomplete,
            Cause::Unreadable => &mut self.unreadable,
            Cause::Outage => &mut self.outage,
        }
    }
}

impl AddAssign for Accounts {
    fn add_assign(&mut self, other: Accounts) {
        self.expected += other.expected;
        self.readings += other.readings;
        self.lost_on_air += other.lost_on_air;
        self.dropped_on_host += other.dropped_on_host;
        self.malformed += other.malformed;
        self.incomplete += other.incomplete;
        self.unreadable += other.unreadable;
        self.outage += other.outage;
        self.duplicates += other.duplicates;
        self.out_of_order += other.out_of_order;
    }
}

impl Sum for Accounts {
    fn sum<I: Iterator<Item = Accounts>>(iter: I) -> Accounts {
        iter.fold(Accounts::default(), |mut total, a| {
            total += a;
            total
        })
    }
}
