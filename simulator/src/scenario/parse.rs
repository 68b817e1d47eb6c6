//! From text to a scenario that can run.

use super::error::nearest;
use super::{CellSpec, FINDING_CODES, Scenario, ScenarioError, Timeline};
use radio::channel::{lte, nr};
use std::path::Path;

impl Scenario {
    /// Reads a scenario from text; `origin` names it in errors, and its file stem is the scenario's name.
    ///
    /// # Errors
    /// [`ScenarioError::Syntax`] with the line, and for an unknown key the nearest one; [`ScenarioError::Invalid`].
    pub fn parse(text: &str, origin: &str) -> Result<Self, ScenarioError> {
        Self::parsed(text, origin)?.checked(origin)
    }

    fn parsed(text: &str, origin: &str) -> Result<Self, ScenarioError> {
        let mut scenario: Scenario = toml::from_str(text).map_err(|e| syntax(&e, text, origin))?;
        let stem = Path::new(origin).file_stem().and_then(|s| s.to_str());
        scenario.name = stem.unwrap_or(origin).to_owned();
        Ok(scenario)
    }

    fn checked(self, origin: &str) -> Result<Self, ScenarioError> {
        match self.check() {
            Ok(()) => Ok(self),
            Err(message) => Err(ScenarioError::Invalid {
                origin: origin.to_owned(),
                message,
            }),
        }
    }

    /// Reads a scenario file.
    ///
    /// # Errors
    /// [`ScenarioError::Read`], or as [`Scenario::parse`].
    pub fn load(path: &Path) -> Result<Self, ScenarioError> {
        let read = |path: &Path| {
            std::fs::read_to_string(path).map_err(|source| ScenarioError::Read {
                path: path.to_owned(),
                source,
            })
        };
        let origin = path.display().to_string();
        let mut scenario = Self::parsed(&read(path)?, &origin)?;
        if let Some(file) = scenario.donor.pattern_file.take() {
            scenario.donor.pattern = Some(read(&path.with_file_name(file))?);
        }
        scenario.checked(&origin)
    }

    /// Ranges and references. The error says in words what is wrong.
    fn check(&self) -> Result<(), String> {
        if self.band.is_empty() || self.band.len() > booster_profile::MAX_BANDS {
            return Err(format!("{} bands; a unit has 1 to 16", self.band.len()));
        }
        for (i, band) in self.band.iter().enumerate() {
            let name = &band.name;
            if band.number().is_none() {
                return Err(format!("band `{name}`: write B or n and the 3GPP band number"));
            }
            if self.band[..i].iter().any(|b| b.name == *name) {
                return Err(format!("band `{name}` occurs twice"));
            }
            within(&format!("band {name}: dl_mhz"), band.dl_mhz, 400.0, 8_000.0)?;
            within(&format!("band {name}: ul_mhz"), band.ul_mhz, 400.0, 8_000.0)?;
            within(&format!("band {name}: width_mhz"), band.width_mhz, 1.0, 400.0)?;
            within(&format!("band {name}: max_gain_db"), band.max_gain_db, 0.0, 110.0)?;
            within(
                &format!("band {name}: isolation_dl_db"),
                band.isolation_dl_db,
                0.0,
                200.0,
            )?;
            within(
                &format!("band {name}: isolation_ul_db"),
                band.isolation_ul_db,
                0.0,
                200.0,
            )?;
            within(&format!("band {name}: people_db"), band.people_db, 0.0, 6.0)?;
            within(
                &format!("band {name}: agc_range_db"),
                band.agc_range_db,
                0.0,
                60.0,
            )?;
        }
        if self.donor.pattern_file.is_some() {
            return Err(
                "donor: pattern_file needs a scenario that is read from a file; put the text into pattern"
                    .to_owned(),
            );
        }
        if let Some(text) = &self.donor.pattern {
            radio::pattern::msi::Pattern::parse(text).map_err(|e| format!("donor: pattern: {e}"))?;
        }
        for cell in &self.cell {
            let name = &cell.name;
            self.band_index(&cell.band)
                .ok_or(format!("cell `{name}`: no band `{}`", cell.band))?;
            within(&format!("cell {name}: load"), cell.load, 0.0, 1.0)?;
            within(&format!("cell {name}: rsrp_dbm"), cell.rsrp_dbm, -160.0, -20.0)?;
            within(
                &format!("cell {name}: resource_blocks"),
                f64::from(cell.resource_blocks),
                1.0,
                273.0,
            )?;
            self.check_channel(cell)?;
            if crate::world::plmn(&cell.operator).is_none() {
                return Err(format!(
                    "cell {name}: operator `{}` needs 5 or 6 digits",
                    cell.operator
                ));
            }
        }
        for handset in &self.handset {
            let name = &handset.name;
            self.band_index(&handset.band)
                .ok_or(format!("handset `{name}`: no band `{}`", handset.band))?;
        }
        let unit = &self.unit;
        if unit.short_name.len() > booster_profile::advertising::MAX_NAME_LEN {
            return Err(format!(
                "unit: short_name `{}` is longer than 7 bytes",
                unit.short_name
            ));
        }
        let intervals = [unit.min_report_ms, unit.report_ms, unit.max_report_ms];
        if unit.min_report_ms < 100 || unit.max_report_ms > 10_000 || !intervals.is_sorted() {
            return Err("unit: 100 ≤ min_report_ms ≤ report_ms ≤ max_report_ms ≤ 10000 must hold".to_owned());
        }
        within("unit: modem_ms", f64::from(unit.modem_ms), 250.0, 60_000.0)?;
        within("transport: mtu", f64::from(self.transport.mtu), 23.0, 517.0)?;
        within("transport: interval_ms", self.transport.interval_ms, 0.0, 4_000.0)?;
        for (key, p) in [
            ("loss", self.transport.loss),
            ("duplicate", self.transport.duplicate),
            ("reorder", self.transport.reorder),
            ("truncate", self.transport.truncate),
            ("garble", self.transport.garble),
        ] {
            within(&format!("transport: {key}"), p, 0.0, 1.0)?;
        }
        for expected in &self.expect {
            let code = expected.code.as_str();
            if !FINDING_CODES.contains(&code) {
                let hint = nearest(code, FINDING_CODES.iter().copied())
                    .map(|n| format!("; did you mean `{n}`?"))
                    .unwrap_or_default();
                return Err(format!("expect: no finding has the code `{code}`{hint}"));
            }
            if let Some(band) = &expected.band {
                self.band_index(band)
                    .ok_or(format!("expect {code}: no band `{band}`"))?;
            }
        }
        Timeline::new(self).map(|_| ())
    }
}

impl Scenario {
    /// The carrier must lie inside the pass band of its band.
    fn check_channel(&self, cell: &CellSpec) -> Result<(), String> {
        let Some(band) = self.band.iter().find(|b| b.name == cell.band) else {
            return Ok(());
        };
        let (name, channel) = (&cell.name, cell.channel);
        let (number, nr) = band.number().unwrap_or_default();
        let centre = if nr {
            nr::frequency(channel).map_err(|e| format!("cell {name}: {e}"))?
        } else {
            let found = lte::channel(channel).map_err(|e| format!("cell {name}: {e}"))?;
            if found.band != number {
                return Err(format!(
                    "cell {name}: channel {channel} belongs to band {}, not to {}",
                    found.band, band.name
                ));
            }
            found.frequency
        };
        let half_mhz = f64::from(cell.resource_blocks) * 12.0 * f64::from(cell.spacing_khz) / 2_000.0;
        if (centre.0 - band.dl_mhz).abs() + half_mhz > band.width_mhz / 2.0 + 1e-6 {
            return Err(format!(
                "cell {name}: its carrier, {half_mhz:.1} MHz either side of {centre}, reaches beyond the pass band of {}",
                band.name
            ));
        }
        Ok(())
    }
}

fn within(what: &str, value: f64, low: f64, high: f64) -> Result<(), String> {
    if (low..=high).contains(&value) {
        Ok(())
    } else {
        Err(format!("{what} is {value}; it must lie within {low} and {high}"))
    }
}

/// Adds the line and, for an unknown key or value, the nearest known one: serde lists those that it expected in
/// backticks after the one that it met.
fn syntax(error: &toml::de::Error, text: &str, origin: &str) -> ScenarioError {
    let start = error.span().map_or(0, |span| span.start);
    let line = 1 + text.bytes().take(start).filter(|b| *b == b'\n').count();
    let message = error.message();
    let mut quoted = message.split('`').skip(1).step_by(2);
    let unknown = message.starts_with("unknown").then(|| quoted.next()).flatten();
    let nearest = unknown.and_then(|word| nearest(word, quoted));
    // The list of everything that would be allowed is long; the nearest says more.
    let short = match (unknown, &nearest) {
        (Some(word), Some(_)) => {
            let kind = message.split('`').next().unwrap_or_default();
            format!("{kind}`{word}`")
        }
        _ => message.to_owned(),
    };
    ScenarioError::Syntax {
        origin: origin.to_owned(),
        line,
        message: short,
        nearest,
    }
}
