//! The normal distribution.

use core::f64::consts::{FRAC_1_SQRT_2, PI, SQRT_2};

use crate::units::Probability;

/// Probability that a standard normal variable is at most `x`.
#[must_use]
pub fn normal_cdf(x: f64) -> f64 {
    0.5 * libm::erfc(-x * FRAC_1_SQRT_2)
}

/// The value that a standard normal variable stays below with probability `p`; −∞ for 0 and +∞ for 1.
///
/// Derived: Halley's iteration on the distribution function, started from the leading term of the tail; the
/// error is a few units of the last place.
#[must_use]
pub fn normal_quantile(p: Probability) -> f64 {
    let p = p.get();
    // The lower tail is where erfc keeps its relative precision.
    let (tail, sign) = if p <= 0.5 { (p, 1.0) } else { (1.0 - p, -1.0) };
    if tail <= 0.0 {
        return sign * f64::NEG_INFINITY;
    }
    let mut x = -libm::sqrt(-2.0 * libm::log(2.0 * tail)).min(38.0);
    for _ in 0..60 {
        let density = libm::exp(-0.5 * x * x) / libm::sqrt(2.0 * PI);
        if density <= 0.0 {
            break;
        }
        let newton = (0.5 * libm::erfc(-x / SQRT_2) - tail) / density;
        let step = newton / (1.0 + 0.5 * x * newton);
        x -= step;
        if step.abs() <= 1e-15 * x.abs().max(1.0) {
            break;
        }
    }
    sign * x
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn known_quantiles() {
        // Printed in any table of the normal distribution.
        for (p, x) in [
            (0.5, 0.0),
            (0.95, 1.644_853_626_951_472_7),
            (0.975, 1.959_963_984_540_054),
            (0.999, 3.090_232_306_167_813_5),
            (1e-9, -5.997_807_015_007_687),
        ] {
            let got = normal_quantile(Probability::new(p).unwrap());
            assert!((got - x).abs() < 1e-12, "{p}: {got}");
        }
    }

    proptest! {
        #[test]
        fn quantile_undoes_the_distribution(x in -7.0..7.0f64) {
            let p = Probability::new(normal_cdf(x)).unwrap();
            // Above the median the probability itself is only known to the last place of 1.
            let slack = if x > 0.0 { 1e-16 / libm::exp(-0.5 * x * x) } else { 0.0 };
            prop_assert!((normal_quantile(p) - x).abs() < 1e-11 + 10.0 * slack);
        }
    }
}
