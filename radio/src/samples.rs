//! How much a series of levels says, and what averaging in dB does.

use core::f64::consts::{LN_10, PI};

use crate::range::{Check, RangeError};
use crate::units::Db;

/// Euler's constant.
const EULER_GAMMA: f64 = 0.577_215_664_901_532_9;

/// Independent samples that `count` samples of lag-1 correlation ρ (first-order process) are worth,
/// n·(1 − ρ)/(1 + ρ): for series much longer than their correlation. Less than one says that the series is
/// too short for its correlation.
///
/// Range: n 1 to 1e9, −1 < ρ < 1. Source: Bayley and Hammersley 1946 (derived).
///
/// # Errors
/// When an input is out of range.
pub fn effective_samples(count: f64, rho: f64) -> Result<f64, RangeError> {
    let (n, rho) = checked_series(count, rho)?;
    Ok(n * (1.0 - rho) / (1.0 + rho))
}

/// The same for a series of any length, n/(1 + 2·Σ(1 − k/n)·ρ^k), k = 1 to n − 1. Range: as
/// [`effective_samples`], n whole.
///
/// # Errors
/// When an input is out of range.
pub fn effective_samples_short(count: u32, rho: f64) -> Result<f64, RangeError> {
    let (n, rho) = checked_series(f64::from(count), rho)?;
    // The sum in closed form.
    let power = libm::pow(rho, n);
    let sum = rho / (1.0 - rho) - rho * (1.0 - power) / (n * (1.0 - rho) * (1.0 - rho));
    Ok(n / (1.0 + 2.0 * sum))
}

fn checked_series(count: f64, rho: f64) -> Result<(f64, f64), RangeError> {
    let check = Check("effective samples");
    let n = check.within(
        "number of samples",
        count,
        "",
        1.0..=1e9,
        "give the number of samples",
    )?;
    // Nearer to ±1 the result has no digits left.
    let rho = check.within(
        "correlation",
        rho,
        "",
        -0.999_999..=0.999_999,
        "give the lag-1 correlation",
    )?;
    Ok((n, rho))
}

/// Mean of Rayleigh-faded power in dB less the dB of its mean: −2.507 dB.
#[must_use]
pub fn rayleigh_mean_offset() -> Db {
    Db(-10.0 * EULER_GAMMA / LN_10)
}

/// Standard deviation of Rayleigh-faded power in dB: 5.57 dB.
#[must_use]
pub fn rayleigh_deviation() -> Db {
    Db(10.0 / LN_10 * PI / libm::sqrt(6.0))
}

/// dB of the linear mean less the mean in dB, for levels normally distributed in dB: σ²·ln 10/20.
///
/// Range: σ 0 to 30 dB. Derived.
///
/// # Errors
/// When the deviation is out of range.
pub fn log_normal_mean_offset(sigma: Db) -> Result<Db, RangeError> {
    let sigma = Check("log-normal mean").within(
        "deviation",
        sigma.0,
        " dB",
        0.0..=30.0,
        "give the standard deviation in dB",
    )?;
    Ok(Db(sigma * sigma * LN_10 / 20.0))
}

/// Standard deviation that rounding to whole steps adds, step/√12. Range: step 0 to 100 dB. Derived.
///
/// # Errors
/// When the step is out of range.
pub fn quantisation_deviation(step: Db) -> Result<Db, RangeError> {
    let step = Check("quantisation").within("step", step.0, " dB", 0.0..=100.0, "give the step in dB")?;
    Ok(Db(step / libm::sqrt(12.0)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn out_of_range_is_refused() {
        assert!(effective_samples(100.0, 1.0).is_err());
        assert!(effective_samples(100.0, -1.0).is_err());
        assert!(effective_samples(0.0, 0.5).is_err());
        assert!(log_normal_mean_offset(Db(-1.0)).is_err());
        assert!(quantisation_deviation(Db(f64::NAN)).is_err());
    }

    proptest! {
        #[test]
        fn the_closed_form_is_the_sum(n in 1u32..200, rho in -0.95..0.95f64) {
            let count = f64::from(n);
            let sum: f64 = (1..n).map(|k| (1.0 - f64::from(k) / count) * libm::pow(rho, f64::from(k))).sum();
            let got = effective_samples_short(n, rho).unwrap();
            prop_assert!((got - count / (1.0 + 2.0 * sum)).abs() < 1e-6 * got.abs());
        }

        #[test]
        fn long_series_agree(rho in -0.9..0.9f64) {
            let long = effective_samples(1e6, rho).unwrap();
            prop_assert!((effective_samples_short(1_000_000, rho).unwrap() / long - 1.0).abs() < 1e-4);
        }
    }
}
