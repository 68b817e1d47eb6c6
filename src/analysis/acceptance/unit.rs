//! What the statuses of the unit say over the period.

use super::spread::{Scale, Spread};
use crate::event::SessionTime;
use booster_profile::{Authorization, OperatingState, PortHealth, Quality, UnitStatus};

/// The unit as a whole.
#[derive(Clone, Debug)]
pub(super) struct UnitSeries {
    pub(super) statuses: u32,
    /// Statuses in normal operation.
    pub(super) normal: u32,
    /// Statuses that report something bad.
    pub(super) bad: u32,
    /// Statuses without the operator's permission.
    pub(super) not_authorized: u32,
    pub(super) restarts: u32,
    pub(super) temperature: Spread,
    volts: Option<(f64, f64)>,
    boot_id: Option<u32>,
}

impl UnitSeries {
    pub(super) fn new() -> Self {
        Self {
            statuses: 0,
            normal: 0,
            bad: 0,
            not_authorized: 0,
            restarts: 0,
            temperature: Spread::new(Scale::Ratio),
            volts: None,
            boot_id: None,
        }
    }

    pub(super) fn status(&mut self, at: SessionTime, status: &UnitStatus) {
        let count = |yes: bool| u32::from(yes);
        self.statuses += 1;
        self.normal += count(status.state == OperatingState::Normal);
        self.not_authorized += count(status.authorization == Authorization::Absent);
        let health = &status.health;
        let conditions = [health.front_end, health.tdd_sync, health.fan, health.enclosure];
        let ports = [status.donor_port, status.server_port];
        let port_bad =
            |p: &PortHealth| matches!(p, PortHealth::Open | PortHealth::Short | PortHealth::PoorMatch);
        self.bad += count(conditions.contains(&Quality::Bad) || ports.iter().any(port_bad));
        self.restarts += count(self.boot_id.is_some_and(|id| id != status.boot_id));
        self.boot_id = Some(status.boot_id);
        self.temperature.record(at, status.temperature_c());
        if let Some(v) = status.voltage_v() {
            let (low, high) = self.volts.unwrap_or((v, v));
            self.volts = Some((low.min(v), high.max(v)));
        }
    }

    /// Lowest voltage below the highest, share.
    pub(super) fn supply_drop(&self) -> Option<f64> {
        let (low, high) = self.volts.filter(|(_, high)| *high > 0.0)?;
        Some(1.0 - low / high)
    }
}
