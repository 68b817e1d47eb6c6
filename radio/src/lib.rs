//! Radio arithmetic for building repeaters.
