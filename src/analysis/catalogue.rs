//! The words of each finding: meaning, likely causes, remedies with their predicted effect, costs and cautions.
//!
//! Order of action where the loop oscillates: lower gain or mute the uplink, find and fix the cause, restart last.
//! Remedies keep to the kit rule: other antennas, pads or cables only if the unit's maker lists them.

use super::{Code, Path, Remedy};
use booster_profile::Reasons;

/// What the words of a finding depend on.
pub(super) struct Facts<'a> {
    /// Name of the band, or of the unit.
    pub(super) name: &'a str,
    /// Direction.
    pub(super) path: Option<Path>,
    /// How many dB are missing.
    pub(super) shortfall_db: Option<f64>,
    /// Why gain is held back.
    pub(super) reasons: Reasons,
}

/// The words of a finding.
pub(super) struct Words {
    pub(super) meaning: String,
    pub(super) causes: Vec<&'static str>,
    pub(super) remedies: Vec<Remedy>,
}

const KIT: &str = "Only antennas, cables and attenuators that the unit's maker lists.";
const ROOF: &str =
    "Roof and ladder work: aim-safe on first, stay clear of power lines, not alone. Local rules come first.";
const CALLS: &str = "Can cut a live call, also to an emergency service: ask first, afterwards confirm the service with a \
                     normal call.";
const DC: &str = "Check first that the line carries no DC for the unit or an amplifier.";

/// Whole dB for an attenuator or a gain step: rounded up, at least 1.
fn step_db(shortfall: Option<f64>) -> f64 {
    shortfall.map_or(3.0, |v| v.ceil().max(1.0))
}

fn remedy(action: impl Into<String>) -> Remedy {
    Remedy {
        action: action.into(),
        dl_effect_db: None,
        ul_effect_db: None,
        cost: None,
        caution: None,
    }
}

impl Remedy {
    fn effect(self, dl: impl Into<Option<f64>>, ul: impl Into<Option<f64>>) -> Self {
        Self {
            dl_effect_db: dl.into(),
            ul_effect_db: ul.into(),
            ..self
        }
    }

    fn cost(self, cost: impl Into<String>) -> Self {
        Self {
            cost: Some(cost.into()),
            ..self
        }
    }

    fn caution(self, caution: impl Into<String>) -> Self {
        Self {
            caution: Some(caution.into()),
            ..self
        }
    }
}

/// Effect on the path that the finding is about, and on the other.
fn on_path(path: Option<Path>, this: f64, other: Option<f64>) -> (Option<f64>, Option<f64>) {
    match path {
        Some(Path::Uplink) => (other, Some(this)),
        _ => (Some(this), other),
    }
}

fn lower_gain(facts: &Facts<'_>) -> Remedy {
    let step = step_db(facts.shortfall_db);
    let (dl, ul) = on_path(facts.path, step, Some(step));
    remedy(format!(
        "Lower the gain of {} by {step:.0} dB, both directions together",
        facts.name
    ))
    .effect(dl, ul)
    .cost(format!(
        "{step:.0} dB less coverage and less uplink reach until the cause is fixed"
    ))
    .caution(CALLS)
}

/// The words for a finding.
pub(super) fn words(code: Code, facts: &Facts<'_>) -> Words {
    let name = facts.name;
    let way = facts.path.map_or("", Path::word);
    let step = step_db(facts.shortfall_db);
    let (meaning, causes, remedies) = match code {
        Code::DonorOverload => (
            format!("{name}: the donor input is stronger than the unit can take; it gives up gain and distorts."),
            vec![
                "the donor antenna looks straight at a near cell",
                "a strong cell of another operator in the same band",
                "donor antenna gain higher than this site needs",
            ],
            vec![
                remedy("Turn the donor antenna off the strongest cell and aim again")
                    .cost("wanted signal falls with it unless the strong cell is another one")
                    .caution(ROOF),
                remedy(format!("Put an attenuator of {step:.0} dB into the donor line"))
                    .effect(step, step)
                    .cost(format!(
                        "{step:.0} dB worse noise figure and {step:.0} dB less uplink output; brings nothing in \
                         isolation if the unit gives the gain back"
                    ))
                    .caution(format!("{DC} {KIT}")),
            ],
        ),
        Code::WeakDonor => (
            format!("{name}: too little wanted signal reaches the unit; it mostly amplifies noise."),
            vec![
                "donor antenna not aimed at the best cell",
                "no clear view: building, trees, wrong side of the roof",
                "loss in cable or connectors",
                "no cell of this band near enough",
            ],
            vec![
                remedy("Aim the donor antenna again, stop by stop").cost("some minutes on the roof").caution(ROOF),
                remedy("Move the donor antenna: higher, or 1 to 3 m to the side").caution(ROOF),
                remedy("Check donor cable and connectors; shorten the run or use a better cable").caution(KIT),
            ],
        ),
        Code::LowLoopMargin => {
            let (dl, ul) = on_path(facts.path, step, None);
            (
                format!("{name} {way}: isolation between the antennas is too close to the gain; the loop may oscillate."),
                vec![
                    "donor and server antenna too near each other or in each other's beam",
                    "a door, window or person changed the path between them",
                    "gain set too high for this building",
                ],
                vec![
                    lower_gain(facts),
                    remedy(format!("Gain {step:.0} dB of isolation: turn or move the server antenna away from the donor"))
                        .effect(dl, ul)
                        .cost("coverage moves with the server antenna")
                        .caution("Keep the exposure distance to people. Isolation figures are for planning: the measured \
                                  margin wins."),
                    remedy("Move the donor antenna so that the roof or a wall stands between the two").caution(ROOF),
                ],
            )
        }
        Code::Oscillation => (
            format!("{name} {way}: the loop oscillates; the unit's guard acts. It can disturb the network."),
            vec![
                "isolation fell below the gain: an antenna moved, a door opened, a cable came loose",
                "gain set too high for this installation",
                "antennas too near each other",
            ],
            vec![
                lower_gain(facts),
                remedy("Mute the uplink until the cause is found").cost("no calls through the unit").caution(CALLS),
                remedy("Separate the antennas or put a wall between them, then check the margin").caution(ROOF),
                remedy("Restart the unit only when margin is there again").caution(CALLS),
            ],
        ),
        Code::LatchedOff => (
            format!("{name} {way}: the guard gave up after repeated oscillation and keeps this path off."),
            vec!["isolation too low for the gain that is set", "a fault in antenna, cable or connector"],
            vec![
                remedy("Lower the gain before anything else").effect(None, None).cost("less coverage until fixed"),
                remedy("Find and fix the cause: antenna positions, loose connectors, doors").caution(ROOF),
                remedy("Then restart the unit at its button and watch the loop margin").caution(CALLS),
            ],
        ),
        Code::GainHeldBack => gain_held_back(facts),
        Code::NotAuthorized => (
            format!("{name}: the operator has not enabled or registered this unit; it must not amplify."),
            vec!["not registered yet", "registered for another address or operator", "authorization withdrawn"],
            vec![
                remedy("Register the unit with the operator, or ask the operator for consent")
                    .caution("In many countries only the operator may install or permit a repeater: check local law."),
            ],
        ),
        Code::LossyTelemetry => (
            format!("{name}: readings are missing; what the screen shows may not be all that happens."),
            vec!["Bluetooth range or a wall in between", "other radios at 2.4 GHz", "this computer is too busy"],
            vec![
                remedy("Move this computer nearer to the unit, in sight of it"),
                remedy("Look at the Link view: it tells where the readings were lost"),
            ],
        ),
        Code::StaleTelemetry => (
            format!("{name}: no reading arrives any more; the values on the screen are old."),
            vec!["out of Bluetooth range", "the unit lost power or restarts", "the Bluetooth service hangs"],
            vec![
                remedy("Move nearer to the unit and see whether its lights are on"),
                remedy("Look at the Link view: it says what the link waits for"),
            ],
        ),
        Code::ImplausibleReading => (
            format!("{name} {way}: values contradict each other; do not build on them."),
            vec!["a faulty detector in the unit", "firmware that reports in wrong units", "a reading that no longer moves"],
            vec![
                remedy("Check with a second instrument before acting on this band"),
                remedy("Restart the unit once; if it stays, report it to the maker with this recording").caution(CALLS),
            ],
        ),
    };
    Words {
        meaning,
        causes,
        remedies,
    }
}

fn gain_held_back(facts: &Facts<'_>) -> (String, Vec<&'static str>, Vec<Remedy>) {
    let name = facts.name;
    let way = facts.path.map_or("", Path::word);
    let meaning = |why: &str| format!("{name} {way}: the unit runs with less gain than was set: {why}.");
    let step = step_db(facts.shortfall_db);
    let has = |reason| facts.reasons.contains(reason);
    if has(Reasons::ISOLATION) || has(Reasons::GUARD) {
        let (dl, ul) = on_path(facts.path, step, None);
        (
            meaning("the antennas are not isolated enough"),
            vec![
                "donor and server antenna too near each other",
                "a door, window or person in between changed",
            ],
            vec![
                remedy(format!(
                    "Gain {step:.0} dB of isolation: move or turn the server antenna, put a wall in between"
                ))
                .effect(dl, ul)
                .cost("coverage moves with the server antenna")
                .caution(KIT),
            ],
        )
    } else if has(Reasons::HEAT) {
        (
            meaning("it is too hot"),
            vec![
                "sun or another device heats it",
                "no room for air around it",
                "fan failed",
            ],
            vec![remedy("Give it air and shade; check the fan")],
        )
    } else if has(Reasons::SUPPLY) {
        (
            meaning("its supply is too weak"),
            vec![
                "wrong or failing power supply",
                "supply cable too long or too thin",
            ],
            vec![
                remedy("Measure the supply at the unit under load; use the maker's power supply")
                    .caution("Mains work only by licensed practice."),
            ],
        )
    } else if has(Reasons::RULE) {
        (
            meaning("the rules cap the gain at this donor level; with a strong donor this is normal"),
            vec!["strong donor signal: the allowed gain falls with it, dB for dB"],
            vec![remedy("Nothing to fix, if coverage indoors is good enough")],
        )
    } else if has(Reasons::SETTING) {
        (
            meaning("a setting or command holds it down"),
            vec!["aim-safe is on", "attenuation was set at the unit"],
            vec![remedy(
                "Check the unit's settings, and whether aim-safe is still on",
            )],
        )
    } else if has(Reasons::INPUT) || has(Reasons::OUTPUT) {
        (
            meaning("the signal is strong enough to reach the unit's limit"),
            vec!["strong donor signal", "a handset close to the server antenna (uplink)"],
            vec![
                remedy("Nothing to fix while quality indoors is good; otherwise turn the donor antenna off the strongest cell")
                    .caution(ROOF),
            ],
        )
    } else {
        (
            meaning("it gives no reason"),
            vec!["a limit that the unit does not report"],
            vec![remedy("Check the unit's settings")],
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn facts(code: Code) -> Words {
        let facts = Facts {
            name: "B2",
            path: Some(Path::Uplink),
            shortfall_db: Some(4.2),
            reasons: Reasons::default(),
        };
        words(code, &facts)
    }

    #[test]
    fn every_code_has_meaning_causes_and_remedies() {
        for code in Code::ALL {
            let words = facts(*code);
            assert!(words.meaning.contains("B2"), "{}", code.name());
            assert!(
                !words.causes.is_empty() && !words.remedies.is_empty(),
                "{}",
                code.name()
            );
        }
    }

    #[test]
    fn a_restart_is_never_the_first_remedy_and_always_carries_its_caution() {
        for code in Code::ALL {
            for (i, remedy) in facts(*code).remedies.iter().enumerate() {
                if remedy.action.to_lowercase().contains("restart the unit") {
                    assert!(i > 0, "{}", code.name());
                    assert!(
                        remedy.caution.as_deref().is_some_and(|c| c.contains("emergency")),
                        "{}",
                        code.name()
                    );
                }
            }
        }
    }
}
