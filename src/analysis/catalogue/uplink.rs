//! Words about the uplink.

use super::{CALLS, Facts, Measure, NETWORK, Remedy, Situation, Words, Work, look, lower_gain, remedy};
use crate::analysis::Path;
use radio::isolation::times_as_far;
use radio::propagation::free_space_distance;
use radio::{Db, Megahertz};

/// Difference of gains that rules and good practice allow, dB (KDB 935210 D03, from memory).
const MAX_IMBALANCE_DB: f64 = 9.0;
/// Most that a handset sends, dBm (TS 36.101 class 3, from memory).
const HANDSET_DBM: f64 = 23.0;
/// Peaks of a handset's power over its mean, dB: power control and scheduling move it by a dB or two each way.
/// Common practice, no source.
const PEAKS_DB: f64 = 3.0;

/// Whether the uplink alone may be lowered by so much.
fn alone(facts: &Facts<'_>, step: f64) -> bool {
    let known = &facts.known;
    let ahead = known
        .side(Path::Downlink)
        .set_db
        .zip(known.side(Path::Uplink).set_db)
        .map_or(0.0, |(dl, ul)| dl - ul);
    !known.equal_gain && ahead + step < MAX_IMBALANCE_DB - 1.0
}

pub(super) fn noise(facts: &Facts<'_>) -> Words {
    let step = facts.step_db(3.0);
    let mut causes = vec![
        "the cell is near and the uplink has more gain than it needs",
        "uplink gain was set above the downlink's",
    ];
    if facts.situation == Situation::UplinkTurnedUp {
        causes.swap(0, 1);
    }
    let lower = if alone(facts, step) {
        lower_gain(facts, Some(Path::Uplink), step)
    } else {
        lower_gain(facts, None, step)
            .brings(Path::Downlink, Measure::Gain, -step)
            .caution(format!("{NETWORK} {CALLS}"))
    };
    Words {
        meaning: format!(
            "{}: the noise that the unit sends to the base station is above what is allowed or wise; it makes the whole \
             cell deaf, not only this building.",
            facts.place()
        ),
        causes,
        remedies: vec![
            lower.brings(Path::Uplink, Measure::Quiet, step),
            look("Let the uplink mute itself while nobody calls, if the unit can"),
        ],
    }
}

/// Farther than this nobody can keep a handset from the antenna of a room, m. Common practice, no source.
const ROOM_M: f64 = 10.0;

/// What to do with the handset that is too near: metres, if it sends at full power into an antenna without gain, as far
/// as a room goes; and the input at which it is far enough.
fn keep_away(facts: &Facts<'_>, step: f64, times: f64) -> String {
    let input = facts.known.side(Path::Uplink).input_dbm;
    let now = input.zip(facts.known.ul_mhz).and_then(|(input, mhz)| {
        let loss = Db((HANDSET_DBM - input).clamp(0.0, 300.0));
        free_space_distance(Megahertz(mhz), loss).ok()
    });
    let until = input.map_or(String::new(), |input| {
        format!(", until the uplink input reads {:.0} dBm or less", input - step)
    });
    match now.map(|now| now.0) {
        Some(now) if now * times > ROOM_M => format!(
            "Take the handset off the server antenna, behind a wall if need be: {step:.0} dB are more than a room's \
             length brings{until}"
        ),
        Some(now) => format!(
            "Keep handsets {times:.1} times as far from the server antenna, {:.1} m instead of {now:.1} m at full power: \
             {step:.0} dB{until}",
            now * times
        ),
        None => format!("Keep handsets {times:.1} times as far from the server antenna: {step:.0} dB{until}"),
    }
}

pub(super) fn overload(facts: &Facts<'_>) -> Words {
    let lost = facts.figures.shortfall_db.unwrap_or(3.0).max(0.0);
    let step = facts.step_db(3.0) + PEAKS_DB;
    let times = times_as_far(Db(step.clamp(0.0, 60.0)), false).unwrap_or(1.0);
    let work = Work::KeepHandsetsAway {
        band: facts.known.band,
        db: step,
    };
    let brings = |r: Remedy| r.brings(Path::Uplink, Measure::Headroom, step);
    Words {
        meaning: format!(
            "{}: a handset drives the uplink into its limit; others in the building are heard {lost:.0} dB weaker \
             meanwhile.",
            facts.place()
        ),
        causes: vec![
            "a handset lies or is used too near the server antenna",
            "the server antenna hangs within reach of people",
            "uplink gain higher than these rooms need",
        ],
        remedies: vec![
            brings(remedy(work, keep_away(facts, step, times))),
            brings(remedy(
                work,
                format!(
                    "Hang the server antenna higher or aside, {step:.0} dB further from where people sit"
                ),
            ))
            .cost("coverage moves with it")
            .caution("Keep the exposure distance to people."),
            brings(lower_gain(facts, Some(Path::Uplink), step)),
        ],
    }
}

pub(super) fn muted(facts: &Facts<'_>) -> Words {
    let place = facts.place();
    let (what, causes, action) = match facts.situation {
        Situation::AimSafe => (
            "muted because aim-safe is on",
            vec!["aim-safe is on while hands are on the antenna"],
            look("Switch aim-safe off when the antenna is fixed; it also ends by itself"),
        ),
        Situation::Prevented => (
            "switched off by a setting or command; nobody can call through the unit",
            vec!["somebody muted it", "it was left muted after work on the antenna"],
            remedy(
                Work::UnmuteUplink(facts.known.band),
                "Switch the uplink on again at the unit, after checking the loop margin",
            ),
        ),
        _ => (
            "muted because no handset is active; that is normal",
            vec!["nobody calls"],
            look("Nothing to fix: make a normal call and it comes back"),
        ),
    };
    Words {
        meaning: format!("{place}: {what}."),
        causes,
        remedies: vec![action],
    }
}
