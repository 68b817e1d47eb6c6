//! One direction of one band: gain, automatic gain control, rated output, and the loop through the antennas.

/// Rise of gain after it was held down, dB/s.
const RISE_DB_PER_S: f64 = 40.0;
/// Decay of AGC, dB/s; its attack takes milliseconds.
const DECAY_DB_PER_S: f64 = 10.0;
/// The output stage saturates this far above the rated output, dB.
const CEILING_ABOVE_RATED_DB: f64 = 3.0;

/// An amplifier in its loop.
#[derive(Clone, Debug)]
pub struct Amplifier {
    rated_mw: f64,
    ceiling_mw: f64,
    agc_range: f64,
    /// Own noise referred to the input, without that of the antenna, mW.
    noise_mw: f64,
    gain_db: f64,
    gain: f64,
    agc: f64,
    decay: (f64, f64),
    isolation_db: f64,
    inverse_isolation: f64,
    state: Working,
}

/// What the amplifier does at this moment.
#[derive(Clone, Copy, Debug, Default)]
pub struct Working {
    /// Power at the input port as the unit's detector sees it: from outside, echo, own noise, mW.
    pub input_mw: f64,
    /// Power at the output port, mW.
    pub output_mw: f64,
    /// Gain in effect, dB.
    pub gain_db: f64,
    /// How much of that AGC takes away, dB.
    pub agc_db: f64,
    /// Loop gain is 1 or more, were it not for saturation.
    pub oscillating: bool,
    /// Isolation minus the gain that the input alone would leave in effect, dB.
    pub margin_db: f64,
    /// Echo relative to what comes from outside, at the input.
    pub echo_ratio: f64,
    /// AGC is at the end of its range and the output exceeds its rating.
    pub overdriven: bool,
}

fn ratio(db: f64) -> f64 {
    libm::exp10(db / 10.0)
}

impl Amplifier {
    /// An amplifier of this rated output, AGC range and own noise.
    pub fn new(rated_dbm: f64, agc_range_db: f64, noise_mw: f64) -> Self {
        Self {
            rated_mw: ratio(rated_dbm),
            ceiling_mw: ratio(rated_dbm + CEILING_ABOVE_RATED_DB),
            agc_range: ratio(agc_range_db),
            noise_mw,
            gain_db: f64::NEG_INFINITY,
            gain: 0.0,
            agc: 1.0,
            decay: (0.0, 1.0),
            isolation_db: f64::INFINITY,
            inverse_isolation: 0.0,
            state: Working::default(),
        }
    }

    /// Switched off: nothing comes out, and the next start rises from nothing.
    pub fn off(&mut self, external_mw: f64) {
        self.gain_db = f64::NEG_INFINITY;
        self.agc = 1.0;
        self.state = Working {
            input_mw: external_mw + self.noise_mw,
            gain_db: f64::NEG_INFINITY,
            margin_db: f64::INFINITY,
            ..Working::default()
        };
    }

    /// Advances by `dt_s`: `target_db` is the gain that all limits but AGC leave, `external_mw` what comes from outside
    /// (noise of the antenna included).
    pub fn step(&mut self, dt_s: f64, target_db: f64, external_mw: f64, isolation_db: f64) {
        // Off or falling: at once. Rising: not faster than the ramp, from 30 dB below.
        let from = self.gain_db.max(target_db - 30.0);
        let next = target_db.min(from + RISE_DB_PER_S * dt_s);
        if next != self.gain_db {
            self.gain_db = next;
            self.gain = ratio(next);
        }
        if isolation_db != self.isolation_db {
            self.isolation_db = isolation_db;
            self.inverse_isolation = ratio(-isolation_db);
        }
        let signal = external_mw + self.noise_mw;
        let open = signal / self.rated_mw;

        // Output = G·signal/(1 − G/I) must not exceed the rating: 1/G ≥ signal/rated + 1/I.
        if dt_s != self.decay.0 {
            self.decay = (dt_s, ratio(-DECAY_DB_PER_S * dt_s));
        }
        let needed = self.gain * (open + self.inverse_isolation);
        self.agc = needed.max(self.agc * self.decay.1).clamp(1.0, self.agc_range);
        let gain = self.gain / self.agc;

        let loop_gain = gain * self.inverse_isolation;
        let linear = if loop_gain < 1.0 {
            gain * signal / (1.0 - loop_gain)
        } else {
            f64::INFINITY
        };
        let output_mw = compress(linear, self.ceiling_mw);
        let echo_mw = output_mw * self.inverse_isolation;

        // Whether it oscillates must not depend on AGC holding the loop at its edge, only on the signal.
        let signal_agc = (self.gain * open).clamp(1.0, self.agc_range);
        let agc_db = decibels_above_one(self.agc);
        self.state = Working {
            input_mw: signal + echo_mw,
            output_mw,
            gain_db: self.gain_db - agc_db,
            agc_db,
            oscillating: self.gain * self.inverse_isolation >= signal_agc,
            margin_db: isolation_db - self.gain_db + decibels_above_one(signal_agc),
            echo_ratio: echo_mw / external_mw,
            overdriven: needed > self.agc_range,
        };
    }

    /// What it does now.
    pub fn working(&self) -> &Working {
        &self.state
    }

    /// Forgets that AGC and the ramp remember; for measurements at a standstill.
    pub fn settle(&mut self, target_db: f64, external_mw: f64, isolation_db: f64) {
        self.agc = 1.0;
        self.step(60.0, target_db, external_mw, isolation_db);
    }
}

/// Most of the time AGC does nothing, and the logarithm can be saved.
fn decibels_above_one(ratio: f64) -> f64 {
    if ratio <= 1.0 {
        0.0
    } else {
        10.0 * libm::log10(ratio)
    }
}

/// Smooth saturation: exact far below the ceiling, 0.07 dB short at 3 dB below it (Rapp 1991 with p = 4 on power).
fn compress(power: f64, ceiling: f64) -> f64 {
    let x = power / ceiling;
    if x < 0.03 {
        power
    } else if x > 1e3 {
        ceiling
    } else {
        let x2 = x * x;
        power / libm::sqrt(libm::sqrt(1.0 + x2 * x2))
    }
}
