//! Unit Control Point: what changes the unit.

use super::unit::{Unit, tenths};
use crate::scenario::{AuthorizationSpec, Rule, Way, ways};
use booster_profile::control::{ControlResponse, ControlResult, UnitRequest};
use booster_profile::{Direction, EventCode};

/// Length of an isolation test, µs.
const ISOLATION_TEST_US: u64 = 2_000_000;

fn way(direction: Direction) -> Option<Way> {
    match direction {
        Direction::Downlink => Some(Way::Dl),
        Direction::Uplink => Some(Way::Ul),
        _ => None,
    }
}

impl Unit {
    /// Whether somebody is at the unit: button pressed or power just applied.
    pub fn presence(&self, now_us: u64) -> bool {
        now_us < self.presence_until_us
    }

    /// Carries out a request that came over an encrypted and authenticated link.
    pub fn control(&mut self, now_us: u64, request: UnitRequest) -> ControlResponse {
        let (result, value) = match self.try_control(now_us, request) {
            Ok(value) => (ControlResult::Success, value),
            Err(result) => (result, None),
        };
        ControlResponse {
            op_code: request.op_code(),
            result,
            value,
        }
    }

    fn try_control(&mut self, now_us: u64, request: UnitRequest) -> Result<Option<u16>, ControlResult> {
        let need_presence = |unit: &Unit| {
            if unit.presence(now_us) {
                Ok(())
            } else {
                Err(ControlResult::PresenceNeeded)
            }
        };
        match request {
            UnitRequest::AimSafeOn { restore_s } => {
                let until = now_us + u64::from(restore_s) * 1_000_000;
                if self.aim_safe_until_us.is_some_and(|present| until < present) {
                    need_presence(self)?;
                }
                self.aim_safe_until_us = Some(until);
                let value = i16::try_from(restore_s).ok();
                self.event(now_us, EventCode::AimSafeOn, None, Direction::Both, value);
                return Ok(Some(restore_s));
            }
            UnitRequest::AimSafeOff => {
                if self.aim_safe_until_us.is_none() {
                    return Err(ControlResult::WrongState);
                }
                need_presence(self)?;
                self.end_aim_safe(now_us);
                return Ok(None);
            }
            UnitRequest::IsolationTest { band } => {
                self.known_band(band)?;
                self.need_authorization()?;
                if self.aim_safe_until_us.is_some() {
                    return Err(ControlResult::WrongState);
                }
                if self.isolation_test.is_some() {
                    return Err(ControlResult::Busy);
                }
                need_presence(self)?;
                self.isolation_test = Some((now_us + ISOLATION_TEST_US, band));
                return Ok(None);
            }
            UnitRequest::Attenuation {
                band,
                direction,
                value,
            } => {
                self.known_band(Some(band))?;
                self.set_attenuation(now_us, band, direction, value.db())?;
                self.configured(now_us, request, Some(band), direction);
            }
            UnitRequest::Restart => {
                self.need_authorization()?;
                let latched = self
                    .bands
                    .iter()
                    .any(|b| ways(None).any(|w| b.lane(w).guard.is_latched()));
                if !latched {
                    return Err(ControlResult::WrongState);
                }
                need_presence(self)?;
                for band in &mut self.bands {
                    ways(None).for_each(|w| {
                        band.lane_mut(w).guard.reset();
                    });
                }
                self.restarts = self.restarts.saturating_add(1);
                self.configured(now_us, request, None, Direction::Both);
            }
            UnitRequest::Locate { seconds } => {
                self.locate_until_us = now_us + u64::from(seconds) * 1_000_000;
                return Ok(None);
            }
            UnitRequest::Mute { band, direction, on } => {
                self.known_band(band)?;
                if !on {
                    self.need_authorization()?;
                    need_presence(self)?;
                }
                for (i, b) in self.bands.iter_mut().enumerate() {
                    if band.is_none_or(|n| usize::from(n) == i) {
                        ways(way(direction)).for_each(|w| b.lane_mut(w).muted = on);
                    }
                }
                self.configured(now_us, request, band, direction);
            }
        }
        Ok(None)
    }

    fn configured(&mut self, now_us: u64, request: UnitRequest, band: Option<u8>, direction: Direction) {
        let code = Some(i16::from(request.op_code()));
        self.event(now_us, EventCode::ConfigurationChanged, band, direction, code);
    }

    fn need_authorization(&self) -> Result<(), ControlResult> {
        match self.authorization {
            AuthorizationSpec::Absent => Err(ControlResult::NotPermitted),
            _ => Ok(()),
        }
    }

    fn known_band(&self, band: Option<u8>) -> Result<(), ControlResult> {
        match band {
            Some(index) if usize::from(index) >= self.bands.len() => Err(ControlResult::InvalidParameter),
            _ => Ok(()),
        }
    }

    /// Attenuation of one band. Presence is needed where it falls; a rule that demands equal gain both ways forbids
    /// setting one direction alone.
    fn set_attenuation(
        &mut self,
        now_us: u64,
        band: u8,
        direction: Direction,
        db: f64,
    ) -> Result<(), ControlResult> {
        let equal_ways = self.spec.rule == Rule::UkStaticIndoor;
        if equal_ways && way(direction).is_some() {
            return Err(ControlResult::NotPermitted);
        }
        let presence = self.presence(now_us);
        let Some(unit) = self.bands.get_mut(usize::from(band)) else {
            return Err(ControlResult::InvalidParameter);
        };
        let rises = ways(way(direction)).any(|w| db < unit.lane(w).attenuation_db);
        if rises && !presence {
            return Err(ControlResult::PresenceNeeded);
        }
        ways(way(direction)).for_each(|w| unit.lane_mut(w).attenuation_db = db);
        Ok(())
    }

    fn end_aim_safe(&mut self, now_us: u64) {
        self.aim_safe_until_us = None;
        self.event(now_us, EventCode::AimSafeOff, None, Direction::Both, None);
    }

    /// Ends what was to last for a time only.
    pub(super) fn end_timed(&mut self, now_us: u64) {
        if self.aim_safe_until_us.is_some_and(|until| now_us >= until) {
            self.end_aim_safe(now_us);
        }
        let Some((_, only)) = self.isolation_test.take_if(|(until, _)| now_us >= *until) else {
            return;
        };
        for index in 0..self.bands.len() {
            if only.is_some_and(|b| usize::from(b) != index) {
                continue;
            }
            for w in ways(None) {
                let measured = self.bands[index].lane(w).isolation(&mut self.rng);
                let direction = match w {
                    Way::Dl => Direction::Downlink,
                    Way::Ul => Direction::Uplink,
                };
                let value = measured.and_then(|m| tenths(m.db()));
                self.event(
                    now_us,
                    EventCode::IsolationTested,
                    Some(index as u8),
                    direction,
                    value,
                );
            }
        }
    }
}
