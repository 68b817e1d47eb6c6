//! Isolation between donor and server antenna.

use radio::entry::Insulation;
use radio::isolation::{ThroughBuilding, VERTICAL_CEILING, Wall, horizontal, vertical};
use radio::{Db, Dbi, Megahertz, Metres};

use super::args::{default, optional, required};
use super::{Args, CalcError, Calculator, Outcome, Value};

const PLANNING: &str = "planning figure without reflections: a measured margin wins";

pub static BUILDING: Calculator = Calculator {
    name: "isolation-building",
    about: "isolation of a donor antenna outside from a server antenna inside",
    inputs: &[
        required("f_mhz"),
        required("d_m"),
        optional("wall"),
        optional("wall_db"),
        default("donor_back_db", "0"),
        default("server_back_db", "0"),
        required("g1_dbi"),
        required("g2_dbi"),
    ],
    outputs: &["isolation_low_db", "isolation_typical_db", "isolation_high_db"],
    example: "f_mhz=1900 d_m=10 wall=traditional donor_back_db=20 server_back_db=10 g1_dbi=10 g2_dbi=5",
    evaluate: through_building,
};

fn through_building(args: &Args) -> Result<Outcome, CalcError> {
    let kinds = [
        ("traditional", Insulation::Traditional),
        ("efficient", Insulation::ThermallyEfficient),
    ];
    let wall = match (args.given("wall"), args.optional_number("wall_db")?) {
        (Some(_), None) => Wall::Kind(args.word("wall", &kinds)?),
        (None, Some(loss)) => Wall::Loss(Db(loss)),
        (Some(_), Some(_)) => return Err(args.usage("wall and wall_db exclude each other; give one of them")),
        (None, None) => return Err(args.missing("wall (traditional, efficient) or wall_db")),
    };
    let plan = ThroughBuilding {
        frequency: Megahertz(args.number("f_mhz")?),
        distance: Metres(args.number("d_m")?),
        wall,
        donor_back: Db(args.number("donor_back_db")?),
        server_back: Db(args.number("server_back_db")?),
        donor_gain: Dbi(args.number("g1_dbi")?),
        server_gain: Dbi(args.number("g2_dbi")?),
    }
    .isolation()?;
    Ok(Outcome::new(
        "free space + wall + suppression of both antennas − gains; wall at p = 0.1, 0.5, 0.9",
        "Friis (derived), ITU-R P.2109-2 (secondary)",
    )
    .with("isolation_low_db", plan.low.0, "dB")
    .with("isolation_typical_db", plan.typical.0, "dB")
    .with("isolation_high_db", plan.high.0, "dB")
    .caution(PLANNING)
    .caution("plan on the low figure; building loss is a statistic of whole buildings")
    .caution_if(
        matches!(wall, Wall::Loss(_)),
        "one figure for the wall: low, typical and high cannot differ",
    ))
}

pub static HORIZONTAL: Calculator = Calculator {
    name: "isolation-horizontal",
    about: "isolation of two antennas side by side in the open",
    inputs: &[
        required("f_mhz"),
        required("d_m"),
        required("g1_dbi"),
        required("g2_dbi"),
    ],
    outputs: &["isolation_db"],
    example: "f_mhz=850 d_m=10 g1_dbi=-5 g2_dbi=0",
    evaluate: side_by_side,
};

fn side_by_side(args: &Args) -> Result<Outcome, CalcError> {
    let isolation = horizontal(
        Megahertz(args.number("f_mhz")?),
        Metres(args.number("d_m")?),
        Dbi(args.number("g1_dbi")?),
        Dbi(args.number("g2_dbi")?),
    )?;
    Ok(Outcome::new(
        "22 + 20·log(d/λ) − (G1 + G2)",
        "co-site formula (memory), equals Friis (derived)",
    )
    .with("isolation_db", isolation.0, "dB")
    .caution(PLANNING)
    .caution(
        "gains are those towards each other; both antennas in each other's far field, same polarisation",
    ))
}

pub static VERTICAL: Calculator = Calculator {
    name: "isolation-vertical",
    about: "isolation of two antennas one above the other",
    inputs: &[required("f_mhz"), required("d_m")],
    outputs: &["isolation_db", "capped"],
    example: "f_mhz=850 d_m=3",
    evaluate: one_above_the_other,
};

fn one_above_the_other(args: &Args) -> Result<Outcome, CalcError> {
    let isolation = vertical(Megahertz(args.number("f_mhz")?), Metres(args.number("d_m")?))?;
    let at_least = isolation.capped.then(|| format!("≥ {} dB", VERTICAL_CEILING.0));
    Ok(Outcome::new(
        "28 + 40·log(d/λ), gains not subtracted",
        "co-site formula (secondary)",
    )
    .with("isolation_db", isolation.formula.0, "dB")
    .shown_as(at_least)
    .with("capped", Value::Flag(isolation.capped), "")
    .caution(PLANNING)
    .caution("dipole-like antennas on one vertical line, no sideways offset"))
}
