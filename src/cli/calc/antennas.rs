//! Antenna patterns, and where a beam points.

use radio::beam::{Point, known_width_peak};
use radio::pattern::element::parabolic_cut;
use radio::pattern::f1336::directional_gain;
use radio::{Bearing, Db, Dbi, Dbm, Degrees};

use super::args::required;
use super::{Args, CalcError, Calculator, Outcome};

pub static PATTERN: Calculator = Calculator {
    name: "pattern",
    about: "gain of a sector antenna off its axis (3GPP)",
    inputs: &[required("phi_deg"), required("phi3_deg"), required("am_db")],
    outputs: &["gain_db"],
    example: "phi_deg=40 phi3_deg=65 am_db=30",
    evaluate: pattern,
};

fn pattern(args: &Args) -> Result<Outcome, CalcError> {
    let [angle, width] = [
        Degrees(args.number("phi_deg")?),
        Degrees(args.number("phi3_deg")?),
    ];
    let gain = parabolic_cut(angle, width, Db(args.number("am_db")?))?;
    Ok(Outcome::new(
        "−min(12·(φ/φ3)², Am), relative to the peak",
        "3GPP TR 38.901 Table 7.3-1 (seen)",
    )
    .with("gain_db", gain.0, "dB"))
}

pub static REFERENCE_PATTERN: Calculator = Calculator {
    name: "reference-pattern",
    about: "gain of a small directional antenna off its axis (ITU-R F.1336)",
    inputs: &[required("g_dbi"), required("phi_deg")],
    outputs: &["gain_dbi"],
    example: "g_dbi=10 phi_deg=120",
    evaluate: reference_pattern,
};

fn reference_pattern(args: &Args) -> Result<Outcome, CalcError> {
    let gain = directional_gain(Dbi(args.number("g_dbi")?), Degrees(args.number("phi_deg")?))?;
    Ok(Outcome::new(
        "φ3 = √(27000·10^(−G/10)); parabola to 1.08·φ3, then shoulder, skirt and −8 dBi",
        "ITU-R F.1336-5 recommends 4.1 (secondary)",
    )
    .with("gain_dbi", gain.0, "dBi")
    .caution("an envelope for planning: the antenna's own pattern wins"))
}

pub static PEAK: Calculator = Calculator {
    name: "peak",
    about: "where a beam peaks, from levels at several bearings",
    inputs: &[required("phi3_deg"), required("points")],
    outputs: &["peak_deg", "sd_deg"],
    example: "phi3_deg=60 points=90:-72.5,105:-70.4,120:-69.9,135:-70.8",
    evaluate: peak,
};

fn peak(args: &Args) -> Result<Outcome, CalcError> {
    let width = Degrees(args.number("phi3_deg")?);
    let pairs = args.number_pairs("points")?;
    let points: Vec<_> = pairs
        .iter()
        .map(|(angle, level)| Point {
            bearing: Bearing::new(*angle),
            level: Dbm(*level),
        })
        .collect();
    let peak = known_width_peak(&points, width)?;
    // Answer in the way the question counts: around 0 where it uses negative angles, else 0 to 360.
    let around_zero = pairs.iter().any(|(angle, _)| *angle < 0.0);
    let bearing = if around_zero {
        (peak.bearing - Bearing::new(0.0)).0
    } else {
        peak.bearing.degrees()
    };
    let farthest = points
        .iter()
        .map(|point| (point.bearing - peak.bearing).abs())
        .fold(Degrees(0.0), Degrees::max);
    Ok(Outcome::new(
        "least squares of A − 12·((φ − φ0)/φ3)² with φ3 known",
        "derived (Kay, Estimation Theory, memory); beam shape of TR 38.901 (seen)",
    )
    .with("peak_deg", bearing, "°")
    .with("sd_deg", peak.sd.map(|sd| sd.0), "°")
    .caution_if(
        peak.sd.is_none(),
        "two points leave no scatter to judge by: measure a third",
    )
    .caution_if(
        peak.outside > Degrees(0.0),
        "the peak lies outside the points: turn further and measure again",
    )
    .caution_if(
        farthest > width * 0.75,
        "points beyond 0.75 beamwidth no longer follow the parabola: leave them out",
    )
    .caution("the scatter of these levels only; reflections and slow wander come on top"))
}
