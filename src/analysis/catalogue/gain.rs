//! Words about gain that is held back or uneven.

use super::loops::more_isolation;
use super::{Facts, Measure, ROOF, Remedy, Words, Work, look, lower_gain, remedy};
use crate::analysis::Path;
use booster_profile::Reasons;

fn isolation_causes(came_about: bool) -> Vec<&'static str> {
    let mut causes = vec![
        "donor and server antenna too near each other",
        "a door, window, vehicle or person in between changed",
    ];
    if came_about {
        causes.reverse();
    }
    causes
}

pub(super) fn held_back(facts: &Facts<'_>) -> Words {
    let place = facts.place();
    let lost = facts.figures.shortfall_db;
    let path = facts.path.unwrap_or(Path::Downlink);
    // What was given up comes back when its reason goes.
    let gives_back = |r: Remedy| match lost {
        Some(lost) => r.brings(path, Measure::Gain, lost),
        None => r,
    };
    let has = |reason| facts.figures.reasons.contains(reason);
    let (why, causes, remedies) = if has(Reasons::ISOLATION) || has(Reasons::GUARD) {
        (
            "the antennas are not isolated enough",
            isolation_causes(facts.came_about),
            vec![gives_back(more_isolation(facts.step_db(3.0)))],
        )
    } else if has(Reasons::HEAT) {
        (
            "it is too hot",
            vec![
                "sun or another device heats it",
                "no room for air around it",
                "fan failed",
            ],
            vec![gives_back(remedy(
                Work::Cool,
                "Give it air and shade; check the fan",
            ))],
        )
    } else if has(Reasons::SUPPLY) {
        (
            "its supply is too weak",
            vec![
                "wrong or failing power supply",
                "supply cable too long or too thin",
            ],
            vec![
                gives_back(remedy(
                    Work::MendSupply,
                    "Measure the supply at the unit under load; use the maker's power supply",
                ))
                .caution("Mains work only by licensed practice."),
            ],
        )
    } else if has(Reasons::RULE) {
        (
            "the rules cap the gain at this donor level; with a strong donor this is normal",
            vec!["strong donor signal: the allowed gain falls with it, dB for dB"],
            vec![look("Nothing to fix, if coverage indoors is good enough")],
        )
    } else if has(Reasons::SETTING) {
        (
            "a setting or command holds it down",
            vec!["aim-safe is on", "attenuation was set at the unit"],
            vec![look(
                "Check the unit's settings, and whether aim-safe is still on",
            )],
        )
    } else if (has(Reasons::INPUT) || has(Reasons::OUTPUT)) && path == Path::Uplink {
        (
            "a handset is strong enough to reach the unit's limit",
            vec![
                "a handset close to the server antenna",
                "uplink gain higher than these rooms need",
            ],
            vec![look(
                "Nothing to fix while it lasts for seconds; otherwise keep handsets away from the server antenna",
            )],
        )
    } else if has(Reasons::INPUT) || has(Reasons::OUTPUT) {
        (
            "the signal is strong enough to reach the unit's limit",
            vec!["strong donor signal", "another carrier in the band"],
            vec![
                look("Nothing to fix while quality indoors is good; otherwise turn the donor antenna off the strongest cell")
                    .caution(ROOF),
            ],
        )
    } else {
        (
            "it gives no reason",
            vec!["a limit that the unit does not report"],
            vec![look("Check the unit's settings")],
        )
    };
    Words {
        meaning: format!("{place}: the unit runs with less gain than was set: {why}."),
        causes,
        remedies,
    }
}

/// Attenuation taken back from the direction with less gain, where its loop and the network allow that much more.
fn raise_other(facts: &Facts<'_>, other: Path, step: f64) -> Option<Remedy> {
    let margin = facts.known.side(other).margin_db()?;
    let quiet = match other {
        Path::Downlink => f64::INFINITY,
        Path::Uplink => facts.known.quiet_db?,
    };
    let room = (margin - facts.known.planned_margin_db).min(quiet) - SPARE_DB;
    let work = Work::RaiseGain {
        band: facts.known.band,
        path: other,
        db: step,
    };
    (room >= step).then(|| {
        remedy(
            work,
            format!(
                "Or take {step:.0} dB of attenuation back from the {}",
                other.word()
            ),
        )
        .brings(other, Measure::Balance, step)
        .caution(format!(
            "Its margin is {margin:.0} dB now and falls by as much: in small steps, watching it."
        ))
    })
}

/// Kept back when gain is raised, dB.
const SPARE_DB: f64 = 2.0;

pub(super) fn imbalance(facts: &Facts<'_>) -> Words {
    let step = facts.figures.shortfall_db.unwrap_or(3.0).round().max(1.0);
    let (more, less) = if facts.figures.uplink_has_more {
        (Path::Uplink, Path::Downlink)
    } else {
        (Path::Downlink, Path::Uplink)
    };
    let lower = lower_gain(facts, Some(more), step).brings(more, Measure::Balance, step);
    Words {
        meaning: format!(
            "{}: uplink and downlink gain differ; handsets hear further than they are heard, or the other way round.",
            facts.name
        ),
        causes: vec![
            "attenuation was set for one direction only",
            "the unit's bands were adjusted one by one",
        ],
        remedies: [Some(lower), raise_other(facts, less, step)]
            .into_iter()
            .flatten()
            .collect(),
    }
}
