//! Noise, and how many samples a series is worth.

use radio::limits::us::noise_limit;
use radio::noise::{base_station_noise_rise, noise_floor, uplink_noise};
use radio::samples::effective_samples;
use radio::{Db, Dbm, Megahertz};

use super::args::{default, optional, required};
use super::{Args, CalcError, Calculator, Outcome};

pub static UPLINK_NOISE: Calculator = Calculator {
    name: "uplink-noise",
    about: "noise a unit sends towards the base station, and what it does there",
    inputs: &[
        required("noise_figure_db"),
        required("gain_db"),
        optional("rssi_dbm"),
        optional("coupling_loss_db"),
        optional("cell_noise_figure_db"),
    ],
    outputs: &["noise_dbm_mhz", "limit_dbm_mhz", "rise_db"],
    example: "noise_figure_db=5 gain_db=70 coupling_loss_db=90 cell_noise_figure_db=3",
    evaluate: uplink,
};

fn uplink(args: &Args) -> Result<Outcome, CalcError> {
    let noise = uplink_noise(Db(args.number("noise_figure_db")?), Db(args.number("gain_db")?))?;
    let limit = args
        .optional_number("rssi_dbm")?
        .map(|rssi| noise_limit(Dbm(rssi)))
        .transpose()?;
    let cell = (
        args.optional_number("coupling_loss_db")?,
        args.optional_number("cell_noise_figure_db")?,
    );
    let rise = match cell {
        (Some(loss), Some(figure)) => Some(base_station_noise_rise(noise, Db(loss), Db(figure))?),
        (None, None) => None,
        (Some(_), None) => return Err(args.missing("cell_noise_figure_db (it goes with coupling_loss_db)")),
        (None, Some(_)) => return Err(args.missing("coupling_loss_db (it goes with cell_noise_figure_db)")),
    };
    if limit.is_none() && rise.is_none() {
        return Err(args.missing("rssi_dbm, or coupling_loss_db and cell_noise_figure_db,"));
    }
    Ok(Outcome::new(
        "kT + F + G per MHz; limit −103 − RSSI; rise 10·log(1 + noise at the base station / its own)",
        "kTB (derived); limit: 47 CFR 20.21(e)(8)(i)(A)(1) (memory)",
    )
    .with("noise_dbm_mhz", noise.0, "dBm/MHz")
    .with("limit_dbm_mhz", limit.map(|limit| limit.0), "dBm/MHz")
    .with("rise_db", rise.map(|rise| rise.0), "dB")
    .caution_if(
        limit.is_some(),
        "limit of the US rule for consumer boosters, from memory: check local rules",
    )
    .caution_if(
        limit.is_some_and(|limit| noise > limit),
        "above that limit: lower the uplink gain",
    ))
}

pub static NOISE_FLOOR: Calculator = Calculator {
    name: "noise-floor",
    about: "thermal noise in a bandwidth",
    inputs: &[required("bandwidth_hz"), default("noise_figure_db", "0")],
    outputs: &["noise_dbm"],
    example: "bandwidth_hz=5e6 noise_figure_db=6",
    evaluate: floor,
};

fn floor(args: &Args) -> Result<Outcome, CalcError> {
    let bandwidth = Megahertz(args.number("bandwidth_hz")? / 1e6);
    let noise = noise_floor(bandwidth, Db(args.number("noise_figure_db")?))?;
    Ok(
        Outcome::new("kTB at 290 K + F", "Boltzmann's constant (SI), textbook").with(
            "noise_dbm",
            noise.0,
            "dBm",
        ),
    )
}

pub static EFFECTIVE_SAMPLES: Calculator = Calculator {
    name: "effective-samples",
    about: "independent samples a correlated series is worth",
    inputs: &[required("n"), required("rho")],
    outputs: &["n_eff"],
    example: "n=100 rho=0.8",
    evaluate: samples,
};

fn samples(args: &Args) -> Result<Outcome, CalcError> {
    let effective = effective_samples(args.number("n")?, args.number("rho")?)?;
    Ok(Outcome::new(
        "n·(1 − ρ)/(1 + ρ), first-order correlation",
        "Bayley and Hammersley 1946 (derived)",
    )
    .with("n_eff", effective, "")
    .caution_if(
        effective < 2.0,
        "the series is too short for its correlation: measure longer",
    )
    .caution("slow wander, which this leaves out, makes real levels worth less still"))
}
