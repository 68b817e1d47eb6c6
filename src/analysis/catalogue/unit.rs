//! Words about the unit itself.

use super::{CALLS, Facts, KIT, ROOF, Situation, Words, Work, look, remedy};

pub(super) fn sync_lost(facts: &Facts<'_>) -> Words {
    let silent = facts.situation == Situation::Silent;
    let what = if silent {
        "a TDD band has lost frame synchronisation and is silent until it comes back"
    } else {
        "a TDD band amplifies without frame synchronisation: it transmits while the network listens, and disturbs it"
    };
    let mut remedies = vec![
        remedy(
            Work::RestoreSync,
            "Restore what it synchronises to: the view to the wanted cell, the level of that band",
        )
        .caution(ROOF),
        look("Update the unit's firmware if it goes on transmitting without synchronisation").caution(CALLS),
    ];
    if !silent {
        remedies.insert(
            0,
            remedy(
                Work::SwitchTddOff,
                "Switch the TDD band off, or the unit, until synchronisation is back",
            )
            .cost("no service in that band")
            .caution(CALLS),
        );
    }
    Words {
        meaning: format!("{}: {what}.", facts.name),
        causes: vec![
            "the cell that it takes its timing from is hidden or too weak",
            "the cell changed its frame",
            "a fault in the unit",
        ],
        remedies,
    }
}

pub(super) fn hot(facts: &Facts<'_>) -> Words {
    let (what, causes) = if facts.situation == Situation::FanStands {
        (
            "its fan stands still; it gets hot and will give up gain",
            vec!["the fan failed or is blocked", "dust in the air inlet"],
        )
    } else {
        (
            "it is too hot; it gives up gain to save itself",
            vec![
                "the place is too warm: sun, a ceiling space, another device below it",
                "no room for air around it",
                "fan or cooling fins clogged",
            ],
        )
    };
    Words {
        meaning: format!("{}: {what}.", facts.name),
        causes,
        remedies: vec![
            remedy(
                Work::Cool,
                "Give it air and shade; free the fan and the fins from dust",
            ),
            remedy(Work::Cool, "Move the unit to a cooler place").caution(KIT),
        ],
    }
}

pub(super) fn supply(facts: &Facts<'_>) -> Words {
    Words {
        meaning: format!(
            "{}: its supply voltage sags; it gives up gain and may restart.",
            facts.name
        ),
        causes: vec![
            "wrong or failing power supply",
            "supply cable too long or too thin, a loose plug",
            "the mains sags under another load",
        ],
        remedies: vec![
            remedy(
                Work::MendSupply,
                "Measure the supply at the unit under load; use the maker's power supply",
            )
            .caution("Mains work only by licensed practice."),
            remedy(
                Work::MendSupply,
                "Give the unit an outlet of its own, away from motors",
            ),
        ],
    }
}

pub(super) fn restarting(facts: &Facts<'_>) -> Words {
    Words {
        meaning: format!(
            "{}: it starts again and again; every start cuts calls.",
            facts.name
        ),
        causes: vec![
            "power fails for moments: plug, supply, outlet",
            "the unit protects itself: heat, oscillation",
            "a firmware fault",
        ],
        remedies: vec![
            remedy(
                Work::MendSupply,
                "Check plug and power supply; look at what else is found before each start",
            ),
            look("Report it to the maker with this recording if the supply is sound").caution(CALLS),
        ],
    }
}

pub(super) fn port(facts: &Facts<'_>) -> Words {
    let name = facts.name;
    if facts.situation == Situation::Enclosure {
        return Words {
            meaning: format!("{name}: its enclosure is open or damp."),
            causes: vec!["the lid is not shut", "a cable gland leaks"],
            remedies: vec![
                remedy(Work::ShutEnclosure, "Dry it, shut it and check seals and glands")
                    .caution("Disconnect the supply before opening."),
            ],
        };
    }
    let (port, line, mend) = if facts.situation == Situation::DonorPort {
        ("donor", "the donor line", Work::MendDonorPort)
    } else {
        ("server", "the server line", Work::MendServerPort)
    };
    Words {
        meaning: format!(
            "{name}: the {port} port does not see a matched antenna; power is reflected and signal lost."
        ),
        causes: vec![
            "a connector is loose, wet or badly fitted",
            "the cable is cut or crushed",
            "the antenna is broken, or none is connected",
        ],
        remedies: vec![
            remedy(
                mend,
                format!(
                    "Check {line} from the unit to the antenna: connectors first, then cable, then antenna"
                ),
            )
            .caution(format!("{ROOF} {KIT}")),
        ],
    }
}

pub(super) fn not_authorized(facts: &Facts<'_>) -> Words {
    let mut causes = vec!["not registered yet", "registered for another address or operator"];
    let withdrawn = "authorization withdrawn";
    causes.insert(if facts.came_about { 0 } else { 2 }, withdrawn);
    Words {
        meaning: format!(
            "{}: the operator has not enabled or registered this unit; it must not amplify.",
            facts.name
        ),
        causes,
        remedies: vec![
            look("Register the unit with the operator, or ask the operator for consent").caution(
                "In many countries only the operator may install or permit a repeater: check local law.",
            ),
        ],
    }
}
