//! One fault in a healthy site: where, when and how large is drawn; the least sizes are those of design/analysis.md.

mod level;
mod unit;

use super::{Family, Fault};
use crate::rng::Rng;
use crate::scenario::{BandSpec, CellSpec, EventSpec, Scenario, Way};
use crate::world::composite_over_rsrp_db;

/// Draws one fault and writes it into the scenario.
pub(super) fn inject(scenario: &mut Scenario, family: Family, rng: &mut Rng) -> Option<Fault> {
    let band = if family == Family::SyncLost {
        0
    } else {
        rng.below(scenario.band.len())
    };
    let way = if rng.chance(0.5) { Way::Dl } else { Way::Ul };
    let mut site = Inject {
        onset_s: rng.between(60.0, 120.0).round(),
        held_s: rng.between(60.0, 90.0).round(),
        spec: scenario.band.get(band)?.clone(),
        band,
        way,
        scenario,
        rng,
    };
    let (whole_unit, way, size) = match family {
        Family::Healthy => return None,
        Family::DonorOverload => (false, Some(Way::Dl), site.donor_overload()?),
        Family::FrontEndOverload => (true, None, site.front_end_overload()),
        Family::NearFar => (false, Some(Way::Dl), site.near_far()?),
        Family::WeakDonor => (false, None, site.weak_donor()?),
        Family::NoisyDonor => (false, None, site.noisy_donor()?),
        Family::LowLoopMargin => (false, Some(way), site.low_loop_margin()),
        Family::Oscillation | Family::OscillationUnflagged => (false, Some(way), site.oscillation()),
        Family::LatchedOff => {
            site.held_s = f64::INFINITY;
            (false, Some(way), site.oscillation())
        }
        Family::GainHeldBack => (false, Some(way), site.gain_held_back()),
        Family::UplinkNoise => (false, Some(Way::Ul), site.uplink_noise()?),
        Family::UplinkOverload => (false, Some(Way::Ul), site.uplink_overload()?),
        Family::GainImbalance => (false, None, site.gain_imbalance()),
        Family::StepLoss => (true, None, site.step_loss()),
        Family::CreepingLoss => (true, None, site.creeping_loss()),
        Family::SwayingLevel => (true, None, site.swaying_level()),
        Family::SyncLost => (false, None, site.sync_lost()),
        Family::HotUnit => (true, None, site.hot_unit()),
        Family::SupplyDip => (true, None, site.supply_dip()),
        Family::Restarting => (true, None, site.restarting()),
        Family::PortFault => (true, None, site.port_fault()),
        Family::NotAuthorized => (true, None, site.not_authorized()),
        Family::ImplausibleReading => (false, None, site.implausible_reading()),
    };
    Some(Fault {
        code: family.code()?,
        band: (!whole_unit).then_some(band),
        way,
        onset_s: site.onset_s,
        until_s: site.onset_s + site.held_s,
        size,
    })
}

struct Inject<'a> {
    scenario: &'a mut Scenario,
    rng: &'a mut Rng,
    onset_s: f64,
    held_s: f64,
    band: usize,
    spec: BandSpec,
    way: Way,
}

impl Inject<'_> {
    fn event(&self) -> EventSpec {
        EventSpec {
            s: self.onset_s,
            for_s: self.held_s.is_finite().then_some(self.held_s),
            ..EventSpec::default()
        }
    }

    fn in_band(&self) -> EventSpec {
        EventSpec {
            band: Some(self.spec.name.clone()),
            ..self.event()
        }
    }

    fn lasting(&mut self) -> EventSpec {
        self.held_s = f64::INFINITY;
        self.event()
    }

    fn add(&mut self, event: EventSpec) {
        self.scenario.at.push(event);
    }

    /// At once or over some seconds.
    fn ramp(&mut self) -> Option<f64> {
        self.rng.chance(0.5).then(|| self.rng.between(2.0, 20.0).round())
    }

    fn wanted(&self) -> Option<CellSpec> {
        let name = &self.spec.name;
        self.scenario
            .cell
            .iter()
            .find(|c| c.wanted && c.band == *name)
            .cloned()
    }

    /// Composite input of the band at mean load, dBm.
    fn input_dbm(&self) -> f64 {
        let name = &self.spec.name;
        let cells = self
            .scenario
            .cell
            .iter()
            .filter(|c| c.band == *name && c.on && c.wanted);
        let mw: f64 = cells
            .map(|c| libm::exp10((c.rsrp_dbm + composite_over_rsrp_db(c)) / 10.0))
            .sum();
        10.0 * libm::log10(mw)
    }
}
