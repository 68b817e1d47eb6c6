//! Words about the uplink.

use super::{CALLS, Facts, Situation, Words, remedy};

pub(super) fn noise(facts: &Facts<'_>) -> Words {
    let step = facts.step_db();
    let mut causes = vec![
        "the cell is near and the uplink has more gain than it needs",
        "uplink gain was set above the downlink's",
    ];
    if facts.situation == Situation::UplinkTurnedUp {
        causes.swap(0, 1);
    }
    Words {
        meaning: format!(
            "{}: the noise that the unit sends to the base station is above what is allowed or wise; it makes the whole \
             cell deaf, not only this building.",
            facts.place()
        ),
        causes,
        remedies: vec![
            remedy(format!(
                "Lower the uplink gain by {step:.0} dB; if the rules want equal gain, lower both"
            ))
            .effect(None, step)
            .cost(format!("{step:.0} dB less uplink reach indoors"))
            .caution(CALLS),
            remedy("Let the uplink mute itself while nobody calls, if the unit can"),
        ],
    }
}

pub(super) fn overload(facts: &Facts<'_>) -> Words {
    let step = facts.step_db();
    Words {
        meaning: format!(
            "{}: a handset drives the uplink into its limit; others in the building are heard {step:.0} dB weaker \
             meanwhile.",
            facts.place()
        ),
        causes: vec![
            "a handset lies or is used too near the server antenna",
            "the server antenna hangs within reach of people",
            "uplink gain higher than these rooms need",
        ],
        remedies: vec![
            remedy("Keep handsets away from the server antenna: twice the distance brings 6 dB")
                .effect(None, step),
            remedy("Hang the server antenna higher or further from where people sit")
                .effect(None, step)
                .cost("coverage moves with it")
                .caution("Keep the exposure distance to people."),
            remedy(format!("Lower the uplink gain by {step:.0} dB"))
                .effect(None, step)
                .cost(format!("{step:.0} dB less uplink reach"))
                .caution(CALLS),
        ],
    }
}

pub(super) fn muted(facts: &Facts<'_>) -> Words {
    let place = facts.place();
    let (what, causes, action) = match facts.situation {
        Situation::AimSafe => (
            "muted because aim-safe is on",
            vec!["aim-safe is on while hands are on the antenna"],
            "Switch aim-safe off when the antenna is fixed; it also ends by itself",
        ),
        Situation::Prevented => (
            "switched off by a setting or command; nobody can call through the unit",
            vec!["somebody muted it", "it was left muted after work on the antenna"],
            "Switch the uplink on again at the unit, after checking the loop margin",
        ),
        _ => (
            "muted because no handset is active; that is normal",
            vec!["nobody calls"],
            "Nothing to fix: make a normal call and it comes back",
        ),
    };
    Words {
        meaning: format!("{place}: {what}."),
        causes,
        remedies: vec![remedy(action)],
    }
}
