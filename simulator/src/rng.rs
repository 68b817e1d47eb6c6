//! Random numbers with a fixed algorithm: the same seed gives the same numbers on every machine and in every version.
//!
//! xoshiro256++ (Blackman and Vigna, 2019, public domain), seeded through SplitMix64. Every process of the world has
//! its own stream, so that adding one does not disturb the others.

/// A stream of random numbers.
#[derive(Clone, Debug)]
pub struct Rng {
    state: [u64; 4],
    spare: Option<f64>,
}

fn split_mix(state: &mut u64) -> u64 {
    *state = state.wrapping_add(0x9E37_79B9_7F4A_7C15);
    let mut z = *state;
    z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    z ^ (z >> 31)
}

impl Rng {
    /// The stream of `seed` for one purpose: `name` says what for, `index` which of several.
    pub fn stream(seed: u64, name: &str, index: usize) -> Self {
        // FNV-1a over the name, then the index.
        let mut hash = 0xCBF2_9CE4_8422_2325_u64;
        for byte in name.bytes().chain((index as u64).to_le_bytes()) {
            hash = (hash ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01B3);
        }
        let mut mix = seed ^ hash;
        Self {
            state: core::array::from_fn(|_| split_mix(&mut mix)),
            spare: None,
        }
    }

    /// 64 random bits.
    pub fn bits(&mut self) -> u64 {
        let s = &mut self.state;
        let result = s[0].wrapping_add(s[3]).rotate_left(23).wrapping_add(s[0]);
        let t = s[1] << 17;
        s[2] ^= s[0];
        s[3] ^= s[1];
        s[1] ^= s[2];
        s[0] ^= s[3];
        s[2] ^= t;
        s[3] = s[3].rotate_left(45);
        result
    }

    /// Uniform in 0 ≤ x < 1, 53 bits.
    pub fn uniform(&mut self) -> f64 {
        (self.bits() >> 11) as f64 * (1.0 / (1_u64 << 53) as f64)
    }

    /// Uniform in `low` ≤ x < `high`.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.uniform()
    }

    /// One of the indices 0…`count` − 1; 0 for a count of 0.
    pub fn below(&mut self, count: usize) -> usize {
        // The bias of one part in 2⁵³ is of no account here.
        ((self.uniform() * count as f64) as usize).min(count.saturating_sub(1))
    }

    /// True with this probability.
    pub fn chance(&mut self, probability: f64) -> bool {
        probability > 0.0 && self.uniform() < probability
    }

    /// Standard normal (polar method of Marsaglia, which yields two at a time).
    pub fn normal(&mut self) -> f64 {
        if let Some(value) = self.spare.take() {
            return value;
        }
        loop {
            let (u, v) = (2.0 * self.uniform() - 1.0, 2.0 * self.uniform() - 1.0);
            let s = u * u + v * v;
            if s > 0.0 && s < 1.0 {
                let factor = libm::sqrt(-2.0 * libm::log(s) / s);
                self.spare = Some(v * factor);
                return u * factor;
            }
        }
    }

    /// Exponential with this mean.
    pub fn exponential(&mut self, mean: f64) -> f64 {
        -mean * libm::log(1.0 - self.uniform())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_algorithm_is_fixed() {
        // Worked by hand from the published algorithm: the first output is rotl(s0 + s3, 23) + s0.
        let rng = Rng::stream(1, "test", 0);
        let s = rng.state;
        let first = s[0].wrapping_add(s[3]).rotate_left(23).wrapping_add(s[0]);
        assert_eq!(rng.clone().bits(), first);
        assert_ne!(Rng::stream(1, "test", 1).bits(), first);
        assert_ne!(Rng::stream(2, "test", 0).bits(), first);
    }

    #[test]
    fn normal_has_mean_zero_and_variance_one() {
        let mut rng = Rng::stream(7, "normal", 0);
        let n = 200_000;
        let (mut sum, mut squares) = (0.0, 0.0);
        for _ in 0..n {
            let x = rng.normal();
            sum += x;
            squares += x * x;
        }
        // Four standard errors.
        assert!((sum / f64::from(n)).abs() < 4.0 / f64::from(n).sqrt());
        assert!((squares / f64::from(n) - 1.0).abs() < 4.0 * (2.0 / f64::from(n)).sqrt());
    }

    #[test]
    fn indices_stay_below_the_count() {
        let mut rng = Rng::stream(3, "below", 0);
        assert!((0..1000).map(|_| rng.below(5)).all(|i| i < 5));
        assert_eq!(rng.below(0), 0);
    }
}
