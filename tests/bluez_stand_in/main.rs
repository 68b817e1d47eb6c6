//! The real Bluetooth stack of the program against a stand-in for BlueZ on a private D-Bus: what no radio is needed
//! for, above all faults. It proves nothing about BlueZ itself; that is what `tests/virtual-radio` is for.
//!
//! Each test runs in a process of its own, because the address of the bus is an environment variable. Needs
//! `dbus-daemon`; where it is absent the tests say so and pass.

#![cfg(target_os = "linux")]
// A failed assumption should stop the test, in its helpers too.
#![allow(clippy::expect_used, clippy::panic)]

mod bus;
mod client;
#[path = "../common/mod.rs"]
mod common;
mod console;
mod faults;
mod messages;
mod ordinary;
mod stand_in;
