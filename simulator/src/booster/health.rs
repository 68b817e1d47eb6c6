//! Heat, supply, ports: what concerns the box and not the radio.

use crate::scenario::{PortSpec, UnitSpec};
use booster_profile::{PortHealth, Quality};

/// Time constant of the housing, s.
const HOUSING_TAU_S: f64 = 300.0;
/// Temperature above the air while amplifying, °C.
const RISE_C: f64 = 16.0;
/// The same without a fan.
const RISE_WITHOUT_FAN_C: f64 = 38.0;

/// Health of the box.
#[derive(Clone, Debug)]
pub struct Health {
    /// Air temperature, °C.
    pub ambient_c: f64,
    /// Supply voltage, V.
    pub supply_v: f64,
    /// Fan turns.
    pub fan: bool,
    /// Enclosure dry and shut.
    pub enclosure: bool,
    /// Donor port.
    pub donor_port: PortSpec,
    /// Server port.
    pub server_port: PortSpec,
    /// Gain is reduced because of heat.
    pub hot: bool,
    /// Gain is reduced because of the supply.
    pub low: bool,
    temperature_c: f64,
    heat_limit_c: f64,
    supply_limit_v: f64,
}

/// What changed in a second.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Turn {
    /// Nothing.
    None,
    /// It became bad.
    Bad,
    /// It became good.
    Good,
}

fn turn(flag: &mut bool, bad: bool, good: bool) -> Turn {
    match (*flag, bad, good) {
        (false, true, _) => {
            *flag = true;
            Turn::Bad
        }
        (true, _, true) => {
            *flag = false;
            Turn::Good
        }
        _ => Turn::None,
    }
}

impl Health {
    /// A box that has run for long.
    pub fn new(spec: &UnitSpec) -> Self {
        Self {
            ambient_c: spec.ambient_c,
            supply_v: spec.supply_v,
            fan: true,
            enclosure: true,
            donor_port: PortSpec::Good,
            server_port: PortSpec::Good,
            hot: spec.ambient_c + RISE_C > spec.heat_limit_c,
            low: false,
            temperature_c: spec.ambient_c + RISE_C,
            heat_limit_c: spec.heat_limit_c,
            supply_limit_v: spec.supply_limit_v,
        }
    }

    /// One second later: heat and supply.
    pub fn second(&mut self, amplifying: bool) -> (Turn, Turn) {
        let rise = match (amplifying, self.fan) {
            (false, _) => 4.0,
            (true, true) => RISE_C,
            (true, false) => RISE_WITHOUT_FAN_C,
        };
        let end = self.ambient_c + rise;
        self.temperature_c += (end - self.temperature_c) / HOUSING_TAU_S;
        let (t, v) = (self.temperature_c, self.supply_v);
        let heat = turn(&mut self.hot, t > self.heat_limit_c, t < self.heat_limit_c - 3.0);
        let supply = turn(
            &mut self.low,
            v < self.supply_limit_v,
            v > self.supply_limit_v + 0.3,
        );
        (heat, supply)
    }

    /// Gain lost to heat, dB: 1 dB per °C above the limit and 3 dB at once.
    pub fn heat_db(&self) -> f64 {
        if self.hot {
            (3.0 + self.temperature_c - self.heat_limit_c).clamp(1.0, 25.0)
        } else {
            0.0
        }
    }

    /// Gain lost to a weak supply, dB.
    pub fn supply_db(&self) -> f64 {
        if self.low { 6.0 } else { 0.0 }
    }

    /// Temperature, °C.
    pub fn temperature_c(&self) -> f64 {
        self.temperature_c
    }
}

/// Two-bit condition of the profile.
pub fn quality(good: bool) -> Quality {
    if good { Quality::Good } else { Quality::Bad }
}

/// Port code of the profile.
pub fn port(spec: PortSpec) -> PortHealth {
    match spec {
        PortSpec::Good => PortHealth::Good,
        PortSpec::Open => PortHealth::Open,
        PortSpec::Short => PortHealth::Short,
        PortSpec::PoorMatch => PortHealth::PoorMatch,
    }
}
