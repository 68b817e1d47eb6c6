//! Handsets in the rooms: what the uplink hears at the server port.

use crate::rng::Rng;

/// One handset that calls now and then.
#[derive(Clone, Debug)]
pub struct Handset {
    /// Name that the timeline refers to.
    pub name: String,
    /// Index of the band.
    pub band: usize,
    /// Level at the server port while it transmits, dBm.
    pub level_dbm: f64,
    /// Whether it takes part at all.
    pub present: bool,
    call_s: f64,
    pause_s: f64,
    talking: bool,
    until_us: u64,
    power_mw: f64,
    rng: Rng,
}

impl Handset {
    /// A handset that calls for about `call_s` seconds and pauses for about `pause_s` (both exponential); without a
    /// pause it transmits all the time.
    pub fn new(name: &str, band: usize, level_dbm: f64, call_s: f64, pause_s: f64, rng: Rng) -> Self {
        Self {
            name: name.to_owned(),
            band,
            level_dbm,
            present: true,
            call_s,
            pause_s,
            talking: false,
            until_us: 0,
            power_mw: 0.0,
            rng,
        }
    }

    /// Goes on to `now_us`; its power changes every time by a dB or two, as power control and scheduling have it.
    pub fn step(&mut self, now_us: u64) {
        if !self.present {
            self.power_mw = 0.0;
            return;
        }
        if now_us >= self.until_us {
            self.talking = self.pause_s <= 0.0 || !self.talking;
            let mean = if self.talking { self.call_s } else { self.pause_s };
            self.until_us = now_us + (self.rng.exponential(mean.max(0.1)) * 1e6) as u64;
        }
        self.power_mw = if self.talking {
            libm::exp10((self.level_dbm + 1.5 * self.rng.normal()) / 10.0)
        } else {
            0.0
        };
    }

    /// Power at the server port, mW.
    pub fn power_mw(&self) -> f64 {
        self.power_mw
    }
}
