//! Where a beam points, from levels measured at several bearings.
//!
//! Model: level = A − 12·((φ − φ0)/φ3)² + noise. With the width φ3 known it is linear in φ0, and least squares
//! reaches the Cramér–Rao bound. Derived; Kay, Estimation Theory, chapters 3 and 4 (memory).

use core::f64::consts::SQRT_2;

use crate::circular::circular_mean;
use crate::range::{Check, RangeError, above};
use crate::units::{Bearing, Db, Dbm, Degrees};

/// One level at one bearing.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Point {
    /// Where the antenna pointed.
    pub bearing: Bearing,
    /// What it heard.
    pub level: Dbm,
}

/// The peak of a beam.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Peak {
    /// Where it is.
    pub bearing: Bearing,
    /// Its level.
    pub level: Dbm,
    /// Scatter of single levels about the beam; nothing with two points, which leave none.
    pub residual: Option<Db>,
    /// Standard deviation of the bearing that this scatter makes.
    pub sd: Option<Degrees>,
    /// How far beyond the outermost point the peak lies; 0° inside the scan. Outside it is a guess.
    pub outside: Degrees,
}

/// The peak of a beam of known width (−3 dB, full) through two or more points.
///
/// Range: width above 0 to 180°; points at two or more bearings, all within ±90° of their middle. Real
/// antennas follow the parabola to about ±0.75 width: leave points farther out aside.
///
/// # Errors
/// When there are too few points, or an input is out of range.
pub fn known_width_peak(points: &[Point], width: Degrees) -> Result<Peak, RangeError> {
    let check = Check("beam peak");
    let width = check.within(
        "beamwidth",
        width.0,
        "°",
        above(0.0, 180.0),
        "give the full −3 dB width",
    )?;
    let count = points.len() as f64;
    let more = "measure at two or more different bearings";
    check.within("number of points", count, "", 2.0..=1e6, more)?;
    let spread = "points must lie within a half circle";
    // Directions that cancel have no mean; any of them is then too far from another.
    let first = points
        .first()
        .map_or_else(Bearing::default, |point| point.bearing);
    let centre = circular_mean(points.iter().map(|point| point.bearing)).unwrap_or(first);

    let mut xs = Vec::with_capacity(points.len());
    for point in points {
        check.within(
            "level",
            point.level.0,
            " dBm",
            -300.0..=100.0,
            "leave unknown levels out",
        )?;
        xs.push(check.within(
            "angle from the middle",
            (point.bearing - centre).0,
            "°",
            -90.0..=90.0,
            spread,
        )?);
    }
    let curvature = 12.0 / (width * width);
    let straight: Vec<f64> = xs
        .iter()
        .zip(points)
        .map(|(x, point)| point.level.0 + curvature * x * x)
        .collect();
    let (mean_x, mean_z) = (
        xs.iter().sum::<f64>() / count,
        straight.iter().sum::<f64>() / count,
    );
    let sxx: f64 = xs.iter().map(|x| (x - mean_x) * (x - mean_x)).sum();
    check.within(
        "spread of the bearings",
        libm::sqrt(sxx / count),
        "°",
        1e-6..,
        more,
    )?;
    let sxz: f64 = xs
        .iter()
        .zip(&straight)
        .map(|(x, z)| (x - mean_x) * (z - mean_z))
        .sum();
    let slope = sxz / sxx;
    let offset = slope / (2.0 * curvature);
    let squares: f64 = xs
        .iter()
        .zip(&straight)
        .map(|(x, z)| {
            let error = z - mean_z - slope * (x - mean_x);
            error * error
        })
        .sum();
    let residual = (points.len() > 2).then(|| libm::sqrt(squares / (count - 2.0)));
    let (low, high) = xs
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), x| {
            (low.min(*x), high.max(*x))
        });
    Ok(Peak {
        bearing: centre + Degrees(offset),
        level: Dbm(mean_z - slope * mean_x + curvature * offset * offset),
        residual: residual.map(Db),
        sd: residual.map(|sigma| Degrees(sigma / (2.0 * curvature * libm::sqrt(sxx)))),
        outside: Degrees((low - offset).max(offset - high).max(0.0)),
    })
}

/// Lowest possible standard deviation of a bearing from `count` levels of scatter `sigma`, `step` apart, with
/// the width known: σ·φ3²/(24·√Sxx).
///
/// Range: σ 0 to 100 dB, width above 0 to 360°, 2 to 1e6 points, step above 0 to 180°.
///
/// # Errors
/// When an input is out of range.
pub fn bearing_bound(sigma: Db, width: Degrees, count: u32, step: Degrees) -> Result<Degrees, RangeError> {
    let check = Check("bound on a bearing");
    let sigma = check.within(
        "scatter",
        sigma.0,
        " dB",
        0.0..=100.0,
        "give the standard deviation",
    )?;
    let width = check.within(
        "beamwidth",
        width.0,
        "°",
        above(0.0, 360.0),
        "give the full −3 dB width",
    )?;
    let n = check.within(
        "number of points",
        f64::from(count),
        "",
        2.0..=1e6,
        "one point shows no direction",
    )?;
    let step = check.within(
        "step",
        step.0,
        "°",
        above(0.0, 180.0),
        "give the angle between two points",
    )?;
    let sxx = step * step * n * (n * n - 1.0) / 12.0;
    Ok(Degrees(sigma * width * width / (24.0 * libm::sqrt(sxx))))
}

/// Relative standard deviation of the curvature when the width is not known but fitted too. Above about 0.25
/// such a fit is not to be trusted. Range: as [`bearing_bound`], from 3 points.
///
/// # Errors
/// When an input is out of range.
pub fn curvature_uncertainty(
    sigma: Db,
    width: Degrees,
    count: u32,
    step: Degrees,
) -> Result<f64, RangeError> {
    bearing_bound(sigma, width, count, step)?;
    let n = Check("fit of a beam's width").within(
        "number of points",
        f64::from(count),
        "",
        3.0..=1e6,
        "a parabola needs three points",
    )?;
    // Sum of squares of φ² about its mean, for equal steps: s⁴·n(n² − 1)(n² − 4)/180.
    let step2 = step.0 * step.0;
    let spread = step2 * step2 * n * (n * n - 1.0) * (n * n - 4.0) / 180.0;
    Ok(sigma.0 / libm::sqrt(spread) * width.0 * width.0 / 12.0)
}

/// Standard deviation of a bearing taken as the middle of the two points `down` below the peak:
/// σ/(√2·slope). Range: σ 0 to 100 dB, width above 0 to 360°, down above 0 to 30 dB.
///
/// # Errors
/// When an input is out of range.
pub fn midpoint_deviation(sigma: Db, width: Degrees, down: Db) -> Result<Degrees, RangeError> {
    let check = Check("bearing from two equal levels");
    let sigma = check.within(
        "scatter",
        sigma.0,
        " dB",
        0.0..=100.0,
        "give the standard deviation",
    )?;
    let width = check.within(
        "beamwidth",
        width.0,
        "°",
        above(0.0, 360.0),
        "give the full −3 dB width",
    )?;
    let down = check.within(
        "depth",
        down.0,
        " dB",
        above(0.0, 30.0),
        "3 or 10 dB below the peak are usual",
    )?;
    let slope = 24.0 * libm::sqrt(down / 12.0) / width;
    Ok(Degrees(sigma / (SQRT_2 * slope)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn beam(peak: f64, width: f64, bearings: &[f64]) -> Vec<Point> {
        bearings
            .iter()
            .map(|b| {
                let bearing = Bearing::new(*b);
                let off = (bearing - Bearing::new(peak)).0 / width;
                Point {
                    bearing,
                    level: Dbm(-70.0 - 12.0 * off * off),
                }
            })
            .collect()
    }

    #[test]
    fn too_little_is_refused() {
        let width = Degrees(60.0);
        assert!(known_width_peak(&[], width).is_err());
        assert!(known_width_peak(&beam(0.0, 60.0, &[10.0]), width).is_err());
        assert!(known_width_peak(&beam(0.0, 60.0, &[10.0, 10.0]), width).is_err());
        assert!(known_width_peak(&beam(0.0, 60.0, &[0.0, 180.0]), width).is_err());
        assert!(known_width_peak(&beam(0.0, 60.0, &[0.0, 10.0]), Degrees(0.0)).is_err());
        let two = known_width_peak(&beam(0.0, 60.0, &[350.0, 10.0]), width).unwrap();
        assert_eq!((two.sd, two.residual), (None, None));
        let mut unknown = beam(0.0, 60.0, &[350.0, 0.0, 10.0]);
        unknown[1].level = Dbm(f64::NAN);
        assert!(known_width_peak(&unknown, width).is_err());
    }

    #[test]
    fn a_peak_beyond_the_scan_is_marked() {
        let peak = known_width_peak(&beam(40.0, 60.0, &[0.0, 10.0, 20.0]), Degrees(60.0)).unwrap();
        assert!((peak.outside.0 - 20.0).abs() < 1e-9);
    }

    proptest! {
        #[test]
        fn a_clean_beam_is_found(peak in 0.0..360.0f64, off in -25.0..25.0f64, width in 20.0..90.0f64) {
            let bearings: Vec<f64> = (-3..=3).map(|k| peak + off + 8.0 * f64::from(k)).collect();
            let found = known_width_peak(&beam(peak, width, &bearings), Degrees(width)).unwrap();
            prop_assert!((found.bearing - Bearing::new(peak)).abs() < Degrees(1e-6));
            prop_assert!((found.level - Dbm(-70.0)).abs() < Db(1e-6));
            prop_assert!(found.sd.unwrap() < Degrees(1e-6));
        }
    }
}
