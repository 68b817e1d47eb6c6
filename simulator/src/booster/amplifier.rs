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
            echo_ratio: if external_mw > 0.0 {
                echo_mw / external_mw
            } else {
                0.0
            },
            overdriven: needed > self.agc_range,
        };
    }

    /// Power that comes back round the loop, relative to what went in; 1 and more oscillates.
    pub fn loop_gain(&self) -> f64 {
        self.gain / self.agc * self.inverse_isolation
    }

    /// What it does now.
    pub fn working(&self) -> &Working {
        &self.state
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

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const NOISE_MW: f64 = 1e-10;

    /// An amplifier that has stood still for long.
    fn settled(target_db: f64, external_mw: f64, isolation_db: f64) -> Amplifier {
        let mut amplifier = Amplifier::new(17.0, 30.0, NOISE_MW);
        for _ in 0..3 {
            amplifier.step(60.0, target_db, external_mw, isolation_db);
        }
        amplifier
    }

    proptest! {
        /// Energy bookkeeping: output = input + gain, less what saturation takes, never more.
        #[test]
        fn output_is_input_plus_gain_within_compression(
            gain in 20.0..90.0f64, input_dbm in -110.0..0.0f64, isolation in 30.0..140.0f64,
        ) {
            let amplifier = settled(gain, ratio(input_dbm), isolation);
            let w = amplifier.working();
            let (input, output) = (10.0 * libm::log10(w.input_mw), 10.0 * libm::log10(w.output_mw));
            let excess = input + w.gain_db - output;
            prop_assert!(excess > -1e-6, "more comes out than goes in and is amplified: {excess}");
            if output < 14.0 {
                prop_assert!(excess < 0.07, "loss without saturation: {excess}");
            }
            prop_assert!(output <= 17.0 + CEILING_ABOVE_RATED_DB + 1e-6);
            if !w.overdriven {
                prop_assert!(output <= 17.0 + 1e-6, "AGC keeps the rating while it can: {output}");
            }
        }

        /// Gain never exceeds what the limits leave, and AGC takes no more than its range.
        #[test]
        fn gain_stays_within_its_limits(gain in 20.0..90.0f64, input_dbm in -110.0..10.0f64) {
            let w = *settled(gain, ratio(input_dbm), 120.0).working();
            prop_assert!(w.gain_db <= gain + 1e-9);
            prop_assert!(w.gain_db >= gain - 30.0 - 1e-9);
        }
    }

    #[test]
    fn nothing_in_nothing_out() {
        let mut amplifier = Amplifier::new(17.0, 30.0, 0.0);
        for _ in 0..10 {
            amplifier.step(1.0, 70.0, 0.0, 80.0);
        }
        assert_eq!(amplifier.working().output_mw, 0.0);
        assert_eq!(amplifier.working().input_mw, 0.0);
    }

    #[test]
    fn agc_attacks_at_once_and_decays_slowly() {
        let mut amplifier = settled(70.0, ratio(-60.0), 120.0);
        assert_eq!(amplifier.working().agc_db, 0.0);
        // Onset = rated output − gain = −53 dBm: 13 dB beyond it AGC takes 13 dB, within one step.
        amplifier.step(0.1, 70.0, ratio(-40.0), 120.0);
        assert!((amplifier.working().agc_db - 13.0).abs() < 0.01);
        amplifier.step(0.1, 70.0, ratio(-60.0), 120.0);
        assert!((amplifier.working().agc_db - 12.0).abs() < 0.01);
        for _ in 0..20 {
            amplifier.step(0.1, 70.0, ratio(-60.0), 120.0);
        }
        assert_eq!(amplifier.working().agc_db, 0.0);
    }
}
