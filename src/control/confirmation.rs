//! What a person is told before the unit is asked.

use super::{Ask, minutes, name, way};
use crate::telemetry::Identity;
use booster_profile::Direction;

/// Before anything that touches gain, emission or the antenna.
pub const CALLS: &str = "It can cut a live emergency call: ask around first.";
/// What no request can do, and nobody should try another way.
pub const PROTECTION: &str = "Protection functions stay in force; never get round them.";
/// What has to be done at the unit, where emission rises.
pub const PRESENCE: &str = "Only within 2 min after its button was pressed or power applied.";
/// Once it is done.
pub const AFTERWARDS: &str = "Confirm the service with a normal call, not to an emergency number.";

/// What a request does, before it is sent.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Confirmation {
    /// What is asked for.
    pub title: String,
    /// What happens in the downlink.
    pub downlink: String,
    /// What happens in the uplink.
    pub uplink: String,
    /// What to mind, most serious first; empty where nothing can go wrong.
    pub cautions: Vec<&'static str>,
    /// Somebody has to be at the unit: [`PRESENCE`], or when it applies.
    pub presence: Option<&'static str>,
    /// What to do afterwards; empty where nothing is to be done.
    pub afterwards: &'static str,
}

impl Ask {
    /// What a person is told before this is sent.
    pub fn confirmation(self, identity: &Identity) -> Confirmation {
        let (downlink, uplink) = self.both_ways(identity);
        let mut cautions = Vec::new();
        let mut afterwards = "";
        if self.touches_radio() {
            cautions.push(CALLS);
            cautions.extend(self.own_caution());
            cautions.push(PROTECTION);
            afterwards = AFTERWARDS;
        }
        Confirmation {
            title: self.title(identity),
            downlink,
            uplink,
            cautions,
            presence: self.presence(),
            afterwards,
        }
    }

    fn both_ways(self, identity: &Identity) -> (String, String) {
        let both = |text: &str| (text.to_owned(), text.to_owned());
        match self {
            Self::Fast(true) => both("unchanged; the unit reports as often as it can until the link ends"),
            Self::Fast(false) => both("unchanged; the unit reports at its usual interval"),
            Self::AimSafeOn { restore_s } => {
                let until = minutes(restore_s);
                (
                    format!("gain held at its lowest in every band; back by itself after {until}"),
                    format!("off in every band: no calls; back by itself after {until}"),
                )
            }
            Self::AimSafeOff => (
                "gain rises to what was set before, in every band".to_owned(),
                "transmits again, in every band".to_owned(),
            ),
            Self::IsolationTest { band } => {
                let place = band.map_or_else(|| "every band".to_owned(), |b| name(b, identity));
                (
                    format!("{place}: radiates from the server antenna; service may stop"),
                    format!("{place}: radiates from the donor antenna, up to 10 s a band"),
                )
            }
            Self::Attenuation {
                band,
                direction,
                value,
            } => {
                let changed = format!(
                    "{}: gain set falls by {value} from its full value",
                    name(band, identity)
                );
                let unchanged = || format!("unchanged; no longer balanced with the {}", way(direction));
                match direction {
                    Direction::Downlink => (changed, unchanged()),
                    Direction::Uplink => (unchanged(), changed),
                    _ => (changed.clone(), changed),
                }
            }
            Self::Restart => both("what latched off starts again at the gain set; the guard counts anew"),
            Self::Locate { .. } => both("unchanged; the unit blinks"),
        }
    }

    /// A caution of this request alone.
    const fn own_caution(self) -> Option<&'static str> {
        match self {
            Self::AimSafeOn { .. } => Some("It ends by itself: hands off before that, or ask again in time."),
            Self::AimSafeOff => Some("Hands off and clear of the antenna: exposure distance holds again."),
            Self::IsolationTest { .. } => Some("Nobody at either antenna, the exposure distance kept."),
            Self::Attenuation { .. } => Some("Less attenuation is less loop margin: go in steps of 3 dB."),
            Self::Restart => Some("Put right first what made it latch off, or it oscillates again."),
            Self::Fast(_) | Self::Locate { .. } => None,
        }
    }

    const fn presence(self) -> Option<&'static str> {
        match self {
            Self::AimSafeOff | Self::IsolationTest { .. } | Self::Restart => Some(PRESENCE),
            Self::Attenuation { .. } => Some("Less than now: only within 2 min after its button or power."),
            Self::AimSafeOn { .. } => Some("To shorten it: only within 2 min after its button or power."),
            Self::Fast(_) | Self::Locate { .. } => None,
        }
    }
}
