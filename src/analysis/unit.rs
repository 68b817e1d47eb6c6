//! What rules remember of the unit as a whole.

use super::memory::Sway;
use crate::event::SessionTime;
use booster_profile::{EventCode, MAX_BANDS, OperatingState, Quality, UnitEvent, UnitStatus};
use std::time::Duration;

/// Restarts that are remembered.
const RESTARTS: usize = 8;

/// Memory of the unit.
#[derive(Clone, Debug, Default)]
pub(super) struct UnitMemory {
    /// The last status.
    pub(super) status: Option<UnitStatus>,
    /// The receiver as a whole is overloaded, by event.
    pub(super) front_end_event: bool,
    /// Frame synchronisation is lost, by event.
    pub(super) sync_lost: bool,
    /// The unit reduces gain because of heat, by event.
    pub(super) hot: bool,
    /// The unit reduces gain because of its supply, by event.
    pub(super) supply_low: bool,
    /// Highest supply voltage of this start, V.
    pub(super) highest_v: Option<f64>,
    /// Every band lost level, by the last judgement of the unit.
    pub(super) all_dropped: bool,
    /// How far the wanted cell of each band lies above what it needs, dB, as last read.
    spare_db: [Option<f64>; MAX_BANDS],
    /// How what all bands have in common swings.
    pub(super) sway: Sway,
    restarts: [Option<SessionTime>; RESTARTS],
}

impl UnitMemory {
    pub(super) fn status(&mut self, status: &UnitStatus) {
        if let Some(v) = status.voltage_v() {
            self.highest_v = Some(self.highest_v.map_or(v, |h| h.max(v)));
        }
        // What the status says now wins over an event that may have been missed.
        if status.health.front_end == Quality::Good {
            self.front_end_event = false;
        }
        if status.health.tdd_sync == Quality::Good {
            self.sync_lost = false;
        }
        self.status = Some(*status);
    }

    pub(super) fn event(&mut self, event: &UnitEvent) {
        match event.code {
            EventCode::OverloadStart if event.band.is_none() => self.front_end_event = true,
            EventCode::OverloadEnd if event.band.is_none() => self.front_end_event = false,
            EventCode::SyncLost => self.sync_lost = true,
            EventCode::SyncRegained => self.sync_lost = false,
            EventCode::HeatStart => self.hot = true,
            EventCode::HeatEnd => self.hot = false,
            EventCode::SupplyLow => self.supply_low = true,
            EventCode::SupplyRestored => self.supply_low = false,
            _ => {}
        }
    }

    pub(super) fn restarted(&mut self, at: SessionTime) {
        self.restarts.rotate_left(1);
        self.restarts[RESTARTS - 1] = Some(at);
        *self = Self {
            restarts: self.restarts,
            ..Self::default()
        };
    }

    /// Hands are on the antenna: levels begin anew.
    pub(super) fn antenna_moves(&mut self) {
        self.sway = Sway::default();
    }

    /// Takes in how far the wanted cell of a band lies above what it needs, dB.
    pub(super) fn note_spare(&mut self, position: usize, db: Option<f64>) {
        if let (Some(spare), Some(db)) = (self.spare_db.get_mut(position), db) {
            *spare = Some(db);
        }
    }

    /// The least of them: what the donor line may lose before a band is starved, dB.
    pub(super) fn least_spare_db(&self) -> Option<f64> {
        self.spare_db.iter().flatten().copied().reduce(f64::min)
    }

    /// Restarts within this time before `at`.
    pub(super) fn restarts_within(&self, at: SessionTime, time: Duration) -> usize {
        self.restarts
            .iter()
            .flatten()
            .filter(|t| at.since(**t) <= time)
            .count()
    }

    /// Whether the receiver as a whole is overloaded, by status or event.
    pub(super) fn front_end_bad(&self) -> bool {
        self.front_end_event || self.status.is_some_and(|s| s.health.front_end == Quality::Bad)
    }

    /// Hands are on the antenna.
    pub(super) fn aim_safe(&self) -> bool {
        self.status.is_some_and(|s| s.state == OperatingState::AimSafe)
    }
}
