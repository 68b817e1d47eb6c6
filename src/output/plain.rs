//! Plain lines: state changes, and every few seconds a summary per band. For screen readers, logs and tests.

use super::aim::result;
use super::{Output, Summary};
use crate::aiming::Outcome;
use crate::analysis::{EvidenceValue, Finding};
use crate::event::SessionTime;
use crate::fold::{Fold, Update};
use crate::link::words;
use crate::telemetry::Reading;
use std::io::{self, Write};
use std::time::Duration;

/// Time between summaries of the bands.
const PERIOD: Duration = Duration::from_secs(5);

/// Prints one session as plain lines.
pub struct Plain<W> {
    out: W,
    next_summary: Option<SessionTime>,
}

impl<W: Write> Plain<W> {
    /// Prints to `out`.
    pub fn new(out: W) -> Self {
        Self {
            out,
            next_summary: None,
        }
    }

    fn session(&mut self, fold: &Fold) -> io::Result<()> {
        let identity = fold.telemetry().identity();
        let text = |s: &Option<String>| s.clone().unwrap_or_else(|| "not stated".to_owned());
        if !identity.is_known() {
            return writeln!(self.out, "unit: not known yet");
        }
        let bands: Vec<&str> = (0..identity.bands.bands.len())
            .map(|i| identity.name(i))
            .collect();
        writeln!(
            self.out,
            "unit: {}, serial {}, firmware {}; bands {}",
            text(&identity.device.model),
            text(&identity.device.serial),
            text(&identity.device.firmware),
            bands.join(" ")
        )
    }

    fn bands(&mut self, fold: &Fold) -> io::Result<()> {
        for reading in fold.bands().iter().filter_map(|b| b.latest.as_ref()) {
            let name = fold.telemetry().identity().name(reading.position);
            writeln!(self.out, "{}", band_line(fold.now(), name, reading))?;
        }
        let total = fold.telemetry().total();
        let missing = total.missing();
        if missing > 0 {
            writeln!(
                self.out,
                "{} readings: {} of {} missing",
                fold.now(),
                missing,
                total.expected
            )?;
        }
        Ok(())
    }
}

fn or_unknown<T: std::fmt::Display>(value: Option<T>) -> String {
    value.map_or_else(|| "not known".to_owned(), |v| v.to_string())
}

fn band_line(now: SessionTime, name: &str, r: &Reading) -> String {
    let t = &r.telemetry;
    let age = now - r.at;
    let stale = if age > Duration::from_secs(3) {
        format!(" OLD by {:.0} s", age.as_secs_f64())
    } else {
        String::new()
    };
    format!(
        "{now} {name}:{stale} input {}, gain down {} up {}, loop margin {}, RSRP {}, SINR {}, down {}, up {}",
        or_unknown(t.dl_input),
        or_unknown(t.dl_gain),
        or_unknown(t.ul_gain),
        or_unknown(r.margin()),
        or_unknown(t.extra.cell.rsrp),
        or_unknown(t.extra.cell.sinr),
        t.dl_state.name(),
        t.ul_state.name(),
    )
}

fn finding_lines(f: &Finding) -> Vec<String> {
    if let Some(cleared) = f.cleared {
        return vec![format!("{cleared} cleared: {} ({})", f.code.name(), f.meaning)];
    }
    let mut lines = vec![format!(
        "{} {}: {}: {}",
        f.raised,
        f.severity.name(),
        f.code.name(),
        f.meaning
    )];
    let evidence: Vec<String> = f
        .evidence
        .iter()
        .map(|e| match &e.value {
            EvidenceValue::Number(n) => format!("{} {n}", e.name),
            EvidenceValue::Text(t) => format!("{} {t}", e.name),
        })
        .collect();
    lines.push(format!("    evidence: {}", evidence.join(", ")));
    if let Some(remedy) = f.remedies.first() {
        lines.push(format!("    do first: {}", remedy.action));
        if let Some(effect) = remedy.effect_words() {
            lines.push(format!("    brings: {effect}"));
        }
        if let Some(cost) = &remedy.cost {
            lines.push(format!("    costs: {cost}"));
        }
        if let Some(caution) = &remedy.caution {
            lines.push(format!("    caution: {caution}"));
        }
    }
    lines
}

impl<W: Write> Output for Plain<W> {
    fn update(&mut self, update: &Update, fold: &Fold) -> io::Result<()> {
        match update {
            Update::Session => self.session(fold)?,
            Update::Reading { reading, .. } => {
                let due = *self.next_summary.get_or_insert(reading.at);
                // A whole round of bands first, so that each has something to say.
                let all = fold.bands().iter().all(|b| b.latest.is_some());
                if fold.now() >= due && all {
                    self.bands(fold)?;
                    self.next_summary = Some(fold.now() + PERIOD);
                }
            }
            Update::Finding(finding) => {
                for line in finding_lines(finding) {
                    writeln!(self.out, "{line}")?;
                }
            }
            Update::Link { at, state, detail } => {
                let detail = detail.as_deref().map(|d| format!(": {d}")).unwrap_or_default();
                writeln!(self.out, "{at} link {state}{detail}")?;
                if state.waits_for_person() {
                    writeln!(
                        self.out,
                        "    next: {}",
                        words::explain(*state, words::System::current()).next_step
                    )?;
                }
            }
            Update::UnitEvent(at, logged) => {
                let band = logged
                    .event
                    .band
                    .and_then(|b| fold.telemetry().identity().position(b))
                    .map_or("unit", |p| fold.telemetry().identity().name(p));
                let how = if logged.stored {
                    " (from the unit's log)"
                } else {
                    ""
                };
                writeln!(self.out, "{at} event: {band} {}{how}", logged.event.code.name())?;
            }
            Update::Mark(at, mark) => writeln!(self.out, "{at} mark: {mark}")?,
            Update::Cell(..) | Update::Unit(..) => {}
        }
        self.out.flush()
    }

    fn difference(&mut self, difference: &str) -> io::Result<()> {
        writeln!(self.out, "DIFFERS: {difference}")
    }

    fn summary(&mut self, summary: &Summary<'_>) -> io::Result<()> {
        if let Some(outcome) = Outcome::of(summary.fold.aim()) {
            result(&mut self.out, &outcome)?;
        }
        let total = summary.fold.telemetry().total();
        writeln!(
            self.out,
            "end after {}: {} readings of {} expected; lost on the air {}, dropped here {}, malformed {}, incomplete {}, \
             unreadable {}, outage {}",
            summary.fold.now(),
            total.readings,
            total.expected,
            total.lost_on_air,
            total.dropped_on_host,
            total.malformed,
            total.incomplete,
            total.unreadable,
            total.outage
        )?;
        writeln!(
            self.out,
            "findings: {}",
            super::brief::findings(summary.fold.raised())
        )?;
        if summary.not_recorded > 0 {
            writeln!(self.out, "not recorded: {} events", summary.not_recorded)?;
        }
        self.out.flush()
    }
}
