//! Slow wander of a stationary receiver's level.
//!
//! The sum of four first-order Gauss–Markov processes reproduces what stationary phones recorded (facts G.3): short
//! dwells are as good as long ones, and positions minutes apart differ by almost 1 dB for no reason.

use crate::rng::Rng;

/// Variances in dB² and time constants in s (design/simulator.md).
pub const TERMS: [(f64, f64); 4] = [(0.61, 2.0), (0.073, 15.0), (0.233, 60.0), (0.323, 400.0)];

/// One first-order Gauss–Markov process, advanced by any step without changing its statistics.
#[derive(Clone, Debug)]
pub struct GaussMarkov {
    value: f64,
    sigma: f64,
    tau_s: f64,
    step_s: f64,
    keep: f64,
    kick: f64,
}

impl GaussMarkov {
    /// A process of this standard deviation and time constant, started in its steady state.
    pub fn new(sigma: f64, tau_s: f64, rng: &mut Rng) -> Self {
        Self {
            value: sigma * rng.normal(),
            sigma,
            tau_s,
            step_s: 0.0,
            keep: 1.0,
            kick: 0.0,
        }
    }

    /// Advances by `dt_s` seconds (exact discretisation) and returns the new value.
    pub fn step(&mut self, dt_s: f64, rng: &mut Rng) -> f64 {
        if self.sigma == 0.0 {
            return 0.0;
        }
        if dt_s != self.step_s {
            self.step_s = dt_s;
            self.keep = libm::exp(-dt_s / self.tau_s);
            self.kick = self.sigma * libm::sqrt(1.0 - self.keep * self.keep);
        }
        self.value = self.value * self.keep + self.kick * rng.normal();
        self.value
    }

    /// The present value.
    pub fn value(&self) -> f64 {
        self.value
    }
}

/// Wander of one cell's level in dB, the same for every bearing of the antenna.
#[derive(Clone, Debug)]
pub struct Wander {
    terms: [GaussMarkov; 4],
    rng: Rng,
    slow_s: f64,
    sum: f64,
}

/// The two slow terms hardly move within a second; they are stepped once a second.
const SLOW_STEP_S: f64 = 1.0;

impl Wander {
    /// The wander of one cell; `scale` multiplies every term (1 = as recorded).
    pub fn new(scale: f64, mut rng: Rng) -> Self {
        let terms =
            TERMS.map(|(variance, tau)| GaussMarkov::new(scale * libm::sqrt(variance), tau, &mut rng));
        let sum = terms.iter().map(GaussMarkov::value).sum();
        Self {
            terms,
            rng,
            slow_s: 0.0,
            sum,
        }
    }

    /// Advances by `dt_s` seconds.
    pub fn step(&mut self, dt_s: f64) {
        self.slow_s += dt_s;
        let [fast, brisk, slow, slowest] = &mut self.terms;
        fast.step(dt_s, &mut self.rng);
        brisk.step(dt_s, &mut self.rng);
        if self.slow_s >= SLOW_STEP_S - 1e-9 {
            slow.step(self.slow_s, &mut self.rng);
            slowest.step(self.slow_s, &mut self.rng);
            self.slow_s = 0.0;
        }
        self.sum = self.terms.iter().map(GaussMarkov::value).sum();
    }

    /// The present value, dB.
    pub fn db(&self) -> f64 {
        self.sum
    }
}
