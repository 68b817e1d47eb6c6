//! One visit, gathered from its session in one pass and bounded memory.

use super::curve::Curve;
use super::quantity::Quantity;
use super::recent::Recent;
use super::spread::Spread;
use super::text::span;
use super::trouble::Troubles;
use super::work::Work;
use crate::aiming::Outcome;
use crate::analysis::acceptance::{Acceptance, Survey};
use crate::event::{Event, SessionTime};
use crate::fold::{Fold, Update};
use crate::session::{Header, Integrity};
use booster_profile::OperatingState;
use std::time::Duration;

/// Shorter than this proves nothing about people, doors and traffic; an acceptance test takes as long.
const LEAST: Duration = Duration::from_secs(60);

/// A band over the visit.
#[derive(Clone, Debug, Default)]
pub(super) struct BandVisit {
    /// Every value over time, by [`Quantity::index`].
    pub(super) curves: [Curve; Quantity::ALL.len()],
    /// Every value since the last change, by [`Quantity::index`].
    pub(super) spreads: [Spread; Quantity::ALL.len()],
    /// Readings since the last change.
    pub(super) settled_readings: u64,
}

/// What a report tells about one session.
#[derive(Debug)]
pub struct Visit {
    /// The recording's name, without its folder.
    pub(super) name: String,
    /// SHA-256 of the recording, hexadecimal.
    pub(super) digest: Option<String>,
    pub(super) header: Header,
    pub(super) integrity: Integrity,
    /// The state at the end.
    pub(super) fold: Fold,
    pub(super) bands: Vec<BandVisit>,
    pub(super) troubles: Troubles,
    pub(super) work: Work,
    /// Since when nothing was changed.
    pub(super) settled_since: SessionTime,
    pub(super) aim: Option<Outcome>,
    /// The acceptance test over the settled part; otherwise why there is none.
    pub(super) acceptance: Result<Acceptance, String>,
}

impl Visit {
    /// Condition of the recording.
    pub fn integrity(&self) -> &Integrity {
        &self.integrity
    }
}

/// Gathers a visit while its session is folded.
#[derive(Debug, Default)]
pub struct Gatherer {
    bands: Vec<BandVisit>,
    recent: Vec<Recent>,
    troubles: Troubles,
    work: Work,
    settled_since: SessionTime,
    /// The acceptance test since then.
    survey: Survey,
    boot_id: Option<u32>,
}

impl Gatherer {
    /// Takes in an event and what the fold made of it.
    pub fn take(&mut self, event: &Event, updates: &[Update], fold: &Fold) {
        if self.work.event(event, fold.telemetry().identity()) {
            self.unsettle(event.at);
        }
        for update in updates {
            self.update(update, fold);
        }
        let boot_id = fold.telemetry().boot_id();
        if boot_id != self.boot_id {
            if self.boot_id.is_some() {
                self.work.restarted(event.at);
                self.unsettle(event.at);
            }
            self.boot_id = boot_id;
        }
    }

    fn update(&mut self, update: &Update, fold: &Fold) {
        self.survey.update(update, fold);
        match update {
            Update::Reading { reading, late: false } => {
                let bands = fold.telemetry().identity().bands.bands.len();
                if self.bands.len() != bands {
                    self.bands.resize_with(bands, BandVisit::default);
                    self.recent.resize_with(bands, Recent::default);
                }
                if let (Some(band), Some(recent)) = (
                    self.bands.get_mut(reading.position),
                    self.recent.get_mut(reading.position),
                ) {
                    recent.push(reading);
                    band.settled_readings += 1;
                    let values = band.curves.iter_mut().zip(&mut band.spreads);
                    for (quantity, (curve, spread)) in Quantity::ALL.iter().zip(values) {
                        if let Some(tenths) = quantity.tenths(reading) {
                            curve.push(reading.at, f64::from(tenths) / 10.0);
                            spread.push(tenths);
                        }
                    }
                }
                self.troubles.pass(reading.at, &self.recent);
            }
            Update::Finding(finding) => self.troubles.change(finding, &self.recent),
            // Gain is held down and the uplink off: nothing measured now is how the unit will run.
            Update::Unit(at, status) if status.state == OperatingState::AimSafe => self.unsettle(*at),
            _ => {}
        }
    }

    /// Something was changed: what was measured so far does not describe what is there now.
    fn unsettle(&mut self, at: SessionTime) {
        self.settled_since = at;
        self.survey = Survey::default();
        for band in &mut self.bands {
            band.spreads = Default::default();
            band.settled_readings = 0;
        }
    }

    /// The visit, once the session is at its end.
    pub fn finish(
        self,
        name: String,
        digest: Option<String>,
        header: Header,
        integrity: Integrity,
        fold: Fold,
    ) -> Visit {
        let acceptance = judge(self.survey, self.settled_since, &fold);
        Visit {
            name,
            digest,
            header,
            integrity,
            aim: Outcome::of(fold.aim()),
            acceptance,
            fold,
            bands: self.bands,
            troubles: self.troubles,
            work: self.work,
            settled_since: self.settled_since,
        }
    }
}

/// The acceptance test over what was measured since the last change; otherwise why there is none.
fn judge(mut survey: Survey, since: SessionTime, fold: &Fold) -> Result<Acceptance, String> {
    if !survey.heard() {
        return Err("no reading came after the last change".to_owned());
    }
    let settled = fold.now() - since;
    if settled < LEAST {
        return Err(format!(
            "only {} passed without a change at its end, and the test takes {}",
            span(settled),
            span(LEAST)
        ));
    }
    // What was found before the last change and has not gone since counts too.
    for finding in fold.findings().iter().filter(|f| f.raised < since) {
        survey.update(&Update::Finding(finding.clone()), fold);
    }
    Ok(Acceptance {
        duration_s: settled.as_secs_f64(),
        ..survey.outcome(fold)
    })
}
