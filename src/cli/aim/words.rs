//! What an aim says in words.

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
