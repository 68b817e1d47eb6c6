//! The fold over the period, and the result that it comes to.

use super::judge::{self, Ground};
use super::outcome::{Acceptance, BandAcceptance, Criterion, Verdict};
use super::series::Series;
use super::sheet::{Measured, Sheet, Test, room};
use super::table;
use super::unit::UnitSeries;
use crate::analysis::rules::BandFacts;
use crate::analysis::{Criteria, Finding, Severity, Subject};
use crate::event::SessionTime;
use crate::fold::{Fold, Update};
use booster_profile::{Direction as EventDirection, EventCode};
use std::borrow::Cow;

/// An acceptance test under way: takes in what the fold puts out.
#[derive(Clone, Debug)]
pub struct Survey {
    /// Time of the first update.
    began: Option<SessionTime>,
    bands: Vec<Series>,
    unit: UnitSeries,
    /// Findings, each code and subject once, as first raised; the highest severity is kept.
    findings: Vec<Finding>,
}

impl Default for Survey {
    fn default() -> Self {
        Self {
            began: None,
            bands: Vec::new(),
            unit: UnitSeries::new(),
            findings: Vec::new(),
        }
    }
}

impl Survey {
    /// Takes in one update; `fold` is the state after it.
    pub fn update(&mut self, update: &Update, fold: &Fold) {
        let identity = fold.telemetry().identity();
        self.began.get_or_insert(fold.now());
        match update {
            Update::Reading { reading, late: false } => {
                if let Some(series) = self.band(reading.position) {
                    series.reading(reading);
                }
            }
            Update::Cell(_, cell) => {
                if let Some(series) = identity.position(cell.band).and_then(|p| self.band(p)) {
                    series.cell(cell);
                }
            }
            Update::Unit(at, status) => self.unit.status(*at, status),
            Update::UnitEvent(_, logged) if !logged.stored => {
                let oscillates = matches!(
                    logged.event.code,
                    EventCode::OscillationDetected | EventCode::GuardActed | EventCode::LatchedOff
                );
                let position = logged.event.band.and_then(|b| identity.position(b));
                if oscillates && let Some(series) = position.and_then(|p| self.band(p)) {
                    let [dl, ul] = &mut series.directions;
                    dl.guarded += u32::from(logged.event.direction != EventDirection::Uplink);
                    ul.guarded += u32::from(logged.event.direction != EventDirection::Downlink);
                }
            }
            Update::Finding(finding) if finding.is_open() => self.finding(finding),
            _ => {}
        }
    }

    fn band(&mut self, position: usize) -> Option<&mut Series> {
        if position >= booster_profile::MAX_BANDS {
            return None;
        }
        while self.bands.len() <= position {
            self.bands.push(Series::new());
        }
        self.bands.get_mut(position)
    }

    fn finding(&mut self, finding: &Finding) {
        let same = |f: &&mut Finding| f.code == finding.code && f.subject == finding.subject;
        match self.findings.iter_mut().find(same) {
            Some(known) if known.severity < finding.severity => *known = finding.clone(),
            Some(_) => {}
            None => self.findings.push(finding.clone()),
        }
    }

    /// Whether anything was heard of the unit.
    pub fn heard(&self) -> bool {
        self.bands.iter().any(|b| b.readings > 0)
    }

    /// The result so far.
    pub fn outcome(&self, fold: &Fold) -> Acceptance {
        let (telemetry, criteria) = (fold.telemetry(), fold.analyser().criteria());
        let identity = telemetry.identity();
        let silent = Series::new();
        let mut sheets = Vec::new();
        for (position, band) in identity.bands.bands.iter().enumerate() {
            let mut sheet = Sheet::new(Some(identity.name(position)));
            let ground = Ground {
                criteria,
                identity,
                band,
                facts: &BandFacts::new(band, criteria),
                accounts: telemetry.accounts(position),
            };
            judge::band(&mut sheet, self.bands.get(position).unwrap_or(&silent), &ground);
            self.judge_findings(&mut sheet, Some(position));
            sheets.push(sheet);
        }
        let mut unit = Sheet::new(None);
        judge::unit(&mut unit, &self.unit, criteria);
        self.judge_findings(&mut unit, None);
        let began = self.began.unwrap_or(fold.now());
        let duration_s = fold.now().since(began).as_secs_f64();
        self.result(criteria, &sheets, unit, duration_s)
    }

    fn judge_findings(&self, sheet: &mut Sheet, band: Option<usize>) {
        let counted: Vec<&Finding> = self
            .findings
            .iter()
            .filter(|f| f.subject.band == band && f.severity > Severity::Info)
            .collect();
        sheet.judge(
            &table::FINDINGS,
            None,
            Measured::exact(counted.len() as f64, 0.0),
            "",
        );
        let Some((criterion, _)) = sheet.criteria.last_mut() else {
            return;
        };
        if counted.is_empty() {
            return;
        }
        let critical = counted.iter().any(|f| f.severity == Severity::Critical);
        criterion.result = if critical {
            Verdict::Fail
        } else {
            Verdict::Marginal
        };
        let names: Vec<&str> = counted.iter().map(|f| f.code.name()).collect();
        criterion.statistic = Cow::Owned(format!("{}: {}", table::FINDINGS.statistic, names.join(", ")));
    }

    fn result(&self, criteria: &Criteria, sheets: &[Sheet], unit: Sheet, duration_s: f64) -> Acceptance {
        let wanted = &criteria.acceptance.bands;
        let required = |sheet: &Sheet| {
            wanted.is_empty() || sheet.band.as_ref().is_some_and(|name| wanted.contains(name))
        };
        let counting: Vec<(Option<usize>, &Sheet)> = sheets
            .iter()
            .enumerate()
            .filter(|(_, sheet)| required(sheet))
            .map(|(position, sheet)| (Some(position), sheet))
            .chain([(None, &unit)])
            .collect();
        let result = counting
            .iter()
            .map(|(_, sheet)| sheet.result())
            .max()
            .unwrap_or(Verdict::Fail);
        let limiting = counting
            .iter()
            .filter_map(|(position, sheet)| Some((*position, sheet.limiting()?)))
            .min_by(|(_, (a, _)), (_, (b, _))| b.result.cmp(&a.result).then(room(a).total_cmp(&room(b))));
        let not_judged: Vec<_> = sheets
            .iter()
            .chain([&unit])
            .flat_map(|sheet| sheet.missing.iter().cloned())
            .collect();
        let first_action = match limiting {
            Some((position, (criterion, test))) if criterion.result > Verdict::Pass => {
                Some(self.action(position, criterion, test))
            }
            _ => not_judged
                .iter()
                .find(|m| m.essential)
                .map(|m| format!("Judge {} another way: {}.", m.name, m.reason)),
        };
        Acceptance {
            result,
            bands: sheets
                .iter()
                .map(|sheet| BandAcceptance {
                    band: sheet.band.clone().unwrap_or_default(),
                    result: sheet.result(),
                    required: required(sheet),
                    criteria: sheet.criteria.iter().map(|(c, _)| c.clone()).collect(),
                })
                .collect(),
            limiting: limiting.map(|(_, (criterion, _))| criterion.name),
            limiting_band: limiting
                .and_then(|(position, _)| sheets.get(position?))
                .and_then(|sheet| sheet.band.clone()),
            limiting_direction: limiting.and_then(|(_, (criterion, _))| criterion.direction),
            first_action,
            baseline: None,
            unit: unit.criteria.into_iter().map(|(c, _)| c).collect(),
            not_judged,
            duration_s,
        }
    }

    /// What the findings say to do first; else what the criterion itself says.
    fn action(&self, band: Option<usize>, criterion: &Criterion, test: &Test) -> String {
        let of = |subject: &Subject| {
            (subject.band == band || subject.band.is_none())
                && (criterion.direction.is_none()
                    || subject.path.is_none_or(|p| Some(p.name()) == criterion.direction))
        };
        let worst = self
            .findings
            .iter()
            .filter(|f| of(&f.subject) && f.severity > Severity::Info)
            .filter(|f| {
                f.severity == Severity::Critical || test.codes.is_empty() || test.codes.contains(&f.code)
            })
            // The first of the worst.
            .rev()
            .max_by_key(|f| f.severity);
        worst
            .and_then(|f| f.remedies.first())
            .map_or_else(|| test.action.to_owned(), |remedy| remedy.action.clone())
    }
}
