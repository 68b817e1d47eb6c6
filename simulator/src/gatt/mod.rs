//! The GATT server: the profile as a pure state machine. What a client reads, writes and subscribes to goes in; values
//! come out, each with the moment at which the unit hands it to its radio.

mod attributes;
mod connection;
mod error;
mod push;
mod record_access;

pub use connection::{LinkParameters, Server};
pub use error::AttError;

use arrayvec::ArrayVec;
use booster_profile::Characteristic;

/// A pushed value: the longest of this profile version has 46 bytes.
pub type PushedBytes = ArrayVec<u8, 64>;

/// A value on its way to the client.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Value {
    /// Whose value.
    pub characteristic: Characteristic,
    /// The value.
    pub bytes: PushedBytes,
}

/// Copies bytes into a pushed value; what does not fit is cut, which no value of this version needs.
pub(crate) fn pushed(bytes: &[u8]) -> PushedBytes {
    bytes
        .iter()
        .copied()
        .take(PushedBytes::new_const().capacity())
        .collect()
}
