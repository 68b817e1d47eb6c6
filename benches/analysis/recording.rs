//! What the telemetry fold hands to the analyser, kept.

use booster_profile::{CellReport, UnitStatus};
use booster_simulator::Simulation;
use booster_simulator::generate::{Family, Reporting, site};
use loopmargin::analysis::Criteria;
use loopmargin::event::SessionTime;
use loopmargin::fold::{Fold, Update};
use loopmargin::link::Pull;
use loopmargin::link::simulator::SimulatorLink;
use loopmargin::telemetry::{Accounts, Identity, Reading};

/// Something for the analyser.
pub enum What {
    Reading(Reading, Accounts),
    Cell(CellReport),
    Unit(UnitStatus),
}

/// A session's worth of it.
pub struct Recording {
    pub identity: Identity,
    pub items: Vec<(SessionTime, What)>,
    pub readings: u64,
}

impl Recording {
    /// The first healthy site from this seed on with so many bands, for so long, at 10 Hz.
    pub fn healthy(seed: u64, bands: usize, seconds: f64) -> Self {
        let scenario = (seed..)
            .map(|s| site(s, Family::Healthy, &Reporting::FULL).scenario)
            .find(|s| s.band.len() == bands)
            .unwrap_or_else(|| site(seed, Family::Healthy, &Reporting::FULL).scenario);
        let mut link = SimulatorLink::new(Simulation::new(&scenario, seed));
        let mut fold = Fold::new(Criteria::default());
        let (mut items, mut updates, mut readings) = (Vec::new(), Vec::new(), 0);
        while let Some(event) = link.next_event().filter(|e| e.at.seconds() <= seconds) {
            fold.apply(&event, &mut updates);
            fold.take_requests().into_iter().for_each(|r| link.request(r));
            for update in updates.drain(..) {
                match update {
                    Update::Reading { reading, late: false } => {
                        let accounts = fold.telemetry().accounts(reading.position);
                        readings += 1;
                        items.push((event.at, What::Reading(reading, accounts)));
                    }
                    Update::Cell(at, cell) => items.push((at, What::Cell(cell))),
                    Update::Unit(at, status) => items.push((at, What::Unit(status))),
                    _ => {}
                }
            }
        }
        Self {
            identity: fold.telemetry().identity().clone(),
            items,
            readings,
        }
    }
}
