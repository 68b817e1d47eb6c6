//! Words about the loop through the antennas.

use super::{CALLS, Facts, KIT, ROOF, Remedy, Situation, Words, remedy};
use crate::analysis::Path;
use radio::Db;
use radio::feedback::StableLoop;

/// Effect on the path that the finding is about; what it does to the other is not known.
fn on_path(path: Option<Path>, this: f64) -> (Option<f64>, Option<f64>) {
    match path {
        Some(Path::Uplink) => (None, Some(this)),
        _ => (Some(this), None),
    }
}

fn lower_gain(facts: &Facts<'_>) -> Remedy {
    let step = facts.step_db();
    remedy(format!(
        "Lower the gain of {} by {step:.0} dB, both directions together",
        facts.name
    ))
    .effect(step, step)
    .cost(format!(
        "{step:.0} dB less coverage and less uplink reach until the cause is fixed"
    ))
    .caution(CALLS)
}

/// More isolation, and how far apart the antennas would have to be for it in free space (field falls with distance).
fn more_isolation(facts: &Facts<'_>) -> Remedy {
    let step = facts.step_db();
    let (dl, ul) = on_path(facts.path, step);
    let times = Db(step).to_amplitude();
    remedy(format!(
        "Gain {step:.0} dB of isolation: turn the server antenna away from the donor antenna, put a wall or floor \
         between them, or bring them to {times:.1} times their distance"
    ))
    .effect(dl, ul)
    .cost("coverage moves with the server antenna")
    .caution(format!(
        "Keep the exposure distance to people. Isolation figures are for planning: the measured margin wins. {KIT}"
    ))
}

pub(super) fn low_margin(facts: &Facts<'_>) -> Words {
    let ripple = facts
        .figures
        .margin_db
        .and_then(|m| StableLoop::new(Db(m)).ok())
        .map_or(String::new(), |l| {
            format!(
                " At this margin gain ripples by {:.1} dB over frequency.",
                l.ripple().0
            )
        });
    let adapted = facts.situation == Situation::Adapted;
    let hidden = if adapted {
        " The unit keeps its distance only by giving up gain."
    } else {
        ""
    };
    let changed = "a door, window, vehicle or person changed the path between the antennas";
    let near = "donor and server antenna too near each other or in each other's beam";
    Words {
        meaning: format!(
            "{}: isolation between the antennas is too close to the gain; the loop may oscillate.{hidden}{ripple}",
            facts.place()
        ),
        causes: if facts.came_about {
            vec![changed, near, "gain set too high for this building"]
        } else {
            vec![near, changed, "gain set too high for this building"]
        },
        remedies: if adapted {
            vec![more_isolation(facts), lower_gain(facts), behind_roof()]
        } else {
            vec![lower_gain(facts), more_isolation(facts), behind_roof()]
        },
    }
}

fn behind_roof() -> Remedy {
    remedy("Move the donor antenna so that the roof or a wall stands between the two").caution(ROOF)
}

pub(super) fn oscillation(facts: &Facts<'_>, what: &str) -> Words {
    Words {
        meaning: format!("{}: {what}. It can disturb the network.", facts.place()),
        causes: vec![
            "isolation fell below the gain: an antenna moved, a door opened, metal came near",
            "gain set too high for this installation",
            "antennas too near each other",
        ],
        remedies: vec![
            lower_gain(facts),
            remedy("Mute the uplink until the cause is found")
                .cost("no calls through the unit")
                .caution(CALLS),
            remedy("Separate the antennas or put a wall between them, then check the margin").caution(ROOF),
            remedy("Restart the unit only when margin is there again").caution(CALLS),
        ],
    }
}

pub(super) fn latched_off(facts: &Facts<'_>) -> Words {
    Words {
        meaning: format!(
            "{}: the guard gave up after repeated oscillation and keeps this path off.",
            facts.place()
        ),
        causes: vec![
            "isolation too low for the gain that is set",
            "a fault in antenna, cable or connector",
        ],
        remedies: vec![
            remedy("Lower the gain before anything else").cost("less coverage until fixed"),
            remedy("Find and fix the cause: antenna positions, loose connectors, doors").caution(ROOF),
            remedy("Then restart the unit at its button and watch the loop margin").caution(CALLS),
        ],
    }
}
