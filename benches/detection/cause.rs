//! Whether the first cause that a finding names is the one that was injected.

use booster_simulator::generate::{Family, Site};
use booster_simulator::scenario::Quirk;
use loopmargin::analysis::Finding;

/// Whether the first cause says what was done to the site.
pub fn right_cause(family: Family, site: &Site, finding: &Finding) -> bool {
    let quirk = site.scenario.at.last().and_then(|e| e.quirk);
    let says = match family {
        Family::Healthy => return false,
        Family::DonorOverload if site.scenario.cell.iter().any(|c| c.name == "small-cell") => {
            "a strong carrier near by that is not the wanted one"
        }
        Family::DonorOverload => "the donor antenna looks straight at a near cell",
        Family::FrontEndOverload => "a strong transmitter near by outside",
        Family::NearFar => "a mast of another operator",
        Family::WeakDonor => "something now stands in the view",
        Family::NoisyDonor => "interference inside the band",
        Family::LowLoopMargin | Family::GainHeldBack => "a door, window, vehicle or person",
        Family::Oscillation | Family::OscillationUnflagged => "isolation fell below the gain",
        Family::LatchedOff => "isolation too low for the gain",
        Family::UplinkNoise => "uplink gain was set above",
        Family::UplinkOverload => "a handset lies or is used too near",
        Family::GainImbalance => "attenuation was set for one direction",
        Family::StepLoss => "cable or connector",
        Family::CreepingLoss => "water in a connector",
        Family::SwayingLevel => "the mast or its mount moves",
        Family::SyncLost => "the cell that it takes its timing from",
        Family::HotUnit => "the place is too warm",
        Family::SupplyDip => "wrong or failing power supply",
        Family::Restarting => "power fails for moments",
        Family::PortFault => "a connector is loose",
        Family::NotAuthorized => "authorization withdrawn",
        Family::ImplausibleReading if quirk == Some(Quirk::GainTooHigh) => "firmware that reports",
        Family::ImplausibleReading => "a faulty detector",
    };
    finding.causes.first().is_some_and(|c| c.starts_with(says))
}
