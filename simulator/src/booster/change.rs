//! What happens to the unit from outside: the timeline, hands, the supply.

use super::unit::{PRESENCE_US, SECOND_US, Unit};
use crate::scenario::{Action, ways};
use booster_profile::{Direction, EventCode};

impl Unit {
    /// Carries out what the timeline says about the unit; other actions are left alone.
    pub fn apply(&mut self, now_us: u64, action: &Action) {
        match action {
            Action::Attenuation { band, way, db } => {
                for (i, b) in self.bands.iter_mut().enumerate() {
                    if band.is_none_or(|n| n == i) {
                        for w in ways(*way) {
                            let lane = b.lane_mut(w);
                            lane.attenuation_db = (lane.attenuation_db + db).clamp(0.0, 60.0);
                        }
                    }
                }
                self.event(
                    now_us,
                    EventCode::ConfigurationChanged,
                    None,
                    Direction::Both,
                    None,
                );
            }
            Action::Ambient { c } => self.health.ambient_c += c,
            Action::Supply { v } => self.health.supply_v = *v,
            Action::Authorization(spec) => {
                self.authorization = *spec;
                let code = i16::from(super::reading::authorization(*spec).raw());
                self.event(
                    now_us,
                    EventCode::AuthorizationChanged,
                    None,
                    Direction::Both,
                    Some(code),
                );
            }
            Action::Sync { band, good } => self.set_sync(now_us, *band, *good),
            Action::Restart => self.restart(now_us),
            Action::Button => self.presence_until_us = now_us + PRESENCE_US,
            Action::QuirkOn { quirk, on } => self.set_quirk(*quirk, *on),
            Action::DonorPort(port) => self.health.donor_port = *port,
            Action::ServerPort(port) => self.health.server_port = *port,
            Action::Enclosure { good } => self.health.enclosure = *good,
            Action::Fan { good } => self.health.fan = *good,
            _ => {}
        }
    }

    fn set_sync(&mut self, now_us: u64, band: usize, good: bool) {
        let Some(unit) = self.bands.get_mut(band) else {
            return;
        };
        if unit.sync.is_none_or(|s| s == good) {
            return;
        }
        unit.sync = Some(good);
        let code = if good {
            EventCode::SyncRegained
        } else {
            EventCode::SyncLost
        };
        self.event(now_us, code, Some(band as u8), Direction::Both, None);
    }

    /// Starts anew: boot id, sequences and clock begin again; events, history and a latched guard stay.
    pub fn restart(&mut self, now_us: u64) {
        self.renew_boot_id(self.boot_id);
        self.boot_us = now_us as i64;
        self.ready_us = now_us + (self.spec.boot_s * 1e6) as u64;
        self.restarts = self.restarts.saturating_add(1);
        self.aim_safe_until_us = None;
        self.isolation_test = None;
        self.presence_until_us = now_us + PRESENCE_US;
        self.next_second_us = now_us + SECOND_US;
        for band in &mut self.bands {
            band.sequence = 0;
            band.frozen = None;
            band.last_active_us = now_us;
        }
        self.modem.reset(self.ready_us);
        self.event(now_us, EventCode::Started, None, Direction::Both, None);
    }
}
