//! The words of each finding: meaning, likely causes, remedies with their predicted effect, costs and cautions.
//!
//! Order of action where the loop oscillates: lower gain or mute the uplink, find and fix the cause, restart last.
//! Remedies keep to the kit rule: other antennas, pads or cables only if the unit's maker lists them.

mod change;
mod donor;
mod gain;
mod known;
mod loops;
mod telemetry;
mod unit;
mod uplink;

pub(super) use known::Known;

use super::{Code, Measure, Path, Remedy, Work};
use booster_profile::Reasons;
use radio::Db;
use radio::indoor::{Building, reach_share};

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
    /// The band as it is.
    pub(super) known: Known,
}

impl Facts<'_> {
    /// Band and direction, to begin a sentence with.
    fn place(&self) -> String {
        match self.path {
            Some(path) => format!("{} {}", self.name, path.word()),
            None => self.name.to_owned(),
        }
    }

    /// Whole dB that bring the finding's figure to its limit and keep it there while people move and levels wander.
    fn step_db(&self, where_unknown: f64) -> f64 {
        let missing = self.figures.shortfall_db;
        missing.map_or(where_unknown, |v| (v + SWING_DB).ceil().max(1.0))
    }
}

/// What people and fading move about the mean, dB. Common practice, no source.
const SWING_DB: f64 = 1.0;

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

const NETWORK: &str = "Under US and UK rules the uplink's gain follows the downlink's: lower both.";

/// Fixed attenuators as they are commonly to be had, dB. Common practice, no source.
/// Two in series fill the gaps.
const PADS_DB: [f64; 9] = [1.0, 2.0, 3.0, 6.0, 9.0, 10.0, 13.0, 16.0, 20.0];

/// The smallest attenuator, or two in series, that take away this much; the largest where none does.
fn pad_db(needed: f64) -> f64 {
    PADS_DB.into_iter().find(|p| *p >= needed).unwrap_or(20.0)
}

/// An attenuator in words.
fn pad_words(db: f64) -> String {
    let series = match db as u32 {
        9 => " (6 and 3 in series)",
        13 => " (10 and 3 in series)",
        16 => " (10 and 6 in series)",
        _ => "",
    };
    format!("{db:.0} dB{series}")
}

fn remedy(work: Work, action: impl Into<String>) -> Remedy {
    Remedy::new(work, action)
}

/// Advice that changes nothing at the site.
fn look(action: impl Into<String>) -> Remedy {
    Remedy::new(Work::Look, action)
}

/// What lower gain costs indoors.
fn reach(step: f64) -> String {
    let share = reach_share(Building::Office, Db(step.max(0.0))).unwrap_or(1.0);
    format!("indoors it reaches about {:.0} % as far", share * 100.0)
}

/// Lower gain of a band, in one direction or both.
fn lower_gain(facts: &Facts<'_>, path: Option<Path>, step: f64) -> Remedy {
    let which = match path {
        Some(path) => format!("the {} gain of {}", path.word(), facts.name),
        None => format!("the gain of {}, both directions,", facts.name),
    };
    let work = Work::LowerGain {
        band: facts.known.band,
        path,
        db: step,
    };
    remedy(work, format!("Lower {which} by {step:.0} dB"))
        .cost(format!("{step:.0} dB less gain: {}", reach(step)))
        .caution(CALLS)
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
mod tests;
