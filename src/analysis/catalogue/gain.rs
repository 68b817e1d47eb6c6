//! Words about gain that is held back or uneven.

use super::{CALLS, Facts, KIT, ROOF, Words, remedy};
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
    let step = facts.step_db();
    let has = |reason| facts.figures.reasons.contains(reason);
    let (why, causes, remedies) = if has(Reasons::ISOLATION) || has(Reasons::GUARD) {
        (
            "the antennas are not isolated enough",
            isolation_causes(facts.came_about),
            vec![
                remedy(format!(
                    "Gain {step:.0} dB of isolation: move or turn the server antenna, put a wall in between"
                ))
                .effect(step, step)
                .cost("coverage moves with the server antenna")
                .caution(KIT),
            ],
        )
    } else if has(Reasons::HEAT) {
        (
            "it is too hot",
            vec![
                "sun or another device heats it",
                "no room for air around it",
                "fan failed",
            ],
            vec![remedy("Give it air and shade; check the fan").effect(step, step)],
        )
    } else if has(Reasons::SUPPLY) {
        (
            "its supply is too weak",
            vec![
                "wrong or failing power supply",
                "supply cable too long or too thin",
            ],
            vec![
                remedy("Measure the supply at the unit under load; use the maker's power supply")
                    .effect(step, step)
                    .caution("Mains work only by licensed practice."),
            ],
        )
    } else if has(Reasons::RULE) {
        (
            "the rules cap the gain at this donor level; with a strong donor this is normal",
            vec!["strong donor signal: the allowed gain falls with it, dB for dB"],
            vec![remedy("Nothing to fix, if coverage indoors is good enough")],
        )
    } else if has(Reasons::SETTING) {
        (
            "a setting or command holds it down",
            vec!["aim-safe is on", "attenuation was set at the unit"],
            vec![remedy(
                "Check the unit's settings, and whether aim-safe is still on",
            )],
        )
    } else if has(Reasons::INPUT) || has(Reasons::OUTPUT) {
        (
            "the signal is strong enough to reach the unit's limit",
            vec!["strong donor signal", "a handset close to the server antenna (uplink)"],
            vec![
                remedy("Nothing to fix while quality indoors is good; otherwise turn the donor antenna off the strongest cell")
                    .caution(ROOF),
            ],
        )
    } else {
        (
            "it gives no reason",
            vec!["a limit that the unit does not report"],
            vec![remedy("Check the unit's settings")],
        )
    };
    Words {
        meaning: format!("{place}: the unit runs with less gain than was set: {why}."),
        causes,
        remedies,
    }
}

pub(super) fn imbalance(facts: &Facts<'_>) -> Words {
    let step = facts.step_db();
    let (more, dl, ul) = if facts.figures.uplink_has_more {
        ("uplink", None, Some(step))
    } else {
        ("downlink", Some(step), None)
    };
    Words {
        meaning: format!(
            "{}: uplink and downlink gain differ; handsets hear further than they are heard, or the other way round.",
            facts.name
        ),
        causes: vec![
            "attenuation was set for one direction only",
            "the unit's bands were adjusted one by one",
        ],
        remedies: vec![
            remedy(format!(
                "Lower the {more} by {step:.0} dB, so that both directions have the same gain"
            ))
            .effect(dl, ul)
            .cost("less reach in that direction")
            .caution(CALLS),
        ],
    }
}
