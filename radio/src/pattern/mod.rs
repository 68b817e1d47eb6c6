//! Antenna patterns: analytic ones of 3GPP and ITU-R, and measured ones from files.

pub mod element;
pub mod f1336;
pub mod f699;
pub mod msi;

use crate::range::{Check, RangeError, above};
use crate::units::{Db, Degrees};

/// Level lost by pointing `error` away from the peak of a beam `beamwidth` wide (−3 dB points),
/// 12·(error/beamwidth)².
///
/// Range: error within ±beamwidth (beyond it no parabola describes a beam), beamwidth above 0 to 360°.
/// Source: main lobe of TR 38.901 Table 7.3-1 (seen); real panels follow it to ±0.75 beamwidth.
///
/// # Errors
/// When an input is out of range.
pub fn pointing_loss(error: Degrees, beamwidth: Degrees) -> Result<Db, RangeError> {
    let check = Check("pointing loss");
    let width = check.within(
        "beamwidth",
        beamwidth.0,
        "°",
        above(0.0, 360.0),
        "give the full −3 dB width",
    )?;
    let error = check.within(
        "error",
        error.0,
        "°",
        -width..=width,
        "use the antenna's pattern that far out",
    )?;
    Ok(Db(12.0 * (error / width) * (error / width)))
}
