//! Words about the loop through the antennas.

use super::{
    CALLS, DC, Facts, KIT, Measure, ROOF, Remedy, Situation, Words, Work, lower_gain, pad_db, pad_words,
    remedy,
};
use crate::analysis::Path;
use radio::Db;
use radio::feedback::StableLoop;
use radio::isolation::times_as_far;

/// How far isolation may have fallen below the gain, dB, where the unit cannot tell: a loop that oscillates is off, or
/// held at its edge. Common practice, no source.
const BELOW_GAIN_DB: f64 = 3.0;

/// Gain to take away where the isolation is not known: the plan, its hysteresis and swing, and what is below the gain.
fn blind_step_db(facts: &Facts<'_>) -> f64 {
    facts.known.planned_margin_db.max(0.0) + 2.0 + BELOW_GAIN_DB
}

/// Lower gain in both directions, for the margin of both.
fn for_margin(facts: &Facts<'_>, step: f64) -> Remedy {
    lower_gain(facts, None, step).brings_both(Measure::LoopMargin, step)
}

/// More isolation, and how far apart the antennas would have to be for it.
pub(super) fn more_isolation(step: f64) -> Remedy {
    let times = |above| times_as_far(Db(step.clamp(0.0, 60.0)), above).unwrap_or(1.0);
    let (side, above) = (times(false), times(true));
    remedy(
        Work::Isolate(step),
        format!(
            "Gain {step:.0} dB of isolation: turn the server antenna away from the donor antenna, put a wall or floor \
             between them, or bring them to {side:.1} times their distance (10 m to {:.0} m; one above the other {above:.1} \
             times); stop when the unit measures it",
            10.0 * side
        ),
    )
    .brings_both(Measure::LoopMargin, step)
    .cost("coverage moves with the server antenna")
    .caution(format!(
        "Keep the exposure distance to people. Distances are for planning: the measured margin wins. {KIT}"
    ))
}

/// An attenuator in the donor line, for isolation: where gain control holds the gain, it gives it back.
fn pad_for_margin(facts: &Facts<'_>, step: f64) -> Remedy {
    let pad = pad_db(step);
    let kept = |path: Path| {
        let given_up = facts.known.side(path).given_up_db().unwrap_or(0.0).max(0.0);
        (pad - given_up).max(0.0)
    };
    remedy(
        Work::Pad(pad),
        format!("Or put an attenuator of {} into the donor line", pad_words(pad)),
    )
    .brings(Path::Downlink, Measure::LoopMargin, kept(Path::Downlink))
    .brings(Path::Uplink, Measure::LoopMargin, kept(Path::Uplink))
    .cost(format!(
        "{pad:.0} dB worse noise figure on every band, {pad:.0} dB less uplink output; nothing gained where gain control gives \
         the gain back"
    ))
    .caution(format!("{DC} {ROOF} {KIT}"))
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
    let step = facts.step_db(3.0);
    let mut remedies = vec![
        for_margin(facts, step),
        more_isolation(step),
        remedy(
            Work::FindLeak,
            "Move the donor antenna so that the roof or a wall stands between the two",
        )
        .caution(ROOF),
        pad_for_margin(facts, step),
    ];
    if adapted {
        remedies.swap(0, 1);
    }
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
        remedies,
    }
}

pub(super) fn oscillation(facts: &Facts<'_>, what: &str) -> Words {
    let step = facts.step_db(blind_step_db(facts));
    let mut remedies = vec![
        for_margin(facts, step),
        remedy(
            Work::FindLeak,
            "Separate the antennas or put a wall between them, look for what moved, then check the margin",
        )
        .caution(ROOF),
        remedy(Work::Restart, "Restart the unit only when margin is there again").caution(CALLS),
    ];
    if facts.path == Some(Path::Uplink) {
        let mute = remedy(
            Work::MuteUplink(facts.known.band),
            "Or mute the uplink until the cause is found",
        );
        remedies.insert(1, mute.cost("no calls through the unit").caution(CALLS));
    }
    Words {
        meaning: format!("{}: {what}. It can disturb the network.", facts.place()),
        causes: vec![
            "isolation fell below the gain: an antenna moved, a door opened, metal came near",
            "gain set too high for this installation",
            "antennas too near each other",
        ],
        remedies,
    }
}

pub(super) fn latched_off(facts: &Facts<'_>) -> Words {
    let step = facts.step_db(blind_step_db(facts));
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
            for_margin(facts, step),
            remedy(
                Work::FindLeak,
                "Find and fix the cause: antenna positions, loose connectors, doors",
            )
            .caution(ROOF),
            remedy(
                Work::Restart,
                "Then restart the unit at its button and watch the loop margin",
            )
            .caution(CALLS),
        ],
    }
}
