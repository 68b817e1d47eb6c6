//! Words about what the donor antenna hears.

use super::{DC, Facts, KIT, ROOF, Remedy, Situation, Words, pad_db, remedy};

/// An attenuator in the donor line, with what it does in both directions.
fn pad(pad: f64) -> Remedy {
    remedy(format!("Put an attenuator of {pad:.0} dB into the donor line"))
        .effect(pad, pad)
        .cost(format!(
            "{pad:.0} dB worse noise figure and {pad:.0} dB less uplink output; brings nothing in isolation if the unit \
             gives the gain back"
        ))
        .caution(format!("{DC} {KIT}"))
}

/// Turning the antenna so that a strong carrier falls out of its beam.
fn turn_away(from: &str) -> Remedy {
    remedy(format!(
        "Turn the donor antenna so that {from} falls to the side or the back of its pattern, and aim again"
    ))
    .cost("the wanted signal falls a little with it; watch both while turning")
    .caution(ROOF)
}

pub(super) fn overload(facts: &Facts<'_>) -> Words {
    let pad_step = pad_db(facts.figures.shortfall_db.unwrap_or(3.0));
    let starves = facts.figures.spare_db.is_some_and(|spare| spare < pad_step);
    let other = facts.situation == Situation::OtherCarrier;
    let mut causes = vec![
        "the donor antenna looks straight at a near cell",
        "donor antenna gain higher than this site needs",
    ];
    let at = if other { 0 } else { 1 };
    causes.insert(at, "a strong carrier near by that is not the wanted one");
    let from = if other {
        "the strong carrier"
    } else {
        "the strongest cell"
    };
    let mut remedies = vec![turn_away(from)];
    if starves {
        remedies.push(
            remedy("Ask for a filter that passes the wanted carrier only; an attenuator would starve it")
                .caution(KIT),
        );
    } else {
        remedies.insert(0, pad(pad_step));
    }
    remedies.push(
        remedy(
            "Use a donor antenna of less gain, or one with a narrower beam that leaves the strong cell out",
        )
        .caution(KIT),
    );
    Words {
        meaning: format!(
            "{}: the donor input is stronger than the unit can take; it gives up gain and distorts.",
            facts.place()
        ),
        causes,
        remedies,
    }
}

pub(super) fn front_end(facts: &Facts<'_>) -> Words {
    Words {
        meaning: format!(
            "{}: the whole receiver is overloaded, perhaps by something outside its bands; all bands lose gain together.",
            facts.name
        ),
        causes: vec![
            "a strong transmitter near by outside the unit's bands: radio, television, two-way radio",
            "several strong cells together",
        ],
        remedies: vec![
            turn_away("the transmitter"),
            remedy("Put a filter for the unit's bands into the donor line")
                .cost("0.5 to 2 dB of the wanted signal")
                .caution(KIT),
            remedy("Move the donor antenna so that the building stands between it and the transmitter")
                .caution(ROOF),
        ],
    }
}

pub(super) fn near_far(facts: &Facts<'_>) -> Words {
    let whose = if facts.situation == Situation::OwnOperator {
        "another carrier of the same operator, far stronger than the wanted one"
    } else {
        "a mast of another operator near by, in the same band"
    };
    Words {
        meaning: format!(
            "{}: another carrier uses up the headroom; the wanted cell gets {:.0} dB less gain for it.",
            facts.place(),
            facts.figures.shortfall_db.unwrap_or(0.0).max(0.0)
        ),
        causes: vec![
            whose,
            "the donor antenna hears the strong site in its main beam",
            "an indoor cell in or beside the building",
        ],
        remedies: vec![
            turn_away("the strong carrier"),
            remedy("Use a donor antenna with a narrower beam or a better front-to-back ratio").caution(KIT),
            remedy("Move the donor antenna so that the building stands between it and the strong site").caution(ROOF),
            remedy("Use a unit that selects carriers, or a filter; an attenuator would starve the wanted cell as much").caution(KIT),
        ],
    }
}

pub(super) fn weak(facts: &Facts<'_>) -> Words {
    let mut causes = vec![
        "donor antenna not aimed at the best cell",
        "no clear view: building, trees, wrong side of the roof",
        "loss in cable or connectors",
        "no cell of this band near enough",
    ];
    let missing = facts.step_db();
    let aim = remedy("Aim the donor antenna again, stop by stop")
        .cost("some minutes on the roof")
        .caution(ROOF);
    let look =
        remedy("See what changed: something in the view of the antenna, the antenna itself, a connector")
            .effect(missing, None)
            .caution(ROOF);
    let higher = remedy("Move the donor antenna: higher, or 1 to 3 m to the side").caution(ROOF);
    let cable =
        remedy("Check donor cable and connectors; shorten the run or use a better cable").caution(KIT);
    let remedies = match facts.situation {
        Situation::Sudden => {
            causes.insert(
                0,
                "something now stands in the view of the antenna, or a cable came loose",
            );
            vec![look, aim, higher, cable]
        }
        Situation::Slow => {
            causes.insert(0, "water in a connector or an ageing cable");
            vec![cable, look, aim, higher]
        }
        _ => vec![aim, higher, cable],
    };
    Words {
        meaning: format!(
            "{}: too little wanted signal reaches the unit; it mostly amplifies noise.",
            facts.name
        ),
        causes,
        remedies,
    }
}

pub(super) fn noisy(facts: &Facts<'_>) -> Words {
    let equal = facts.situation == Situation::EqualCells;
    let mut causes = vec![
        "interference inside the band: a faulty device near the antenna",
        "the beam takes in several cells",
    ];
    let cells = "several cells on one channel arrive about as strong as each other";
    causes.insert(usize::from(!equal), cells);
    let mut remedies = vec![
        remedy(
            "Switch devices near the donor antenna off one by one and watch SINR: cameras, lamps, power supplies",
        ),
        remedy("Move the donor antenna some metres away from cables and devices").caution(ROOF),
    ];
    let turn = remedy("Aim for quality, not for level: turn until one cell stands out")
        .cost("a few dB of level")
        .caution(ROOF);
    remedies.insert(if equal { 0 } else { 2 }, turn);
    Words {
        meaning: format!(
            "{}: the level is fine, the quality is not; a booster makes noise and signal stronger alike.",
            facts.name
        ),
        causes,
        remedies,
    }
}
