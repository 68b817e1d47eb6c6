//! What was measured at a stop.

/// Account of a stop over all its visits.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Dwell {
    /// Times the antenna stopped here.
    pub visits: u32,
    /// Seconds of readings.
    pub seconds: f64,
    /// Fresh readings.
    pub readings: u32,
}
