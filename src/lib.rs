//! Live diagnostics for stationary cellular signal boosters.
//!
//! One direction of flow, each arrow a plain value: link → sequencer → telemetry → analysis → console, output, report.
//! Everything between link and console is synchronous, clock-free and free of I/O.

pub mod aiming;
pub mod analysis;
pub mod cli;
pub mod config;
pub mod console;
pub mod control;
pub mod event;
pub mod export;
pub mod fold;
pub mod link;
pub mod output;
pub mod replay;
pub mod report;
pub mod sequencer;
pub mod session;
pub mod share;
pub mod suggest;
pub mod telemetry;
