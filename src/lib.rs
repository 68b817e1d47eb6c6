//! Live diagnostics for stationary cellular signal boosters.
