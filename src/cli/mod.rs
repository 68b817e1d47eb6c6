//! The command line: one module per command.

pub mod calc;
