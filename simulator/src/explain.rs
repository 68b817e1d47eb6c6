//! A scenario in words: what it contains, what happens, what should be found.

use crate::scenario::{
    Action, BandSpec, EventSpec, Expectation, Rule, Scenario, Timeline, TransportSpec, Way,
};
use radio::noise::agc_onset;
use radio::{Db, Dbm};
use std::fmt::Write;

/// The scenario in words, for people; several lines, the last with a line break.
pub fn explain(scenario: &Scenario) -> String {
    let mut text = String::new();
    // Writing to a string can't fail.
    let _ = write_all(&mut text, scenario);
    text
}

fn write_all(out: &mut String, s: &Scenario) -> std::fmt::Result {
    writeln!(out, "{}: {}", s.name, s.title)?;
    for line in s.story.trim().lines() {
        writeln!(out, "  {line}")?;
    }
    let unit = &s.unit;
    let rule = match unit.rule {
        Rule::None => "no rule in force",
        Rule::UsWideband => "US wideband rule",
        Rule::UkStaticIndoor => "UK indoor rule",
    };
    writeln!(
        out,
        "\nUnit: {} {}, {rule}, a reading every {} ms{}{}",
        unit.manufacturer,
        unit.model,
        unit.report_ms,
        if unit.self_adapting {
            ", follows its isolation"
        } else {
            ""
        },
        if unit.guard.present {
            ""
        } else {
            ", no oscillation guard"
        },
    )?;
    writeln!(out, "\nBands:")?;
    s.band.iter().try_for_each(|b| band(out, b))?;
    writeln!(out, "\nCells, with the antenna as mounted:")?;
    let world = crate::world::World::new(s, 1);
    for cell in world.cells() {
        let spec = &cell.spec;
        writeln!(
            out,
            "  {:<16} {:<4} channel {:<7} operator {:<6} from {:03.0}°, RSRP {:.0} dBm{}{}",
            spec.name,
            spec.band,
            spec.channel,
            spec.operator,
            spec.bearing_deg,
            cell.mean_rsrp_dbm(),
            if spec.wanted { ", wanted" } else { "" },
            if spec.on { "" } else { ", not yet on the air" },
        )?;
    }
    for h in &s.handset {
        let when = if h.pause_s > 0.0 {
            "now and then"
        } else {
            "all the time"
        };
        let here = if h.on { "" } else { ", not there yet" };
        writeln!(
            out,
            "  handset {} on {}: {:.0} dBm at the server port, {when}{here}",
            h.name, h.band, h.level_dbm
        )?;
    }
    transport(out, &s.transport)?;
    writeln!(out, "\nWhat happens:")?;
    if s.at.is_empty() {
        writeln!(out, "  nothing but wander, traffic and people moving")?;
    }
    s.at.iter().try_for_each(|e| event(out, s, e))?;
    writeln!(out, "\nWhat should be found:")?;
    if s.expect.is_empty() {
        writeln!(out, "  nothing")?;
    }
    s.expect.iter().try_for_each(|e| expectation(out, e))
}

fn band(out: &mut String, b: &BandSpec) -> std::fmt::Result {
    let ul_gain = b.max_ul_gain_db.unwrap_or(b.max_gain_db) - b.attenuation_ul_db;
    let dl_gain = b.max_gain_db - b.attenuation_dl_db;
    let onset =
        agc_onset(Dbm(b.rated_dl_dbm), Db(dl_gain)).map_or_else(|_| "?".to_owned(), |o| format!("{o:.0}"));
    writeln!(
        out,
        "  {:<4} gain {dl_gain:.0} dB down, {ul_gain:.0} dB up; isolation {:.0} and {:.0} dB: margin {:.0} and {:.0} dB; \
         AGC sets in at {onset}, overload at {:.0} dBm",
        b.name,
        b.isolation_dl_db,
        b.isolation_ul_db,
        b.isolation_dl_db - dl_gain,
        b.isolation_ul_db - ul_gain,
        b.overload_dbm(),
    )
}

fn transport(out: &mut String, t: &TransportSpec) -> std::fmt::Result {
    let faults = [
        ("lost", t.loss),
        ("doubled", t.duplicate),
        ("out of order", t.reorder),
        ("cut short", t.truncate),
        ("garbled", t.garble),
    ];
    let mut words: Vec<String> = faults
        .iter()
        .filter(|(_, p)| *p > 0.0)
        .map(|(what, p)| format!("{:.0} % {what}", p * 100.0))
        .collect();
    if t.drop_every_s > 0.0 {
        words.push(format!(
            "dropped about every {:.0} s for {:.0} s",
            t.drop_every_s, t.away_s
        ));
    }
    if t.mtu < 49 {
        words.push(format!("an MTU of {} only, readings are split", t.mtu));
    }
    if t.storm > 1 {
        words.push(format!("every value {} times", t.storm));
    }
    if words.is_empty() {
        Ok(())
    } else {
        writeln!(out, "\nBluetooth link: {}", words.join(", "))
    }
}

fn event(out: &mut String, s: &Scenario, e: &EventSpec) -> std::fmt::Result {
    let what = Timeline::action(s, e).map_or_else(|problem| problem, |a| action(s, &a));
    write!(out, "  at {:>5} s  ", e.s)?;
    if !e.note.is_empty() {
        write!(out, "{}: ", e.note)?;
    }
    write!(out, "{what}")?;
    if let Some(ramp) = e.ramp_s {
        write!(out, ", over {ramp} s")?;
    }
    if let Some(duration) = e.for_s {
        write!(out, ", for {duration} s")?;
    }
    writeln!(out)
}

fn expectation(out: &mut String, e: &Expectation) -> std::fmt::Result {
    write!(out, "  {}", e.code)?;
    if let Some(band) = &e.band {
        write!(out, " on {band}")?;
    }
    match e.direction {
        Some(Way::Dl) => write!(out, ", downlink")?,
        Some(Way::Ul) => write!(out, ", uplink")?,
        None => {}
    }
    write!(out, ", raised between {} and {} s", e.from_s, e.by_s)?;
    if let Some(cleared) = e.cleared_by_s {
        write!(out, ", cleared by {cleared} s")?;
    }
    writeln!(out)
}

fn action(s: &Scenario, action: &Action) -> String {
    let band = |b: &Option<usize>| {
        b.and_then(|i| s.band.get(i))
            .map_or("every band", |b| b.name.as_str())
    };
    let one = |b: &usize| s.band.get(*b).map_or("?", |b| b.name.as_str());
    let cell = |c: &usize| s.cell.get(*c).map_or("?", |c| c.name.as_str());
    let handset = |h: &usize| s.handset.get(*h).map_or("?", |h| h.name.as_str());
    let way = |w: &Option<Way>| match w {
        Some(Way::Dl) => " downlink",
        Some(Way::Ul) => " uplink",
        None => "",
    };
    let is = |good: &bool, yes: &str, no: &str| (if *good { yes } else { no }).to_owned();
    match action {
        Action::Isolation { band: b, way: w, db } => format!("isolation {db:+} dB on {}{}", band(b), way(w)),
        Action::Attenuation { band: b, way: w, db } => {
            format!("attenuation {db:+} dB on {}{}", band(b), way(w))
        }
        Action::FeederLoss { db, db_per_ghz } if *db_per_ghz == 0.0 => format!("donor line loses {db:+} dB"),
        Action::FeederLoss { db, db_per_ghz } => {
            format!("donor line loses {db:+} dB and {db_per_ghz:+} dB per GHz")
        }
        Action::Level {
            cell: Some(c), db, ..
        } => format!("{} {db:+} dB", cell(c)),
        Action::Level {
            operator: Some(o),
            db,
            ..
        } => format!("cells of {o} {db:+} dB"),
        Action::Level { band: b, db, .. } => format!("cells of {} {db:+} dB", band(b)),
        Action::CellOn { cell: c, on } => {
            format!("{} {}", cell(c), is(on, "goes on the air", "goes off the air"))
        }
        Action::Load { cell: c, load } => format!("{} is loaded to {:.0} %", cell(c), load * 100.0),
        Action::Identity { cell: c, identity } => format!("{} takes the identity {identity}", cell(c)),
        Action::HandsetOn { handset: h, on } => format!("{} {}", handset(h), is(on, "comes", "goes")),
        Action::HandsetLevel { handset: h, dbm } => format!("{} at {dbm} dBm", handset(h)),
        Action::Interference {
            band: b,
            dbm: Some(dbm),
        } => format!("interference of {dbm} dBm in {}", one(b)),
        Action::Interference { band: b, dbm: None } => format!("no more interference in {}", one(b)),
        Action::Blocker { dbm: Some(dbm) } => format!("a carrier of {dbm} dBm outside all bands"),
        Action::Blocker { dbm: None } => "no more carrier outside all bands".to_owned(),
        Action::Ambient { c } => format!("air {c:+} °C"),
        Action::Supply { v } => format!("supply at {v} V"),
        Action::Authorization(spec) => format!("authorization: {spec:?}"),
        Action::Sync { band: b, good } => {
            format!(
                "frame synchronisation of {} {}",
                one(b),
                is(good, "is back", "is lost")
            )
        }
        Action::Restart => "the unit restarts".to_owned(),
        Action::Turn { bearing_deg } => format!("the antenna turns to {bearing_deg}°"),
        Action::Button => "somebody presses the button at the unit".to_owned(),
        Action::QuirkOn { quirk, on } => format!("firmware fault {quirk:?} {}", is(on, "begins", "ends")),
        Action::DonorPort(port) => format!("donor port: {port:?}"),
        Action::ServerPort(port) => format!("server port: {port:?}"),
        Action::Enclosure { good } => is(good, "enclosure dry and shut", "enclosure wet or open"),
        Action::Fan { good } => is(good, "the fan turns", "the fan stands"),
        Action::Sway { db, .. } if *db == 0.0 => "the wind drops".to_owned(),
        Action::Sway { db, period_s } => format!("levels swing by ±{db} dB every {period_s} s"),
        Action::Disconnect { away_s } => format!("the connection drops, the unit is away for {away_s} s"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_default_site_reads_well() {
        let text = explain(&Scenario::named(Scenario::DEFAULT).unwrap());
        for words in [
            "B2   gain 65 dB down, 65 dB up; isolation 88 and 90 dB: margin 23 and 25 dB; AGC sets in at -48 dBm",
            "hilltop-b2       B2   channel 900     operator 00101  from 140°, RSRP -88 dBm, wanted",
            "at    40 s  the fire door closes: isolation -12 dB on B2 downlink, over 1.5 s, for 60 s",
            "low-loop-margin on B2, downlink, raised between 40 and 52 s, cleared by 130 s",
        ] {
            assert!(text.contains(words), "{words}\nnot in\n{text}");
        }
    }

    #[test]
    fn every_scenario_can_be_explained() {
        for name in Scenario::names() {
            let text = explain(&Scenario::named(name).unwrap());
            assert!(text.lines().count() > 10 && !text.contains('?'), "{text}");
        }
    }
}
