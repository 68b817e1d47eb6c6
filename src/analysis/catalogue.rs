//! The words of each finding: meaning, likely causes, remedies with their predicted effect, costs and cautions.
//!
//! Order of action where the loop oscillates: lower gain or mute the uplink, find and fix the cause, restart last.
//! Remedies keep to the kit rule: other antennas, pads or cables only if the unit's maker lists them.

mod change;
mod donor;
mod gain;
mod loops;
mod telemetry;
mod unit;
mod uplink;

use super::{Code, Path, Remedy};
use booster_profile::Reasons;

/// What remedies are sized by.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Figures {
    /// How many dB are missing to the limit, its headroom included.
    pub(super) shortfall_db: Option<f64>,
    /// How far the wanted signal lies above what it needs, dB.
    pub(super) spare_db: Option<f64>,
    /// Loop margin, dB.
    pub(super) margin_db: Option<f64>,
    /// Why gain is held back.
    pub(super) reasons: Reasons,
    /// The uplink is the direction with more gain.
    pub(super) uplink_has_more: bool,
}

/// What the words depend on beside the code.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) enum Situation {
    /// Nothing special.
    #[default]
    Plain,
    /// The strongest carrier is not the wanted one.
    OtherCarrier,
    /// The other carrier belongs to the wanted operator.
    OwnOperator,
    /// The level fell at once.
    Sudden,
    /// The level fell slowly.
    Slow,
    /// Another cell is about as strong on the same channel.
    EqualCells,
    /// The margin is kept only because the unit gives up gain.
    Adapted,
    /// Somebody set the uplink higher than the downlink.
    UplinkTurnedUp,
    /// Every band fell, cells unchanged.
    AllBands,
    /// One band of several fell.
    OneBand,
    /// Another cell is heard than before.
    CellChanged,
    /// High bands lose more than low ones.
    WorseOnHighBands,
    /// A setting or command prevents it.
    Prevented,
    /// Hands are on the antenna.
    AimSafe,
    /// The bands concerned do not transmit.
    Silent,
    /// The fan stands still.
    FanStands,
    /// The donor port.
    DonorPort,
    /// The server port.
    ServerPort,
    /// The enclosure.
    Enclosure,
    /// Gain is stated above the unit's own maximum.
    GainTooHigh,
    /// A level repeats itself.
    Frozen,
}

/// What the words of a finding depend on.
pub(super) struct Facts<'a> {
    /// Name of the band, or of the unit.
    pub(super) name: &'a str,
    /// Direction.
    pub(super) path: Option<Path>,
    /// Numbers.
    pub(super) figures: Figures,
    /// Circumstances.
    pub(super) situation: Situation,
    /// Things were good before in this session.
    pub(super) came_about: bool,
}

impl Facts<'_> {
    /// Band and direction, to begin a sentence with.
    fn place(&self) -> String {
        match self.path {
            Some(path) => format!("{} {}", self.name, path.word()),
            None => self.name.to_owned(),
        }
    }

    /// Whole dB for a gain step: rounded up, at least 1; 3 where it is not known.
    fn step_db(&self) -> f64 {
        self.figures.shortfall_db.map_or(3.0, |v| v.ceil().max(1.0))
    }
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

/// Fixed attenuators as they are commonly to be had, dB. Common practice, no source.
const PADS_DB: [f64; 7] = [1.0, 2.0, 3.0, 6.0, 10.0, 15.0, 20.0];

/// The smallest attenuator that takes away this much; the largest where none does.
fn pad_db(needed: f64) -> f64 {
    PADS_DB.into_iter().find(|p| *p >= needed).unwrap_or(20.0)
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

/// The words for a finding.
pub(super) fn words(code: Code, facts: &Facts<'_>) -> Words {
    match code {
        Code::DonorOverload => donor::overload(facts),
        Code::FrontEndOverload => donor::front_end(facts),
        Code::NearFar => donor::near_far(facts),
        Code::WeakDonor => donor::weak(facts),
        Code::NoisyDonor => donor::noisy(facts),
        Code::LowLoopMargin => loops::low_margin(facts),
        Code::Oscillation => loops::oscillation(facts, "the loop oscillates; the unit's guard acts"),
        Code::OscillationUnflagged => loops::oscillation(
            facts,
            "the loop behaves as one that oscillates, and the unit does not say so",
        ),
        Code::LatchedOff => loops::latched_off(facts),
        Code::GainHeldBack => gain::held_back(facts),
        Code::GainImbalance => gain::imbalance(facts),
        Code::UplinkNoise => uplink::noise(facts),
        Code::UplinkOverload => uplink::overload(facts),
        Code::UplinkMuted => uplink::muted(facts),
        Code::StepLoss => change::step(facts),
        Code::CreepingLoss => change::creeping(facts),
        Code::SwayingLevel => change::swaying(facts),
        Code::SyncLost => unit::sync_lost(facts),
        Code::HotUnit => unit::hot(facts),
        Code::SupplyDip => unit::supply(facts),
        Code::Restarting => unit::restarting(facts),
        Code::PortFault => unit::port(facts),
        Code::NotAuthorized => unit::not_authorized(facts),
        Code::LossyTelemetry => telemetry::lossy(facts),
        Code::StaleTelemetry => telemetry::stale(facts),
        Code::ImplausibleReading => telemetry::implausible(facts),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const SITUATIONS: [Situation; 21] = [
        Situation::Plain,
        Situation::OtherCarrier,
        Situation::OwnOperator,
        Situation::Sudden,
        Situation::Slow,
        Situation::EqualCells,
        Situation::Adapted,
        Situation::UplinkTurnedUp,
        Situation::AllBands,
        Situation::OneBand,
        Situation::CellChanged,
        Situation::WorseOnHighBands,
        Situation::Prevented,
        Situation::AimSafe,
        Situation::Silent,
        Situation::FanStands,
        Situation::DonorPort,
        Situation::ServerPort,
        Situation::Enclosure,
        Situation::GainTooHigh,
        Situation::Frozen,
    ];

    fn every() -> impl Iterator<Item = (&'static str, Words)> {
        Code::ALL.iter().flat_map(|code| {
            SITUATIONS.into_iter().map(|situation| {
                let facts = Facts {
                    name: "B2",
                    path: Some(Path::Uplink),
                    figures: Figures {
                        shortfall_db: Some(4.2),
                        spare_db: Some(8.0),
                        margin_db: Some(9.0),
                        ..Figures::default()
                    },
                    situation,
                    came_about: false,
                };
                (code.name(), words(*code, &facts))
            })
        })
    }

    #[test]
    fn every_code_has_meaning_causes_and_remedies() {
        for (code, words) in every() {
            assert!(words.meaning.contains("B2"), "{code}");
            assert!(!words.causes.is_empty() && !words.remedies.is_empty(), "{code}");
        }
    }

    #[test]
    fn a_restart_is_never_the_first_remedy_and_always_carries_its_caution() {
        for (code, words) in every() {
            for (i, remedy) in words.remedies.iter().enumerate() {
                if remedy.action.to_lowercase().contains("restart the unit") {
                    let caution = remedy.caution.as_deref().unwrap_or_default();
                    assert!(i > 0 && caution.contains("emergency"), "{code}");
                }
            }
        }
    }

    #[test]
    fn attenuators_carry_the_kit_rule_and_the_check_for_dc() {
        let mut seen = 0;
        for (code, words) in every() {
            for remedy in words
                .remedies
                .iter()
                .filter(|r| r.action.contains("attenuator of"))
            {
                let caution = remedy.caution.as_deref().unwrap_or_default();
                assert!(
                    caution.contains("maker lists") && caution.contains("DC"),
                    "{code}"
                );
                seen += 1;
            }
        }
        assert!(seen > 0);
    }

    #[test]
    fn the_smallest_pad_that_is_enough() {
        assert_eq!(pad_db(4.1), 6.0);
        assert_eq!(pad_db(6.0), 6.0);
        assert_eq!(pad_db(40.0), 20.0);
    }
}
