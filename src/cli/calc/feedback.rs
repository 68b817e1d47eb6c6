//! The loop through both antennas, and where gain control sets in.

use radio::feedback::StableLoop;
use radio::noise::agc_onset;
use radio::{Db, Dbm};

use super::args::required;
use super::{Args, CalcError, Calculator, Outcome};

const SOURCE: &str = "feedback algebra (derived)";

pub static LOOP: Calculator = Calculator {
    name: "loop",
    about: "what a loop margin (isolation - gain) does to the signal",
    inputs: &[required("margin_db")],
    outputs: &[
        "peak_db",
        "dip_db",
        "ripple_db",
        "sinr_cap_db",
        "evm_percent",
        "noise_rise_db",
    ],
    example: "margin_db=10",
    evaluate: stable_loop,
};

fn stable_loop(args: &Args) -> Result<Outcome, CalcError> {
    let feedback = StableLoop::new(Db(args.number("margin_db")?))?;
    Ok(Outcome::new(
        "L = 10^(−M/20); −20·log(1 − L), −20·log(1 + L), 10·log(10^(M/10) − 1), −10·log(1 − L²)",
        SOURCE,
    )
    .with("peak_db", feedback.peak().0, "dB")
    .with("dip_db", feedback.dip().0, "dB")
    .with("ripple_db", feedback.ripple().0, "dB")
    .with("sinr_cap_db", feedback.sinr_cap().0, "dB")
    .with("evm_percent", feedback.evm() * 100.0, "%")
    .with("noise_rise_db", feedback.noise_rise().0, "dB")
    .caution("SINR cap and EVM hold where the phone does not equalise the echo: units with long delay")
    .caution_if(
        feedback.margin() < Db(15.0),
        "15 dB of margin is the usual aim: people and weather move isolation",
    ))
}

pub static LOOP_FROM_RIPPLE: Calculator = Calculator {
    name: "loop-from-ripple",
    about: "loop margin from the ripple of gain over frequency, peak to peak",
    inputs: &[required("ripple_db")],
    outputs: &["margin_db"],
    example: "ripple_db=5.7",
    evaluate: from_ripple,
};

fn from_ripple(args: &Args) -> Result<Outcome, CalcError> {
    let feedback = StableLoop::from_ripple(Db(args.number("ripple_db")?))?;
    Ok(
        Outcome::new("L = (10^(R/20) − 1)/(10^(R/20) + 1), M = −20·log L", SOURCE)
            .with("margin_db", feedback.margin().0, "dB")
            .caution("ripple of filters and of the channel counts as loop ripple: the margin may be better"),
    )
}

pub static GAIN_STEP: Calculator = Calculator {
    name: "gain-step",
    about: "how far output falls beyond a step of gain down, by loop margin",
    inputs: &[required("margin_db"), required("step_db")],
    outputs: &["excess_db"],
    example: "margin_db=6 step_db=-3",
    evaluate: gain_step,
};

fn gain_step(args: &Args) -> Result<Outcome, CalcError> {
    let step = Db(args.number("step_db")?);
    if step > Db(0.0) {
        return Err(CalcError::Refused(format!(
            "gain step: step_db={} raises the gain, which near the limit can start oscillation; \
             step down, for example step_db={}",
            step.0, -step.0
        )));
    }
    let feedback = StableLoop::new(Db(args.number("margin_db")?))?;
    let excess = feedback.gain_step_excess(step)?;
    Ok(Outcome::new("10·log((1 − L1²)/(1 − L2²)), beyond the step itself", SOURCE)
        .with("excess_db", excess.0, "dB")
        .caution("with readings good to 0.3 dB such a test sees margins below about 8 dB; seeing nothing proves none")
        .caution("a gain change can cut a live call"))
}

pub static AGC_ONSET: Calculator = Calculator {
    name: "agc-onset",
    about: "input level at which a unit starts to lower its gain",
    inputs: &[required("rated_output_dbm"), required("max_gain_db")],
    outputs: &["input_dbm"],
    example: "rated_output_dbm=17 max_gain_db=65",
    evaluate: onset,
};

fn onset(args: &Args) -> Result<Outcome, CalcError> {
    let level = agc_onset(
        Dbm(args.number("rated_output_dbm")?),
        Db(args.number("max_gain_db")?),
    )?;
    Ok(Outcome::new("rated output − gain in effect", "derived")
        .with("input_dbm", level.0, "dBm")
        .caution(
            "composite level of everything in the band, per band; with less gain in effect it is higher",
        ))
}
