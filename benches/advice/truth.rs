//! What a remedy brought in truth: the same site with and without it, everything else alike.

use booster_simulator::{Simulation, Way};
use loopmargin::analysis::{Measure, Path, Remedy};

/// A prediction and what came of it, dB.
#[derive(Clone, Copy, Debug)]
pub struct Effect {
    pub predicted_db: f64,
    pub realised_db: f64,
}

fn of_band(s: &Simulation, band: usize, path: Path, measure: Measure) -> Option<f64> {
    let way = crate::technician::way(path);
    let unit = s.unit().bands().get(band)?;
    let lane = unit.lane(way);
    Some(match measure {
        Measure::LoopMargin => s.true_isolation_db(band, way)? - lane.set_db(),
        Measure::Headroom => -s.true_input_dbm(band, way)? - lane.set_db(),
        Measure::Signal => {
            let rsrp = s.world().cells().get(unit.wanted?)?.rsrp_dbm();
            // The path to the cell is the same both ways, the line loses as the frequency has it.
            rsrp + s.world().donor_line_db(band, Way::Dl) - s.world().donor_line_db(band, way)
        }
        Measure::Quiet => -lane.amplifier.working().gain_db,
        Measure::Gain => lane.amplifier.working().gain_db,
        Measure::Balance => -(unit.dl.set_db() - unit.ul.set_db()).abs(),
    })
}

/// The measure in one band, or its mean over all.
pub fn figure(s: &Simulation, band: Option<usize>, path: Path, measure: Measure) -> Option<f64> {
    let bands = match band {
        Some(band) => band..band + 1,
        None => 0..s.unit().bands().len(),
    };
    let n = bands.len() as f64;
    let sum: Option<f64> = bands.map(|b| of_band(s, b, path, measure)).sum();
    sum.map(|s| s / n).filter(|v| v.is_finite())
}

/// Sums of figures over some seconds, by direction, for one remedy.
pub struct Watch<'a> {
    remedy: &'a Remedy,
    band: Option<usize>,
    sums: [Option<f64>; 2],
}

impl<'a> Watch<'a> {
    pub fn new(remedy: &'a Remedy, band: Option<usize>) -> Self {
        Self {
            remedy,
            band,
            sums: [Some(0.0); 2],
        }
    }

    pub fn look(&mut self, s: &Simulation) {
        for path in Path::BOTH {
            let now = self
                .remedy
                .effect(path)
                .and_then(|(measure, _)| figure(s, self.band, path, measure));
            let sum = &mut self.sums[path as usize];
            *sum = sum.zip(now).map(|(a, b)| a + b);
        }
    }

    /// What the remedy brought, against a site without it that was watched as long, `n` times.
    pub fn against(&self, without: &Watch<'_>, n: f64) -> Vec<Effect> {
        Path::BOTH
            .into_iter()
            .filter_map(|path| {
                let (_, predicted_db) = self.remedy.effect(path)?;
                let realised_db = (self.sums[path as usize]? - without.sums[path as usize]?) / n;
                Some(Effect {
                    predicted_db,
                    realised_db,
                })
            })
            .collect()
    }
}
