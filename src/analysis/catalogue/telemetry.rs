//! Words about the readings themselves.

use super::{CALLS, Facts, Situation, Words, Work, look, remedy};

pub(super) fn lossy(facts: &Facts<'_>) -> Words {
    Words {
        meaning: format!(
            "{}: readings are missing; what the screen shows may not be all that happens.",
            facts.name
        ),
        causes: vec![
            "Bluetooth range or a wall in between",
            "other radios at 2.4 GHz",
            "this computer is too busy",
        ],
        remedies: vec![
            look("Move this computer nearer to the unit, in sight of it"),
            look("Look at the Link view: it tells where the readings were lost"),
        ],
    }
}

pub(super) fn stale(facts: &Facts<'_>) -> Words {
    Words {
        meaning: format!(
            "{}: no reading arrives any more; the values on the screen are old.",
            facts.name
        ),
        causes: vec![
            "out of Bluetooth range",
            "the unit lost power or restarts",
            "the Bluetooth service hangs",
        ],
        remedies: vec![
            look("Move nearer to the unit and see whether its lights are on"),
            look("Look at the Link view: it says what the link waits for"),
        ],
    }
}

pub(super) fn implausible(facts: &Facts<'_>) -> Words {
    let mut causes = vec![
        "a faulty detector in the unit",
        "firmware that reports in wrong units",
        "a reading that no longer moves",
    ];
    match facts.situation {
        Situation::GainTooHigh => causes.swap(0, 1),
        Situation::Frozen => causes.rotate_right(1),
        _ => {}
    }
    Words {
        meaning: format!(
            "{}: values contradict each other; do not build on them.",
            facts.place()
        ),
        causes,
        remedies: vec![
            look("Check with a second instrument before acting on this band"),
            remedy(
                Work::Restart,
                "Restart the unit once; if it stays, report it to the maker with this recording",
            )
            .caution(CALLS),
        ],
    }
}
