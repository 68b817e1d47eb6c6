//! `scan`: boosters in range with the health they advertise.

use super::args::ScanOptions;
use super::exit::Failure;
use crate::link::bluetooth::scan;
use crate::link::command::Unit;
use anyhow::anyhow;
use serde::Serialize;
use std::io::{self, Write};

#[derive(Serialize)]
struct Units {
    units: Vec<UnitLine>,
}

/// A unit in range. What it does not advertise, or what this version cannot read, is null.
#[derive(Serialize)]
struct UnitLine {
    name: Option<String>,
    id: String,
    rssi_dbm: Option<i16>,
    profile_major: Option<u8>,
    attention: Option<&'static str>,
    worst_state: Option<&'static str>,
    loop_margin_db: Option<i8>,
}

impl From<&Unit> for UnitLine {
    fn from(unit: &Unit) -> Self {
        let health = unit.health;
        Self {
            name: unit.name.clone(),
            id: unit.id.clone(),
            rssi_dbm: unit.rssi_dbm,
            profile_major: health.map(|d| d.major),
            attention: health.map(|d| d.attention.name()),
            worst_state: health.map(|d| d.worst_state.name()),
            loop_margin_db: health.and_then(|d| d.loop_margin_db),
        }
    }
}

pub(super) fn run(options: &ScanOptions) -> Result<(), Failure> {
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(1)
        .enable_all()
        .build()?;
    let found = runtime.block_on(scan(options.duration));
    let found = found.map_err(|why| anyhow!("scan: {}: {}. {}", why.state, why.words, why.next_step))?;
    let units: Vec<UnitLine> = found.iter().map(UnitLine::from).collect();
    let mut out = io::stdout().lock();
    if options.json {
        writeln!(out, "{}", serde_json::to_string(&Units { units })?)?;
        return Ok(());
    }
    if units.is_empty() {
        writeln!(
            out,
            "No booster in range. Check that it has power, come within about 10 m, and close other programs that"
        )?;
        writeln!(out, "are connected to it: a connected unit does not advertise.")?;
    }
    for unit in units {
        let or_unknown = |text: Option<String>| text.unwrap_or_else(|| "not known".to_owned());
        writeln!(
            out,
            "{}  {}  attention {}, state {}, loop margin {}, Bluetooth signal {}",
            or_unknown(unit.name),
            unit.id,
            unit.attention.unwrap_or("not known"),
            unit.worst_state.unwrap_or("not known"),
            or_unknown(unit.loop_margin_db.map(|m| format!("{m} dB"))),
            or_unknown(unit.rssi_dbm.map(|r| format!("{r} dBm"))),
        )?;
    }
    Ok(())
}
