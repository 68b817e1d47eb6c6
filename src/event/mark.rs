//! Marks: what the person at the console says about a moment.

use serde::{Deserialize, Serialize};

/// A moment marked by a person: where the antenna points, where it stands, what was seen. Everything is optional.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Mark {
    /// Bearing of the donor antenna in degrees, 0 to below 360, true or relative as the person chose.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bearing_deg: Option<f64>,
    /// Name of the spot where the antenna stands.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub spot: Option<String>,
    /// Height above ground or roof, in metres.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub height_m: Option<f64>,
    /// Tilt in degrees, downward positive.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tilt_deg: Option<f64>,
    /// Polarisation.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub polarisation: Option<Polarisation>,
    /// Free text.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
}

/// Polarisation of an antenna as mounted.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Polarisation {
    /// Vertical.
    Vertical,
    /// Horizontal.
    Horizontal,
    /// Slanted by 45°.
    Slant,
}
