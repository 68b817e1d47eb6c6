//! What an aim says in words.

use crate::aiming::{Plan, Prompt, Safety};

/// Before the first turn. Local codes and licensed practice come first.
const CAUTIONS: [&str; 4] = [
    "Roof and ladder work: not alone, not in wind, ice or lightning; keep clear of power lines by the length of mast and \
     antenna plus what your utility requires. Local codes and licensed practice come first.",
    "Do not stand in front of other transmitters' antennas. Before each dwell step behind the antenna, hands off.",
    "Aiming can cut a call, an emergency call too.",
    "Tighten the mount at the end, then check the level again.",
];

/// Where the program may not hold the unit down.
const BY_HAND: &str = "Switch the uplink off and hold the gain down at the unit before you turn: pointed at the server antenna it would \
     oscillate and radiate. This program does not do it (--allow-control lets it); it shows what the unit says of it.";

/// Where it may.
const HELD: &str = "Aim-safe is asked for before the first turn: uplink off and gain held down. The unit restores itself 10 min after it \
     was asked last, or sooner at its own button.";

/// What to mind before the first turn, on stderr.
pub(super) fn cautions(allow_control: bool) {
    CAUTIONS.iter().for_each(|caution| eprintln!("{caution}"));
    eprintln!("{}", if allow_control { HELD } else { BY_HAND });
}

/// At the end of an aim whose unit is still held down.
pub(super) fn still_on(safety: Safety) -> String {
    format!(
        "aim-safe is still {}. Hands off the antenna and clear of it first; then end it at the unit, or let it run out",
        safety.words()
    )
}

/// How to end aim-safe on purpose.
pub(super) const HOW_TO_END: &str = "To end aim-safe now: hands off and clear of the antenna, press the unit's button, type end and Enter. Enter alone \
     leaves it to run out.";

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
