//! Words about levels that changed.

use super::{Facts, KIT, Measure, ROOF, Situation, Words, Work, look, remedy};

pub(super) fn step(facts: &Facts<'_>) -> Words {
    let fell = facts.figures.shortfall_db.unwrap_or(0.0);
    let all = format!(
        "{}: the level of every band fell by about {fell:.0} dB at once and stays there; the cells are the same.",
        facts.name
    );
    let (meaning, causes, remedies) = match facts.situation {
        Situation::CellChanged => (
            format!(
                "{}: the unit hears another cell than before, {fell:.0} dB weaker.",
                facts.name
            ),
            vec![
                "the network: the wanted cell went off the air or was changed",
                "the antenna moved to where another cell is stronger",
            ],
            vec![
                look("Look at the cells heard; ask the operator whether a site is down"),
                remedy(Work::Aim, "Aim again if the new cell stays").caution(ROOF),
            ],
        ),
        Situation::OneBand => (
            format!(
                "{}: the level of this band fell by about {fell:.0} dB at once; the others did not.",
                facts.name
            ),
            vec![
                "the network: the cell of this band was changed or lowered",
                "something stands in the way to this site only",
            ],
            vec![look(
                "Nothing at the cable: the other bands would have fallen too. Ask the operator, watch whether it comes back",
            )],
        ),
        _ => (
            all,
            vec![
                "cable or connector of the donor line came loose or was damaged",
                "the donor antenna moved or was turned",
                "something large now stands in front of the antenna",
            ],
            vec![
                remedy(
                    Work::MendLine,
                    format!(
                        "Check the donor line from the unit to the antenna, connectors first: {fell:.0} dB are to be found"
                    ),
                )
                .brings_both(Measure::Signal, fell)
                .caution(format!("{ROOF} {KIT}")),
                remedy(Work::RestoreView, "See whether the antenna moved, and aim again").caution(ROOF),
            ],
        ),
    };
    Words {
        meaning,
        causes,
        remedies,
    }
}

pub(super) fn creeping(facts: &Facts<'_>) -> Words {
    let fell = facts.figures.shortfall_db.unwrap_or(0.0);
    let water = "water in a connector or cable, or an ageing cable: high bands lose more";
    let view = "something grows or is built into the view of the antenna";
    let causes = if facts.situation == Situation::WorseOnHighBands {
        vec![water, view, "the antenna turns slowly on its mount"]
    } else {
        vec![view, "the antenna turns slowly on its mount", water]
    };
    Words {
        meaning: format!(
            "{}: the level of every band has fallen by about {fell:.0} dB, little by little.",
            facts.name
        ),
        causes,
        remedies: {
            let line = remedy(
                Work::MendLine,
                "Open, dry and seal the outdoor connectors; replace cable that is wet or cracked",
            )
            .brings_both(Measure::Signal, fell)
            .caution(format!("{ROOF} {KIT}"));
            let view = remedy(
                Work::RestoreView,
                "Check the view of the antenna and its mount, then aim again",
            )
            .brings_both(Measure::Signal, fell)
            .caution(ROOF);
            if facts.situation == Situation::WorseOnHighBands {
                vec![line, view]
            } else {
                vec![view, line]
            }
        },
    }
}

pub(super) fn swaying(facts: &Facts<'_>) -> Words {
    Words {
        meaning: format!(
            "{}: the level of every band swings to and fro; readings and aiming are less certain meanwhile.",
            facts.name
        ),
        causes: vec![
            "the mast or its mount moves in the wind",
            "a loose clamp or a long mast without stays",
            "something moves in front of the antenna: a crane, a sail, branches",
        ],
        remedies: vec![
            remedy(
                Work::SteadyMast,
                "Tighten the mount and brace the mast when the weather allows",
            )
            .caution(ROOF),
            look("Do not aim now: wait until the level is still"),
        ],
    }
}
