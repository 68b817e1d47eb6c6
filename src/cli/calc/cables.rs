//! Cables and what joins them.

use radio::coax::{CONNECTOR_LOSS, Cable};
use radio::mismatch::Reflection;
use radio::{Megahertz, Metres};

use super::args::{default, required};
use super::{Args, CalcError, Calculator, Outcome};

/// RG-58 and RG-213 were fitted to tables that end here.
const FITTED_UP_TO: Megahertz = Megahertz(200.0);

pub static COAX: Calculator = Calculator {
    name: "coax",
    about: "loss of a run of coaxial cable",
    inputs: &[
        required("cable"),
        required("f_mhz"),
        required("length_m"),
        default("connectors", "0"),
    ],
    outputs: &["loss_db"],
    example: "cable=lowloss-400 f_mhz=1900 length_m=15 connectors=2",
    evaluate: coax,
};

fn coax(args: &Args) -> Result<Outcome, CalcError> {
    let cable = args.word("cable", &Cable::ALL.map(|cable| (cable.name(), cable)))?;
    let frequency = Megahertz(args.number("f_mhz")?);
    let connectors = args.whole("connectors", 1000)?;
    let run = cable.loss(frequency, Metres(args.number("length_m")?))?;
    let loss = run + CONNECTOR_LOSS * f64::from(connectors);
    let extrapolated = matches!(cable, Cable::Rg58 | Cable::Rg213) && frequency > FITTED_UP_TO;
    Ok(Outcome::new(
        "length · (a·√f + b·f) + 0.1 dB for each mated pair of connectors",
        "published constants for the size class; connectors: common practice, no source",
    )
    .with("loss_db", loss.0, "dB")
    .shown_as(Some(format!("about {:.1} dB", loss.0)))
    .caution("about: makes differ by 10 to 20 %, old or wet cable loses more; the maker's table wins")
    .caution_if(extrapolated, "this class was fitted up to 200 MHz: expect 10 to 20 % more loss at this frequency")
    .caution_if(
        cable.impedance_ohm() > 50.0,
        "75 Ω cable on a 50 Ω unit loses 0.18 dB more at each end; use it only where the unit's maker lists it",
    ))
}

pub static MISMATCH: Calculator = Calculator {
    name: "mismatch",
    about: "what a standing-wave ratio costs",
    inputs: &[required("vswr")],
    outputs: &["return_loss_db", "mismatch_loss_db"],
    example: "vswr=1.5",
    evaluate: mismatch,
};

fn mismatch(args: &Args) -> Result<Outcome, CalcError> {
    let reflection = Reflection::from_vswr(args.number("vswr")?)?;
    let return_loss = reflection.return_loss();
    Ok(Outcome::new(
        "Γ = (s − 1)/(s + 1); −20·log Γ; −10·log(1 − Γ²)",
        "textbook (derived)",
    )
    .with("return_loss_db", return_loss.map(|loss| loss.0), "dB")
    .with("mismatch_loss_db", reflection.mismatch_loss().0, "dB")
    .caution_if(
        return_loss.is_none(),
        "nothing is reflected: the return loss has no finite value",
    ))
}
