//! Words about what the donor antenna hears.

use super::{DC, Facts, KIT, Measure, ROOF, Remedy, Situation, Words, Work, pad_db, pad_words, remedy};
use crate::analysis::Path;

/// What turning the antenna's side or back to something brings at most, dB: front-to-back ratio of common donor
/// antennas, 15 to 25 dB. Common practice, no source (FACTS F).
const BACK_DB: f64 = 15.0;
/// What is lost to the wanted signal when a strong carrier beside it must fall, dB.
const SPARE_LEFT_DB: f64 = 3.0;

/// An attenuator in the donor line, with what it does in both directions.
fn pad(pad: f64) -> Remedy {
    remedy(
        Work::Pad(pad),
        format!("Put an attenuator of {} into the donor line", pad_words(pad)),
    )
    .brings(Path::Downlink, Measure::Headroom, pad)
    .brings(Path::Uplink, Measure::Signal, -pad)
    .cost(format!(
        "{pad:.0} dB worse noise figure on every band and {pad:.0} dB less uplink output; brings nothing in isolation where \
         gain control gives the gain back"
    ))
    .caution(format!("{DC} {ROOF} {KIT}"))
}

/// Headroom that an attenuator may do without where the line can spare no more, dB.
const HEADROOM_GIVEN_UP_DB: f64 = 2.0;

/// Turning the antenna so that a strong carrier falls out of its beam.
fn turn_away(from: &str) -> Remedy {
    remedy(
        Work::TurnAway,
        format!("Turn the donor antenna so that {from} falls to the side or the back of its pattern, and aim again"),
    )
    .cost("the wanted signal falls a little with it; watch both while turning")
    .caution(ROOF)
}

/// The building between the antenna and what is too strong.
fn shield(from: &str) -> Remedy {
    remedy(
        Work::Shield,
        format!("Move the donor antenna so that the building stands between it and {from}"),
    )
    .caution(ROOF)
}

fn filter(action: &str) -> Remedy {
    remedy(Work::Filter, action)
        .cost("0.5 to 2 dB of the wanted signal")
        .caution(format!("{KIT} {ROOF}"))
}

/// What to do about a carrier that is not the wanted one, `need` dB too strong: turning as far as it goes, else the
/// building, else a filter.
fn against_other_carrier(need: f64) -> Vec<Remedy> {
    let mut remedies = vec![
        turn_away("the strong carrier"),
        shield("the strong site"),
        filter(
            "Use a filter or a unit that passes the wanted carrier only; an attenuator would starve it as much",
        ),
        remedy(
            Work::ChangeAntenna,
            "Use a donor antenna with a narrower beam or a better front-to-back ratio",
        )
        .caution(KIT),
    ];
    if need > BACK_DB {
        remedies.rotate_left(1);
    }
    remedies
}

pub(super) fn overload(facts: &Facts<'_>) -> Words {
    let needed = facts.figures.shortfall_db.unwrap_or(SPARE_LEFT_DB);
    let known = &facts.known;
    let spare = [facts.figures.spare_db, known.line_spare_db]
        .into_iter()
        .flatten();
    let spare = spare.reduce(f64::min);
    // Rather less headroom than a band that is starved: the line is common to all.
    let pad_step = match spare {
        Some(spare) if spare < pad_db(needed) => pad_db(needed - HEADROOM_GIVEN_UP_DB),
        _ => pad_db(needed),
    };
    let starves = spare.is_some_and(|spare| spare < pad_step);
    let other = facts.situation == Situation::OtherCarrier;
    let mut causes = vec![
        "the donor antenna looks straight at a near cell",
        "donor antenna gain higher than this site needs",
    ];
    let at = if other { 0 } else { 1 };
    causes.insert(at, "a strong carrier near by that is not the wanted one");
    let remedies = if other {
        let beyond = known.side(Path::Downlink).beyond_onset_db();
        let mut remedies = against_other_carrier(beyond.unwrap_or(needed));
        if !starves {
            remedies.push(pad(pad_step));
        }
        remedies
    } else {
        let mut remedies = vec![
            turn_away("the strongest cell"),
            remedy(Work::ChangeAntenna, "Use a donor antenna of less gain").caution(KIT),
        ];
        if starves {
            remedies.push(filter(
                "Ask for a filter that passes the wanted carrier only; an attenuator would starve it",
            ));
        } else {
            remedies.insert(0, pad(pad_step));
        }
        remedies
    };
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
            shield("the transmitter"),
            filter("Put a filter for the unit's bands into the donor line"),
        ],
    }
}

pub(super) fn near_far(facts: &Facts<'_>) -> Words {
    let whose = if facts.situation == Situation::OwnOperator {
        "another carrier of the same operator, far stronger than the wanted one"
    } else {
        "a mast of another operator near by, in the same band"
    };
    let need = facts.figures.shortfall_db.unwrap_or(0.0).max(0.0);
    Words {
        meaning: format!(
            "{}: another carrier uses up the headroom; the wanted cell gets {need:.0} dB less gain for it.",
            facts.place(),
        ),
        causes: vec![
            whose,
            "the donor antenna hears the strong site in its main beam",
            "an indoor cell in or beside the building",
        ],
        remedies: against_other_carrier(need),
    }
}

pub(super) fn weak(facts: &Facts<'_>) -> Words {
    let mut causes = vec![
        "donor antenna not aimed at the best cell",
        "no clear view: building, trees, wrong side of the roof",
        "loss in cable or connectors",
        "no cell of this band near enough",
    ];
    // What was there before in this session can be had again, both ways: the path is the same.
    let back = |r: Remedy| match facts.known.fell_db {
        Some(fell) => r.brings_both(Measure::Signal, fell),
        None => r,
    };
    let lost = facts
        .known
        .fell_db
        .map_or(String::new(), |fell| format!(" the {fell:.0} dB that were lost"));
    let aim = remedy(Work::Aim, "Aim the donor antenna again, stop by stop")
        .cost("some minutes on the roof")
        .caution(ROOF);
    let view = back(remedy(
        Work::RestoreView,
        format!("Find{lost}: something in the view of the antenna, the antenna itself, a connector"),
    ))
    .caution(ROOF);
    let higher = remedy(
        Work::Aim,
        "Move the donor antenna: higher, or 1 to 3 m to the side",
    )
    .caution(ROOF);
    let mend = remedy(
        Work::MendLine,
        "Check donor cable and connectors; shorten the run or use a better cable",
    )
    .caution(format!("{KIT} {ROOF}"));
    let remedies = match facts.situation {
        Situation::Sudden => {
            causes.insert(
                0,
                "something now stands in the view of the antenna, or a cable came loose",
            );
            vec![view, aim, higher, mend]
        }
        Situation::Slow => {
            causes.insert(0, "water in a connector or an ageing cable");
            vec![back(mend), view, aim, higher]
        }
        _ => vec![aim, higher, mend],
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
            Work::RemoveInterferer,
            "Switch devices near the donor antenna off one by one and watch SINR: cameras, lamps, power supplies",
        ),
        remedy(
            Work::Shield,
            "Move the donor antenna some metres away from cables and devices",
        )
        .caution(ROOF),
    ];
    let turn = remedy(
        Work::Aim,
        "Aim for quality, not for level: turn until one cell stands out",
    )
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
