//! Random numbers of a fixed seed: the same readings give the same probability, live and replayed.

/// SplitMix64 (Steele, Lea and Flood 2014), which is enough for draws from a posterior.
#[derive(Clone, Debug)]
pub struct Normals {
    state: u64,
    spare: Option<f64>,
}

impl Normals {
    /// The stream with this number.
    pub fn stream(number: u64) -> Self {
        Self {
            state: number.wrapping_mul(0xD134_2543_DE82_EF95) ^ 0x5851_F42D_4C95_7F2D,
            spare: None,
        }
    }

    /// Uniform in 0 ≤ x < 1.
    pub fn uniform(&mut self) -> f64 {
        self.state = self.state.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.state;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// Standard normal (polar method of Marsaglia).
    pub fn normal(&mut self) -> f64 {
        if let Some(spare) = self.spare.take() {
            return spare;
        }
        loop {
            let (x, y) = (2.0 * self.uniform() - 1.0, 2.0 * self.uniform() - 1.0);
            let square = x * x + y * y;
            if square > 0.0 && square < 1.0 {
                let scale = libm::sqrt(-2.0 * libm::log(square) / square);
                self.spare = Some(y * scale);
                return x * scale;
            }
        }
    }

    /// `count` numbers spread evenly over 0…1, in random order.
    pub fn strata(&mut self, count: usize) -> Vec<f64> {
        let mut strata: Vec<f64> = (0..count).map(|i| (i as f64 + 0.5) / count as f64).collect();
        for i in (1..count).rev() {
            let j = ((self.uniform() * (i + 1) as f64) as usize).min(i);
            strata.swap(i, j);
        }
        strata
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn moments_and_strata() {
        let mut normals = Normals::stream(1);
        let n = 100_000;
        let (mut sum, mut squares) = (0.0, 0.0);
        for _ in 0..n {
            let x = normals.normal();
            sum += x;
            squares += x * x;
        }
        assert!((sum / f64::from(n)).abs() < 0.013);
        assert!((squares / f64::from(n) - 1.0).abs() < 0.018);
        let mut strata = normals.strata(50);
        strata.sort_by(f64::total_cmp);
        assert!((strata[0] - 0.01).abs() < 1e-12 && (strata[49] - 0.99).abs() < 1e-12);
    }
}
