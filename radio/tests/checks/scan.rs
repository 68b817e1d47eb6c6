//! Rows that need many noisy scans of a beam: Monte Carlo with a generator of our own.

use radio::beam::{Point, known_width_peak};
use radio::{Bearing, Dbm, Degrees};

use super::csv::Row;

const RUNS: u32 = 20_000;

/// Where the peak lies, from one scan.
type Estimator = fn(&Scan, &[f64]) -> f64;

/// What many scans give, or nothing for rows of another kind.
pub fn evaluate(row: &Row) -> Option<f64> {
    let (estimate, loss): (Estimator, bool) = match row.quantity.as_str() {
        q if q.starts_with("MC rms error, known-curvature fit") => (Scan::known_width, false),
        q if q.starts_with("MC rms error, free quadratic") => (Scan::free_quadratic, false),
        q if q.starts_with("MC rms error, best-of-N argmax") => (Scan::argmax, false),
        q if q.starts_with("MC mean pointing loss argmax") => (Scan::argmax, true),
        q if q.starts_with("MC mean pointing loss known-curvature fit") => (Scan::known_width, true),
        _ => return None,
    };
    let scan = Scan::new(
        row.number("n") as i32,
        row.number("step_deg"),
        row.number("phi3_deg"),
    );
    let mut noise = Gauss { state: 12345 };
    let squares: f64 = (0..RUNS)
        .map(|_| {
            let levels: Vec<f64> = scan
                .angles
                .iter()
                .map(|a| scan.level(*a) + row.number("sigma_db") * noise.next())
                .collect();
            let error = estimate(&scan, &levels);
            error * error
        })
        .sum::<f64>()
        / f64::from(RUNS);
    Some(if loss {
        12.0 * squares / (scan.width * scan.width)
    } else {
        squares.sqrt()
    })
}

/// A scan about the peak of a beam, which lies at 0°.
struct Scan {
    angles: Vec<f64>,
    width: f64,
}

impl Scan {
    fn new(count: i32, step: f64, width: f64) -> Self {
        let angles = (0..count)
            .map(|k| (f64::from(k) - f64::from(count - 1) / 2.0) * step)
            .collect();
        Self { angles, width }
    }

    fn level(&self, angle: f64) -> f64 {
        -12.0 * (angle / self.width).powi(2)
    }

    fn known_width(&self, levels: &[f64]) -> f64 {
        let points: Vec<_> = self
            .angles
            .iter()
            .zip(levels)
            .map(|(angle, level)| Point {
                bearing: Bearing::new(*angle),
                level: Dbm(*level),
            })
            .collect();
        (known_width_peak(&points, Degrees(self.width)).unwrap().bearing - Bearing::new(0.0)).0
    }

    fn argmax(&self, levels: &[f64]) -> f64 {
        let best = (0..levels.len())
            .max_by(|a, b| levels[*a].total_cmp(&levels[*b]))
            .unwrap();
        self.angles[best]
    }

    /// Least squares with the width free, kept within the scan: the method the known width is compared with.
    fn free_quadratic(&self, levels: &[f64]) -> f64 {
        let n = levels.len() as f64;
        let mean_square = self.angles.iter().map(|a| a * a).sum::<f64>() / n;
        let (mut linear, mut quadratic, mut s2, mut s4) = (0.0, 0.0, 0.0, 0.0);
        for (angle, level) in self.angles.iter().zip(levels) {
            let bent = angle * angle - mean_square;
            linear += angle * level;
            quadratic += bent * level;
            s2 += angle * angle;
            s4 += bent * bent;
        }
        let (c1, c2) = (linear / s2, quadratic / s4);
        let last = self.angles[self.angles.len() - 1];
        if c2 < 0.0 {
            (-c1 / (2.0 * c2)).clamp(-last, last)
        } else {
            self.argmax(levels)
        }
    }
}

/// Normal deviates by Box and Muller from Knuth's 64-bit congruential generator.
struct Gauss {
    state: u64,
}

impl Gauss {
    fn uniform(&mut self) -> f64 {
        self.state = self
            .state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        ((self.state >> 11) as f64 + 0.5) / (1_u64 << 53) as f64
    }

    fn next(&mut self) -> f64 {
        let radius = (-2.0 * self.uniform().ln()).sqrt();
        radius * (std::f64::consts::TAU * self.uniform()).cos()
    }
}
