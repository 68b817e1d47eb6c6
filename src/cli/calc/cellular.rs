//! Channels, cells and what terminals report of them.

use radio::channel::{Direction, lte, nr};
use radio::quantities::ResourceBlocks;
use radio::report::Quantity;

use super::args::{optional, required};
use super::{Args, CalcError, Calculator, Outcome, Value};

pub static CHANNEL: Calculator = Calculator {
    name: "channel",
    about: "frequency and band of an LTE or NR channel number",
    inputs: &[optional("earfcn"), optional("nr_arfcn")],
    outputs: &["f_mhz", "direction", "band", "bands"],
    example: "earfcn=1575",
    evaluate: channel,
};

fn channel(args: &Args) -> Result<Outcome, CalcError> {
    match (args.given("earfcn"), args.given("nr_arfcn")) {
        (Some(_), None) => lte_channel(args.whole("earfcn", u32::MAX)?),
        (None, Some(_)) => nr_channel(args.whole("nr_arfcn", u32::MAX)?),
        (Some(_), Some(_)) => Err(args.usage("earfcn and nr_arfcn exclude each other; give one of them")),
        (None, None) => Err(args.missing("earfcn (LTE) or nr_arfcn (NR)")),
    }
}

fn lte_channel(number: u32) -> Result<Outcome, CalcError> {
    let channel = lte::channel(number)?;
    Ok(Outcome::new(
        "F = F_low + 0.1·(N − N_offs)",
        "3GPP TS 36.104 clause 5.7.3 (seen)",
    )
    .with("f_mhz", channel.frequency.0, "MHz")
    .with("direction", direction(channel.direction), "")
    .with("band", Value::Count(u32::from(channel.band)), ""))
}

fn nr_channel(number: u32) -> Result<Outcome, CalcError> {
    let frequency = nr::frequency(number)?;
    let candidates = nr::candidates(number);
    let mut directions: Vec<Direction> = Vec::new();
    for candidate in &candidates {
        if !directions.contains(&candidate.direction) {
            directions.push(candidate.direction);
        }
    }
    let agreed = if let [one] = directions[..] {
        direction(one)
    } else {
        Value::Unknown
    };
    let bands = candidates
        .iter()
        .map(|candidate| Value::Word(candidate.band.to_owned()))
        .collect();
    Ok(Outcome::new(
        "F = F_offs + ΔF·(N − N_offs)",
        "3GPP TS 38.104 clause 5.4.2.1 (seen)",
    )
    .with("f_mhz", frequency.0, "MHz")
    .with("direction", agreed, "")
    .with("bands", Value::List(bands), "")
    .caution_if(
        candidates.len() > 1,
        "an NR-ARFCN does not tell its band: these are all that hold it",
    )
    .caution_if(
        candidates.is_empty(),
        "in no band of frequency range 1; range 2 is not in the table",
    ))
}

fn direction(direction: Direction) -> Value {
    let word = match direction {
        Direction::Downlink => "dl",
        Direction::Uplink => "ul",
        Direction::Both => "both",
    };
    Value::Word(word.to_owned())
}

pub static RSSI_RSRP: Calculator = Calculator {
    name: "rssi-rsrp",
    about: "how far RSSI lies above RSRP in a fully loaded cell",
    inputs: &[required("n_rb")],
    outputs: &["difference_db"],
    example: "n_rb=50",
    evaluate: rssi_rsrp,
};

fn rssi_rsrp(args: &Args) -> Result<Outcome, CalcError> {
    // More than 65 535 blocks are as far out of range as that many.
    let blocks = u16::try_from(args.whole("n_rb", u32::MAX)?).unwrap_or(u16::MAX);
    let difference = ResourceBlocks::new(blocks)?.rssi_above_rsrp();
    Ok(Outcome::new("10·log(12·N)", "3GPP TS 36.214 clause 5.1 (seen), derived")
        .with("difference_db", difference.0, "dB")
        .caution("one antenna port, own cell only, fully loaded; two ports add up to 3 dB, other cells and noise more")
        .caution("on NR, power and beam of the synchronisation block shift it by several dB"))
}

pub static REPORT_INDEX: Calculator = Calculator {
    name: "report-index",
    about: "index a terminal reports for a measured value",
    inputs: &[required("quantity"), required("value")],
    outputs: &["index"],
    example: "quantity=lte-rsrp value=-100",
    evaluate: report_index,
};

fn report_index(args: &Args) -> Result<Outcome, CalcError> {
    let quantity = args.word(
        "quantity",
        &Quantity::ALL.map(|quantity| (quantity.name(), quantity)),
    )?;
    let index = quantity.index(args.number("value")?)?;
    Ok(Outcome::new(
        "floor((value − lower edge of index 1)/step) + 1, within the table",
        "3GPP TS 36.133 and TS 38.133 (seen)",
    )
    .with("index", Value::Count(u32::from(index)), ""))
}
