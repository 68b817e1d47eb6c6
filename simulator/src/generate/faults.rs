//! One fault in a healthy site: where, when and how large is drawn; the least sizes are those of design/analysis.md.

use super::{Family, Fault};
use crate::rng::Rng;
use crate::scenario::{
    AuthorizationSpec, BandSpec, CellSpec, EventSpec, FieldSpec, HandsetSpec, PortSpec, Quirk, Scenario, Way,
};
use crate::world::composite_over_rsrp_db;
use radio::noise::{agc_onset, snr_per_resource_element, uplink_noise};
use radio::{Db, Dbm, Megahertz};

/// Limits that the analyser goes by (its default criteria) and that sizes count from.
const MIN_SNR_DB: f64 = 12.0;
const RSRP_ACCURACY_DB: f64 = 6.0;
const MIN_MARGIN_DB: f64 = 15.0;

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

    fn donor_overload(&mut self) -> Option<f64> {
        let size = self.rng.between(1.0, 8.0);
        let target = self.spec.overload_dbm() + size;
        if self.rng.chance(0.5) {
            let (ramp_s, level) = (self.ramp(), target - self.input_dbm());
            let event = EventSpec {
                level_db: Some(level),
                ramp_s,
                ..self.in_band()
            };
            self.add(event);
        } else {
            self.new_cell("small-cell", "00101", target)?;
        }
        Some(size)
    }

    /// A further carrier appears, with this composite power.
    fn new_cell(&mut self, name: &str, operator: &str, composite_dbm: f64) -> Option<()> {
        let mut cell = self.wanted()?;
        cell.name = name.to_owned();
        cell.operator = operator.to_owned();
        cell.identity += 7;
        // Beside the wanted carrier where the band has room, on top of it otherwise.
        let room = self.spec.width_mhz / 2.0 - 3.0 * f64::from(cell.resource_blocks) * 0.09;
        if room > 0.0 {
            cell.channel += 2 * u32::from(cell.resource_blocks);
        }
        cell.load = 0.6;
        cell.wanted = false;
        cell.on = false;
        cell.rsrp_dbm = composite_dbm - composite_over_rsrp_db(&cell);
        self.scenario.cell.push(cell);
        let event = EventSpec {
            cell: Some(name.to_owned()),
            on: Some(true),
            ..self.event()
        };
        self.add(event);
        Some(())
    }

    fn front_end_overload(&mut self) -> f64 {
        let size = self.rng.between(3.0, 10.0);
        let dbm = self.scenario.unit.front_end_limit_dbm + size;
        let event = EventSpec {
            blocker_dbm: Some(dbm),
            ..self.event()
        };
        self.add(event);
        size
    }

    fn near_far(&mut self) -> Option<f64> {
        // The wanted cell is weak: a pad would starve it.
        let name = self.spec.name.clone();
        let wanted_dbm = self.rng.between(-104.0, -98.0);
        for cell in self.scenario.cell.iter_mut().filter(|c| c.band == name) {
            cell.rsrp_dbm = if cell.wanted {
                wanted_dbm
            } else {
                wanted_dbm - 12.0
            };
        }
        let onset = agc_onset(Dbm(self.spec.rated_dl_dbm), Db(self.spec.max_gain_db)).ok()?;
        let size = self.rng.between(3.0, 12.0);
        self.new_cell("other-operator", "00102", onset.0 + size)?;
        Some(size)
    }

    fn weak_donor(&mut self) -> Option<f64> {
        let size = self.rng.between(3.0, 8.0);
        let figure = Db(self.spec.noise_figure_dl_db);
        let floor = -snr_per_resource_element(Dbm(0.0), Megahertz(0.015), figure)
            .ok()?
            .0;
        let target = floor + MIN_SNR_DB - RSRP_ACCURACY_DB - size;
        let (ramp_s, level) = (self.ramp(), target - self.wanted()?.rsrp_dbm);
        let event = EventSpec {
            level_db: Some(level),
            ramp_s,
            ..self.in_band()
        };
        self.add(event);
        Some(size)
    }

    fn noisy_donor(&mut self) -> Option<f64> {
        let cell = self.wanted()?;
        // SINR this far below 0 dB.
        let size = self.rng.between(3.0, 8.0);
        let carrier_mhz = f64::from(cell.resource_blocks) * 0.18;
        let spread =
            10.0 * libm::log10(12.0 * f64::from(cell.resource_blocks) * self.spec.width_mhz / carrier_mhz);
        let dbm = cell.rsrp_dbm + size + spread;
        let event = EventSpec {
            interference_dbm: Some(dbm),
            ..self.in_band()
        };
        self.add(event);
        Some(size)
    }

    fn margin_db(&self) -> f64 {
        match self.way {
            Way::Dl => self.spec.isolation_dl_db - self.spec.max_gain_db,
            Way::Ul => self.spec.isolation_ul_db - self.spec.max_gain_db,
        }
    }

    fn isolation_to(&mut self, margin_db: f64) {
        let change = margin_db - self.margin_db();
        let event = EventSpec {
            isolation_db: Some(change),
            direction: Some(self.way),
            ..self.in_band()
        };
        self.add(event);
    }

    fn low_loop_margin(&mut self) -> f64 {
        let size = self.rng.between(2.0, 9.0);
        self.isolation_to(MIN_MARGIN_DB - size);
        size
    }

    fn oscillation(&mut self) -> f64 {
        let size = self.rng.between(1.0, 5.0);
        // People move by tenths of a dB: stay clear of the edge.
        self.isolation_to(-size - 2.0 * self.spec.people_db);
        size
    }

    fn gain_held_back(&mut self) -> f64 {
        self.scenario.unit.self_adapting = true;
        let size = self.rng.between(3.0, 10.0);
        self.isolation_to(self.scenario.unit.adapt_margin_db - size - 3.0);
        size
    }

    fn uplink_noise(&mut self) -> Option<f64> {
        let size = self.rng.between(3.0, 8.0);
        let figure = Db(self.spec.noise_figure_ul_db);
        let limit = -103.0 - self.input_dbm();
        // The gain at which noise is as far above the limit as the size says, and the attenuation that hides 9 dB of it.
        let gain = limit - uplink_noise(figure, Db(0.0)).ok()?.0 + size;
        let hidden = size + 9.0;
        let band = self.scenario.band.get_mut(self.band)?;
        band.max_ul_gain_db = Some(gain.clamp(30.0, 105.0));
        band.attenuation_ul_db = hidden;
        band.isolation_ul_db = gain + 24.0;
        let event = EventSpec {
            attenuation_db: Some(-hidden),
            direction: Some(Way::Ul),
            ..self.in_band()
        };
        self.add(event);
        Some(size)
    }

    fn uplink_overload(&mut self) -> Option<f64> {
        let onset = agc_onset(Dbm(self.spec.rated_ul_dbm), Db(self.spec.max_gain_db)).ok()?;
        let size = self.rng.between(3.0, 25.0);
        let mut handset = HandsetSpec::new("too-near", &self.spec.name, onset.0 + size);
        handset.pause_s = 0.0;
        handset.on = false;
        self.scenario.handset.push(handset);
        let event = EventSpec {
            handset: Some("too-near".to_owned()),
            on: Some(true),
            ..self.event()
        };
        self.add(event);
        Some(size)
    }

    fn gain_imbalance(&mut self) -> f64 {
        let size = self.rng.between(3.0, 8.0);
        // The measured window of the US rule is ± 9 dB (facts A.1).
        let event = EventSpec {
            attenuation_db: Some(9.0 + size),
            direction: Some(self.way),
            ..self.in_band()
        };
        self.add(event);
        size
    }

    fn step_loss(&mut self) -> f64 {
        let size = self.rng.between(6.0, 14.0);
        let event = EventSpec {
            feeder_loss_db: Some(size),
            ..self.lasting()
        };
        self.add(event);
        size
    }

    fn creeping_loss(&mut self) -> f64 {
        let per_ghz = self.rng.between(3.0, 6.0);
        let ramp_s = Some(self.rng.between(300.0, 600.0).round());
        let event = EventSpec {
            feeder_loss_db: Some(1.0),
            feeder_loss_db_per_ghz: Some(per_ghz),
            ramp_s,
            ..self.lasting()
        };
        self.add(event);
        per_ghz
    }

    fn swaying_level(&mut self) -> f64 {
        let size = self.rng.between(3.0, 6.0);
        let period_s = Some(self.rng.between(3.0, 8.0));
        let event = EventSpec {
            sway_db: Some(size),
            period_s,
            ..self.event()
        };
        self.add(event);
        size
    }

    fn sync_lost(&mut self) -> f64 {
        self.scenario.unit.quirks.push(Quirk::TransmitsWithoutSync);
        let event = EventSpec {
            sync: Some(false),
            ..self.in_band()
        };
        self.add(event);
        0.0
    }

    fn hot_unit(&mut self) -> f64 {
        let size = self.rng.between(6.0, 20.0);
        let unit = &mut self.scenario.unit;
        // 2 °C below the limit with everything on (16 °C above the air), then this much above it in the end.
        unit.ambient_c = unit.heat_limit_c - 18.0;
        let event = EventSpec {
            ambient_c: Some(2.0 + size),
            ..self.lasting()
        };
        self.add(event);
        size
    }

    fn supply_dip(&mut self) -> f64 {
        let size = self.rng.between(0.3, 2.0);
        let v = self.scenario.unit.supply_limit_v - size;
        let event = EventSpec {
            supply_v: Some(v),
            ..self.event()
        };
        self.add(event);
        size
    }

    fn restarting(&mut self) -> f64 {
        let pause = self.rng.between(25.0, 60.0).round();
        for n in 0..4 {
            let s = self.onset_s + f64::from(n) * pause;
            self.add(EventSpec {
                s,
                restart: Some(true),
                ..EventSpec::default()
            });
        }
        self.held_s = 4.0 * pause;
        0.0
    }

    fn port_fault(&mut self) -> f64 {
        let port = [PortSpec::Open, PortSpec::Short, PortSpec::PoorMatch][self.rng.below(3)];
        let event = if self.rng.chance(0.5) {
            EventSpec {
                donor_port: Some(port),
                ..self.event()
            }
        } else {
            EventSpec {
                server_port: Some(port),
                ..self.event()
            }
        };
        self.add(event);
        0.0
    }

    fn not_authorized(&mut self) -> f64 {
        self.scenario.unit.authorization = AuthorizationSpec::Present;
        let event = EventSpec {
            authorization: Some(AuthorizationSpec::Absent),
            ..self.event()
        };
        self.add(event);
        0.0
    }

    fn implausible_reading(&mut self) -> f64 {
        let outputs = self.scenario.unit.fields.contains(&FieldSpec::DlOutput);
        let quirk = if outputs && self.rng.chance(0.5) {
            Quirk::OutputAstray
        } else {
            Quirk::GainTooHigh
        };
        let event = EventSpec {
            quirk: Some(quirk),
            ..self.event()
        };
        self.add(event);
        0.0
    }
}
