//! The loop from the output antenna back into the input antenna.
//!
//! With loop margin M = isolation − gain the loop gain is L = 10^(−M/20) and the closed loop amplifies by
//! G/(1 − L·e^jψ), ψ turning once for every 1/τ of frequency. All derived from that (classical feedback);
//! Barkhausen: at M ≤ 0 some frequency of the pass band oscillates.

use core::f64::consts::{LN_10, LOG10_E};

use crate::range::{Check, RangeError, above};
use crate::units::{Db, Megahertz, Microseconds};

/// A stable loop: margin above 0 and up to 200 dB.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct StableLoop {
    margin: f64,
}

impl StableLoop {
    /// A loop of this margin (isolation − gain, both at the same frequency).
    ///
    /// # Errors
    /// At 0 dB or less, where the loop oscillates and none of the formulas means anything; above 200 dB.
    pub fn new(margin: Db) -> Result<Self, RangeError> {
        let margin = Check("feedback loop").within(
            "loop margin",
            margin.0,
            " dB",
            above(0.0, 200.0),
            "at 0 dB and below the loop oscillates: lower the gain or raise the isolation",
        )?;
        Ok(Self { margin })
    }

    /// The loop whose gain ripples by this much, peak to peak, over frequency (or over gain, swept):
    /// L = (10^(R/20) − 1)/(10^(R/20) + 1). Range: ripple above 0 to 200 dB.
    ///
    /// # Errors
    /// When the ripple is out of range.
    pub fn from_ripple(ripple: Db) -> Result<Self, RangeError> {
        let ripple = Check("loop margin from ripple").within(
            "ripple",
            ripple.0,
            " dB",
            above(0.0, 200.0),
            "give peak to peak as a positive number; without ripple the margin is beyond measuring",
        )?;
        // L = tanh(x), and −20·log L written so that neither end loses digits.
        let x = ripple * LN_10 / 40.0;
        let fade = libm::exp(-2.0 * x);
        Self::new(Db(20.0 * LOG10_E * (libm::log1p(fade) - libm::log1p(-fade))))
    }

    /// The loop in which echoes that nobody equalises make this error vector magnitude (8 % is 0.08):
    /// M = 10·log(1 + 1/EVM²). Range: above 0 to 100 (10 000 %).
    ///
    /// # Errors
    /// When the value is out of range.
    pub fn from_evm(evm: f64) -> Result<Self, RangeError> {
        let evm =
            Check("loop margin from EVM").within("EVM", evm, "", above(0.0, 100.0), "give 0.08 for 8 %")?;
        Self::new(Db(10.0 * LOG10_E * libm::log1p(1.0 / (evm * evm))))
    }

    /// Loop margin M.
    #[must_use]
    pub fn margin(self) -> Db {
        Db(self.margin)
    }

    /// Loop gain L as an amplitude, below 1.
    #[must_use]
    pub fn loop_gain(self) -> f64 {
        Db(-self.margin).to_amplitude()
    }

    /// Highest gain over frequency above the open loop, −20·log(1 − L).
    #[must_use]
    pub fn peak(self) -> Db {
        Db(-20.0 * libm::log10(-libm::expm1(-self.margin * LN_10 / 20.0)))
    }

    /// Lowest gain over frequency against the open loop, −20·log(1 + L); negative.
    #[must_use]
    pub fn dip(self) -> Db {
        Db(-20.0 * LOG10_E * libm::log1p(self.loop_gain()))
    }

    /// Gain against the open loop where the echo arrives with phase ψ (radians).
    #[must_use]
    pub fn gain_at_phase(self, phase: f64) -> Db {
        let l = self.loop_gain();
        Db::from_ratio(1.0 / (1.0 + l * l - 2.0 * l * libm::cos(phase)))
    }

    /// Ripple over frequency, peak to peak.
    #[must_use]
    pub fn ripple(self) -> Db {
        self.peak() - self.dip()
    }

    /// Gain in dB averaged over phase against the open loop: exactly none, ∫ log|1 − L·e^jψ| dψ = 0 for L < 1.
    #[must_use]
    pub fn mean_gain_change(self) -> Db {
        Db(0.0)
    }

    /// Signal to echo, 10·log(10^(M/10) − 1): best SINR behind this loop when the receiver does not equalise
    /// the echo. Echoes within the cyclic prefix (4.7 µs LTE) are equalised: pessimistic for analogue units.
    #[must_use]
    pub fn sinr_cap(self) -> Db {
        Db::from_ratio(libm::expm1(self.margin * LN_10 / 10.0))
    }

    /// Error vector magnitude of the echo as a factor (0.08 is 8 %), 1/√(10^(M/10) − 1); not equalised.
    #[must_use]
    pub fn evm(self) -> f64 {
        1.0 / libm::sqrt(libm::expm1(self.margin * LN_10 / 10.0))
    }

    /// Rise of wide-band mean power and of noise, −10·log(1 − L²).
    #[must_use]
    pub fn noise_rise(self) -> Db {
        Db(-10.0 * libm::log10(-libm::expm1(-self.margin * LN_10 / 10.0)))
    }

    /// The loop after a change of gain. Beyond 200 dB of margin nothing more changes.
    ///
    /// # Errors
    /// When the margin left is not above 0 dB. On a live unit go down only: near the limit a step up can
    /// start oscillation.
    pub fn after_gain_step(self, step: Db) -> Result<Self, RangeError> {
        Self::new((Db(self.margin) - step).min(Db(200.0)))
    }

    /// By how much wide-band mean output changes beyond the gain step itself (negative for a step down):
    /// 10·log((1 − L1²)/(1 − L2²)).
    ///
    /// # Errors
    /// As [`StableLoop::after_gain_step`].
    pub fn gain_step_excess(self, step: Db) -> Result<Db, RangeError> {
        Ok(self.after_gain_step(step)?.noise_rise() - self.noise_rise())
    }

    /// The same for a narrow signal at the peak of the ripple.
    ///
    /// # Errors
    /// As [`StableLoop::after_gain_step`].
    pub fn gain_step_excess_at_peak(self, step: Db) -> Result<Db, RangeError> {
        Ok(self.after_gain_step(step)?.peak() - self.peak())
    }
}

/// Distance of two peaks of the ripple in frequency, 1/τ. Range: delay above 0 to 1000 µs.
///
/// # Errors
/// When the delay is out of range.
pub fn ripple_period(delay: Microseconds) -> Result<Megahertz, RangeError> {
    Ok(Megahertz(1.0 / checked_delay(delay)?))
}

/// How fast an oscillation grows, in dB per microsecond: once round the loop every τ adds the excess of gain
/// over isolation. Range: delay above 0 to 1000 µs, excess above 0 to 200 dB.
///
/// # Errors
/// When an input is out of range.
pub fn growth_per_microsecond(excess: Db, delay: Microseconds) -> Result<Db, RangeError> {
    let excess = Check("growth of an oscillation").within(
        "excess of gain over isolation",
        excess.0,
        " dB",
        above(0.0, 200.0),
        "below 0 dB nothing grows",
    )?;
    Ok(Db(excess / checked_delay(delay)?))
}

fn checked_delay(delay: Microseconds) -> Result<f64, RangeError> {
    Check("feedback loop").within(
        "delay",
        delay.0,
        " µs",
        above(0.0, 1000.0),
        "give the delay once round the loop",
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn with(margin: f64) -> StableLoop {
        StableLoop::new(Db(margin)).unwrap()
    }

    #[test]
    fn no_margin_no_numbers() {
        for margin in [0.0, -3.0, f64::NAN, f64::INFINITY] {
            let text = StableLoop::new(Db(margin)).unwrap_err().to_string();
            assert!(text.contains("lower the gain"), "{text}");
        }
        assert!(StableLoop::from_ripple(Db(0.0)).is_err());
        assert!(with(3.0).after_gain_step(Db(3.0)).is_err());
        assert!(ripple_period(Microseconds(0.0)).is_err());
    }

    #[test]
    fn an_oscillation_saturates_within_microseconds() {
        assert_eq!(growth_per_microsecond(Db(1.0), Microseconds(0.5)), Ok(Db(2.0)));
        assert!(growth_per_microsecond(Db(0.0), Microseconds(0.5)).is_err());
    }

    proptest! {
        #[test]
        fn averages_over_phase_agree(margin in 0.5..40.0f64) {
            let feedback = with(margin);
            let steps = 20_000;
            let gains = (0..steps).map(|k| {
                feedback.gain_at_phase(2.0 * core::f64::consts::PI * f64::from(k) / f64::from(steps))
            });
            let (mut log_mean, mut power_mean) = (0.0, 0.0);
            for gain in gains {
                log_mean += gain.0 / f64::from(steps);
                power_mean += gain.to_ratio() / f64::from(steps);
            }
            prop_assert!((log_mean - feedback.mean_gain_change().0).abs() < 1e-6);
            prop_assert!((Db::from_ratio(power_mean) - feedback.noise_rise()).abs() < Db(1e-6));
        }

        #[test]
        fn the_extremes_bound_every_phase(margin in 0.1..60.0f64, phase in 0.0..6.3f64) {
            let feedback = with(margin);
            let gain = feedback.gain_at_phase(phase);
            prop_assert!(gain <= feedback.peak() + Db(1e-6) && gain >= feedback.dip() - Db(1e-6));
        }

        #[test]
        fn ripple_and_evm_give_the_margin_back(margin in 0.01..100.0f64) {
            let feedback = with(margin);
            let from_ripple = StableLoop::from_ripple(feedback.ripple()).unwrap().margin();
            prop_assert!((from_ripple.0 / margin - 1.0).abs() < 1e-6);
            let from_evm = StableLoop::from_evm(feedback.evm()).unwrap().margin();
            prop_assert!((from_evm.0 / margin - 1.0).abs() < 1e-6);
        }

        #[test]
        fn a_step_down_and_back_cancels(margin in 0.5..60.0f64, down in 0.1..20.0f64) {
            let lower = with(margin).after_gain_step(Db(-down)).unwrap();
            let fall = with(margin).gain_step_excess(Db(-down)).unwrap();
            let rise = lower.gain_step_excess(Db(down)).unwrap();
            prop_assert!(fall <= Db(0.0) && (fall + rise).abs() < Db(1e-9));
        }
    }
}
