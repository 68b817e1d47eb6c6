//! Loss on the way: free space, into buildings.

use radio::entry::{Insulation, entry_loss};
use radio::propagation::free_space_loss;
use radio::{Degrees, Megahertz, Metres, Probability};

use super::args::{default, required};
use super::{Args, CalcError, Calculator, Outcome};

pub static FREE_SPACE: Calculator = Calculator {
    name: "free-space",
    about: "loss between two antennas in the open",
    inputs: &[required("f_mhz"), required("d_km")],
    outputs: &["loss_db"],
    example: "f_mhz=850 d_km=2.5",
    evaluate: free_space,
};

fn free_space(args: &Args) -> Result<Outcome, CalcError> {
    let distance = Metres(args.number("d_km")? * 1000.0);
    let loss = free_space_loss(Megahertz(args.number("f_mhz")?), distance)?;
    Ok(Outcome::new(
        "20·log(4πd/λ), 32.45 + 20·log f(MHz) + 20·log d(km)",
        "ITU-R P.525 (secondary)",
    )
    .with("loss_db", loss.0, "dB")
    .caution("a clear line of sight; hills, trees and buildings add to it"))
}

pub static ENTRY_LOSS: Calculator = Calculator {
    name: "entry-loss",
    about: "loss into a building, by kind of building and share of cases",
    inputs: &[
        required("f_ghz"),
        default("p", "0.5"),
        required("type"),
        default("elev_deg", "0"),
    ],
    outputs: &["loss_db"],
    example: "f_ghz=1.9 p=0.9 type=1 elev_deg=0",
    evaluate: entry,
};

fn entry(args: &Args) -> Result<Outcome, CalcError> {
    let insulation = args.word(
        "type",
        &[
            ("1", Insulation::Traditional),
            ("2", Insulation::ThermallyEfficient),
            ("traditional", Insulation::Traditional),
            ("efficient", Insulation::ThermallyEfficient),
        ],
    )?;
    let p = args.number("p")?;
    let share = Probability::new(p).ok_or_else(|| {
        CalcError::Refused(format!(
            "building entry loss: p {p} is out of range (0 to 1); use 0.1, 0.5 or 0.9"
        ))
    })?;
    let frequency = Megahertz(args.number("f_ghz")? * 1000.0);
    let loss = entry_loss(insulation, frequency, Degrees(args.number("elev_deg")?), share)?;
    Ok(Outcome::new(
        "power sum of two terms normal in dB and −3 dB",
        "ITU-R P.2109-2 (secondary, checked against the ITU's validation values)",
    )
    .with("loss_db", loss.0, "dB")
    .caution("statistics over whole buildings, not the loss of one wall")
    .caution("plan coverage with p of 0.9 or more, isolation with p of 0.1 or less"))
}
