//! Faults of the line, the mast and the unit itself.

use super::Inject;
use crate::scenario::{AuthorizationSpec, EventSpec, FieldSpec, PortSpec, Quirk};

impl Inject<'_> {
    pub(super) fn step_loss(&mut self) -> f64 {
        let size = self.rng.between(6.0, 14.0);
        let event = EventSpec {
            feeder_loss_db: Some(size),
            ..self.lasting()
        };
        self.add(event);
        size
    }

    pub(super) fn creeping_loss(&mut self) -> f64 {
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

    pub(super) fn swaying_level(&mut self) -> f64 {
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

    pub(super) fn sync_lost(&mut self) -> f64 {
        self.scenario.unit.quirks.push(Quirk::TransmitsWithoutSync);
        let event = EventSpec {
            sync: Some(false),
            ..self.in_band()
        };
        self.add(event);
        0.0
    }

    pub(super) fn hot_unit(&mut self) -> f64 {
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

    pub(super) fn supply_dip(&mut self) -> f64 {
        let size = self.rng.between(0.3, 2.0);
        let v = self.scenario.unit.supply_limit_v - size;
        let event = EventSpec {
            supply_v: Some(v),
            ..self.event()
        };
        self.add(event);
        size
    }

    pub(super) fn restarting(&mut self) -> f64 {
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

    pub(super) fn port_fault(&mut self) -> f64 {
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

    pub(super) fn not_authorized(&mut self) -> f64 {
        self.scenario.unit.authorization = AuthorizationSpec::Present;
        let event = EventSpec {
            authorization: Some(AuthorizationSpec::Absent),
            ..self.event()
        };
        self.add(event);
        0.0
    }

    pub(super) fn implausible_reading(&mut self) -> f64 {
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
