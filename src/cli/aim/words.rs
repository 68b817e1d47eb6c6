//! What an aim says in words.

use crate::aiming::{Plan, Prompt};

/// Before the first turn. Local codes and licensed practice come first.
pub(super) const CAUTIONS: [&str; 4] = [
    "Roof and ladder work: not alone, not in wind, ice or lightning; keep clear of power lines by the length of mast and \
     antenna plus what your utility requires. Local codes and licensed practice come first.",
    "Do not stand in front of other transmitters' antennas. Before each dwell step behind the antenna, hands off.",
    "Aiming can cut a call, an emergency call too.",
    "Tighten the mount at the end, then check the level again.",
];

/// Where the program cannot hold the unit down.
pub(super) const BY_HAND: &str = "Switch the uplink off and hold the gain down at the unit before you turn: pointed at the server antenna it would \
     oscillate and radiate. This program does not do it (--allow-control lets it) and cannot see it done.";

/// Where it can.
pub(super) const HELD: &str = "Aim-safe asked for: uplink off and gain held down; the unit restores itself after 10 min without a turn, or sooner \
     at its own button.";

/// What can be typed.
pub(super) const KEYS: &str = "Enter: the antenna rests there; a bearing such as 135: it rests at that one; r: repeat the last dwell; u: undo it; \
     m: hands on the antenna; q: finish";

/// What to do.
pub(super) fn prompt(prompt: Prompt, plan: &Plan) -> String {
    match prompt {
        Prompt::Turn(place) => format!(
            "turn to {:.1}°, step behind the antenna, hands off, then Enter (r: repeat the last dwell, u: undo it, q: \
             finish, or type another bearing)",
            plan.bearings_deg.get(place).copied().unwrap_or_default()
        ),
        Prompt::Hold => "hold".to_owned(),
        Prompt::Settle => "hands off, then Enter: the dwell begins anew".to_owned(),
        Prompt::LinkLost => {
            "the link dropped: this dwell begins anew when it is back; leave the antenna where it is"
                .to_owned()
        }
        Prompt::Done => "done".to_owned(),
    }
}
