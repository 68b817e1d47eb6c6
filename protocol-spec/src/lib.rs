//! Codec of the Booster Telemetry Profile.
#![no_std]
