//! What rules allow: gain, noise, exposure.

use radio::exposure::{Emission, ReflectionFactor, Tier, safe_distance, us_limit};
use radio::limits::{uk, us};
use radio::{Db, Dbm, Megahertz};

use super::args::{default, optional, required};
use super::{Args, CalcError, Calculator, Outcome, Value};

const CHECK_LOCAL: &str = "information, not advice: check local rules, and have the operator's consent";

pub static US_LIMITS: Calculator = Calculator {
    name: "us-limits",
    about: "gain and noise limits of a fixed consumer booster in the United States",
    inputs: &[required("f_mhz"), optional("rssi_dbm"), optional("mscl_db")],
    outputs: &["max_gain_db", "uplink_gain_limit_db", "noise_limit_dbm_mhz"],
    example: "f_mhz=836.5 rssi_dbm=-60 mscl_db=40",
    evaluate: us_limits,
};

fn us_limits(args: &Args) -> Result<Outcome, CalcError> {
    let frequency = Megahertz(args.number("f_mhz")?);
    let rssi = args.optional_number("rssi_dbm")?.map(Dbm);
    let coupling_loss = args.optional_number("mscl_db")?.map(Db);
    let max_gain = us::max_gain(us::Installation::Fixed, frequency)?;
    let uplink_gain = match (rssi, coupling_loss) {
        (Some(rssi), Some(loss)) => Some(us::uplink_gain_limit(rssi, loss)?),
        _ => None,
    };
    let cap = us::fixed_noise_cap(frequency)?;
    let noise = rssi
        .map(us::noise_limit)
        .transpose()?
        .map_or(cap, |limit| limit.min(cap));
    Ok(Outcome::new(
        "6.5 + 20·log f; −34 − RSSI + MSCL; the lesser of −103 − RSSI and −102.5 + 20·log f",
        "47 CFR 20.21(e)(8)(i) (memory: the numbers were not seen in the rule)",
    )
    .with("max_gain_db", max_gain.0, "dB")
    .with("uplink_gain_limit_db", uplink_gain.map(|gain| gain.0), "dB")
    .with("noise_limit_dbm_mhz", noise.0, "dBm/MHz")
    .caution(CHECK_LOCAL)
    .caution("RSSI is the composite downlink power at the donor port, f the centre of the uplink band")
    .caution_if(
        rssi.is_none(),
        "without rssi_dbm only the limits that do not depend on the donor signal are known",
    )
    .caution_if(
        !us::allowed_uplink(frequency),
        "not in an uplink band of this rule (700 MHz A-E and upper C, SMR, cellular, AWS-1, PCS)",
    ))
}

pub static UK_LIMITS: Calculator = Calculator {
    name: "uk-limits",
    about: "gain limit of a static indoor repeater in the United Kingdom",
    inputs: &[required("rssi_dbm")],
    outputs: &["max_gain_db"],
    example: "rssi_dbm=-60",
    evaluate: uk_limits,
};

fn uk_limits(args: &Args) -> Result<Outcome, CalcError> {
    let gain = uk::max_gain(Dbm(args.number("rssi_dbm")?))?;
    Ok(Outcome::new(
        "min(100 dB, 10 dB − RSSI), equal both ways",
        "SI 2022/595 regulation 16 (seen)",
    )
    .with("max_gain_db", gain.0, "dB")
    .caution(CHECK_LOCAL))
}

pub static EXPOSURE: Calculator = Calculator {
    name: "exposure",
    about: "distance to keep from a transmitting antenna, all bands together",
    inputs: &[
        required("eirp_dbm"),
        required("f_mhz"),
        default("tier", "general"),
        default("reflection", "1"),
    ],
    outputs: &["limit_w_m2", "distance_m"],
    example: "eirp_dbm=30,27 f_mhz=850,1900 tier=general reflection=2.56",
    evaluate: exposure,
};

fn exposure(args: &Args) -> Result<Outcome, CalcError> {
    let tier = args.word(
        "tier",
        &[("general", Tier::General), ("occupational", Tier::Occupational)],
    )?;
    let factor = args.number("reflection")?;
    let reflection = ReflectionFactor::from_power(factor).ok_or_else(|| {
        args.usage(&format!(
            "reflection={factor} is none of 1 (free space), 2.56 (ground), 4 (worst)"
        ))
    })?;
    let (powers, frequencies) = (args.numbers("eirp_dbm")?, args.numbers("f_mhz")?);
    if powers.len() != frequencies.len() {
        return Err(args.usage(&format!(
            "{} values of eirp_dbm and {} of f_mhz; give one of each for every band",
            powers.len(),
            frequencies.len()
        )));
    }
    let emissions = powers
        .iter()
        .zip(&frequencies)
        .map(|(eirp, f)| {
            Ok(Emission {
                eirp: Dbm(*eirp),
                limit: us_limit(tier, Megahertz(*f))?,
            })
        })
        .collect::<Result<Vec<_>, CalcError>>()?;
    let distance = safe_distance(&emissions, reflection)?;
    let limits: Vec<_> = emissions
        .iter()
        .map(|emission| Value::Number(emission.limit.0))
        .collect();
    let limits = if let [only] = &limits[..] {
        only.clone()
    } else {
        Value::List(limits)
    };
    Ok(Outcome::new(
        "Σ reflection·EIRP/(4πR²·limit) = 1",
        "limits: 47 CFR 1.1310 Table 1 (seen); equation: OET-65 (secondary), reflection factors (memory)",
    )
    .with("limit_w_m2", limits, "W/m²")
    .with("distance_m", distance.0, "m")
    .caution(CHECK_LOCAL)
    .caution(
        "keep at least the distance the unit's papers state, 0.2 m as a rule; never stand before an antenna",
    )
    .caution("count every band that can transmit at once, and other transmitters on the roof besides")
    .caution_if(
        reflection == ReflectionFactor::None,
        "no reflection counted: in the worst case (4) it is twice as far",
    ))
}
