//! Faults of levels, gain and isolation.

use super::Inject;
use crate::scenario::{EventSpec, HandsetSpec, Way};
use crate::world::composite_over_rsrp_db;
use radio::noise::{agc_onset, snr_per_resource_element, thermal_density, uplink_noise};
use radio::{Db, Dbm, Megahertz};

/// Limits that the analyser goes by (its default criteria) and that sizes count from.
const MIN_SNR_DB: f64 = 12.0;
const RSRP_ACCURACY_DB: f64 = 6.0;
const MIN_MARGIN_DB: f64 = 15.0;

impl Inject<'_> {
    pub(super) fn donor_overload(&mut self) -> Option<f64> {
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
    pub(super) fn new_cell(&mut self, name: &str, operator: &str, composite_dbm: f64) -> Option<()> {
        let mut cell = self.wanted()?;
        cell.name = name.to_owned();
        cell.operator = operator.to_owned();
        cell.identity += 7;
        // Beside the wanted carrier: in a narrow band both are 5 MHz wide.
        if self.spec.width_mhz < 60.0 {
            let name = &self.spec.name;
            for other in self.scenario.cell.iter_mut().filter(|c| c.band == *name) {
                other.resource_blocks = 25;
            }
            cell.resource_blocks = 25;
            cell.channel += 60;
        } else {
            cell.channel += 200;
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

    pub(super) fn front_end_overload(&mut self) -> f64 {
        let size = self.rng.between(3.0, 10.0);
        let dbm = self.scenario.unit.front_end_limit_dbm + size;
        let event = EventSpec {
            blocker_dbm: Some(dbm),
            ..self.event()
        };
        self.add(event);
        size
    }

    pub(super) fn near_far(&mut self) -> Option<f64> {
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

    pub(super) fn weak_donor(&mut self) -> Option<f64> {
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

    pub(super) fn noisy_donor(&mut self) -> Option<f64> {
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

    pub(super) fn margin_db(&self) -> f64 {
        match self.way {
            Way::Dl => self.spec.isolation_dl_db - self.spec.max_gain_db,
            Way::Ul => self.spec.isolation_ul_db - self.spec.max_gain_db,
        }
    }

    pub(super) fn isolation_to(&mut self, margin_db: f64) {
        let change = margin_db - self.margin_db();
        let event = EventSpec {
            isolation_db: Some(change),
            direction: Some(self.way),
            ..self.in_band()
        };
        self.add(event);
    }

    pub(super) fn low_loop_margin(&mut self) -> f64 {
        let size = self.rng.between(2.0, 9.0);
        self.isolation_to(MIN_MARGIN_DB - size);
        size
    }

    pub(super) fn oscillation(&mut self) -> f64 {
        let size = self.rng.between(1.0, 5.0);
        // People move by tenths of a dB: stay clear of the edge.
        self.isolation_to(-size - 2.0 * self.spec.people_db);
        size
    }

    pub(super) fn gain_held_back(&mut self) -> f64 {
        self.scenario.unit.self_adapting = true;
        let size = self.rng.between(3.0, 10.0);
        self.isolation_to(self.scenario.unit.adapt_margin_db - size - 3.0);
        size
    }

    /// Noise above what is wise for the base station, 10 dB below its own floor (criteria: reference element 15 dBm,
    /// noise figure 5 dB), once an attenuation is removed. A powerful unit, so that nothing else limits.
    pub(super) fn uplink_noise(&mut self) -> Option<f64> {
        // The attenuation stays within the 9 dB by which gains may differ.
        let hidden = 8.0;
        let size = self.rng.between(3.0, 5.0);
        let coupling_loss = 15.0 - self.wanted()?.rsrp_dbm;
        let limit = thermal_density() + Db(5.0 - 10.0 + coupling_loss);
        let own = uplink_noise(Db(self.spec.noise_figure_ul_db), Db(0.0)).ok()?;
        let gain = (limit - own).0 + size;
        let band = self.scenario.band.get_mut(self.band)?;
        band.max_gain_db = gain;
        band.attenuation_dl_db = hidden;
        band.attenuation_ul_db = hidden;
        band.isolation_dl_db = gain + 20.0;
        band.isolation_ul_db = gain + 24.0;
        band.rated_dl_dbm = 37.0;
        band.rated_ul_dbm = 33.0;
        let quiet = band.rated_ul_dbm - gain - 8.0;
        for handset in &mut self.scenario.handset {
            handset.level_dbm = handset.level_dbm.min(quiet);
        }
        let event = EventSpec {
            attenuation_db: Some(-hidden),
            direction: Some(Way::Ul),
            ..self.in_band()
        };
        self.add(event);
        Some(size)
    }

    pub(super) fn uplink_overload(&mut self) -> Option<f64> {
        let onset = agc_onset(Dbm(self.spec.rated_ul_dbm), Db(self.spec.max_gain_db)).ok()?;
        // Beyond the 3 dB of gain that a strong handset may cost.
        let size = self.rng.between(3.0, 22.0);
        let mut handset = HandsetSpec::new("too-near", &self.spec.name, onset.0 + 3.0 + size);
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

    pub(super) fn gain_imbalance(&mut self) -> f64 {
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
}
