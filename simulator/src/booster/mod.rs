//! The booster: amplifiers in their loops, guard, rules, heat, supply, modem, memory, readings.

pub mod amplifier;
mod band;
mod change;
mod control;
pub mod guard;
mod health;
mod lane;
mod log;
mod meter;
mod modem;
pub mod probe;
mod reading;
mod rule;
mod unit;
mod watch;

pub use band::{BandUnit, table_entry};
pub use guard::{Guard, GuardAct};
pub use lane::Lane;
pub use log::{Memory, Ring};
pub use modem::{Measured, Modem};
pub use rule::{RuleInput, allowed_gain};
pub use unit::Unit;
