//! What the unit notices of itself and tells as events.

use super::guard::GuardAct;
use super::unit::{Unit, tenths};
use crate::scenario::{FieldSpec, Quirk, Way};
use crate::world::World;
use booster_profile::{Direction, EventCode};

fn profile_direction(way: Way) -> Direction {
    match way {
        Way::Dl => Direction::Downlink,
        Way::Ul => Direction::Uplink,
    }
}

impl Unit {
    pub(super) fn watch_front_end(&mut self, now_us: u64, world: &World) {
        if world.blocker_mw() == 0.0 && !self.front_end_bad {
            return;
        }
        let total: f64 = world.blocker_mw() + world.air().iter().map(|a| a.dl_mw).sum::<f64>();
        let total_dbm = 10.0 * libm::log10(total);
        let over = total_dbm - self.spec.front_end_limit_dbm;
        let was_bad = self.front_end_bad;
        self.front_end_bad = over > if self.front_end_bad { -1.0 } else { 0.0 };
        if self.front_end_bad != was_bad {
            let code = if was_bad {
                EventCode::OverloadEnd
            } else {
                EventCode::OverloadStart
            };
            self.event(now_us, code, None, Direction::Downlink, tenths(total_dbm));
        }
        // What the first stage does before it is protected: 3 dB at once, then more than dB for dB.
        self.front_end_db = if self.front_end_bad {
            (3.0 + 1.5 * over).clamp(2.0, 30.0)
        } else {
            0.0
        };
    }

    pub(super) fn watch_idle(&mut self, index: usize, now_us: u64, world: &World) {
        if self.spec.idle_mute_s <= 0.0 {
            return;
        }
        let band = &mut self.bands[index];
        if world.handset_active(index) {
            band.last_active_us = now_us;
        }
        let idle_us = now_us.saturating_sub(band.last_active_us);
        band.ul.idle = idle_us as f64 >= self.spec.idle_mute_s * 1e6;
    }

    pub(super) fn overload_event(&mut self, now_us: u64, index: usize) {
        let lane = &self.bands[index].dl;
        let dbm = 10.0 * libm::log10(lane.amplifier.working().input_mw);
        let code = if lane.overloaded {
            EventCode::OverloadStart
        } else {
            EventCode::OverloadEnd
        };
        self.event(now_us, code, Some(index as u8), Direction::Downlink, tenths(dbm));
    }

    pub(super) fn guard_event(&mut self, now_us: u64, index: usize, way: Way, act: GuardAct) {
        if matches!(act, GuardAct::Acted(_)) {
            self.restarts = self.restarts.saturating_add(1);
        }
        let flagged =
            self.spec.fields.contains(&FieldSpec::OscillationFlag) && !self.has(Quirk::NoOscillationFlag);
        if !flagged {
            return;
        }
        let gain = tenths(self.bands[index].lane(way).last_gain_db);
        let (code, value) = match act {
            GuardAct::Detected => (EventCode::OscillationDetected, gain),
            GuardAct::Acted(n) => (EventCode::GuardActed, Some(i16::from(n))),
            GuardAct::LatchedOff(n) => (EventCode::LatchedOff, Some(i16::from(n))),
            GuardAct::Cleared => (EventCode::OscillationCleared, gain),
        };
        self.event(now_us, code, Some(index as u8), profile_direction(way), value);
    }
}
