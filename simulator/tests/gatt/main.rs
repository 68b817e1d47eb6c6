//! The GATT server against the profile document; comments name the requirements.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod client;
mod control;
mod values;
