//! Timeline: what happens when.

use super::{AuthorizationSpec, Scenario, Way};
use serde::Deserialize;

/// A fault of the unit's firmware.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Quirk {
    /// Isolation is reported as not known.
    NoIsolation,
    /// Oscillation is neither detected nor reported.
    NoOscillationFlag,
    /// Levels are sent in whole dB instead of tenths.
    WholeDb,
    /// The input sensor of every band repeats its last value.
    FrozenSensor,
    /// Gain is reported above the unit's largest.
    GainTooHigh,
    /// Downlink output does not follow input and gain.
    OutputAstray,
    /// The unit amplifies although a TDD band has lost frame synchronisation.
    TransmitsWithoutSync,
}

/// Something that happens.
#[derive(Clone, Debug, PartialEq)]
pub enum Action {
    /// Isolation changes by this many dB.
    Isolation {
        /// Band by index; every one if not given.
        band: Option<usize>,
        /// Direction; both if not given.
        way: Option<Way>,
        /// Change, dB.
        db: f64,
    },
    /// Attenuation that is set changes by this many dB.
    Attenuation {
        /// Band by index; every one if not given.
        band: Option<usize>,
        /// Direction; both if not given.
        way: Option<Way>,
        /// Change, dB.
        db: f64,
    },
    /// Loss of the donor line changes: dB, and dB more per GHz of frequency (water grows with frequency).
    FeederLoss {
        /// Change, dB.
        db: f64,
        /// Change per GHz of frequency, dB.
        db_per_ghz: f64,
    },
    /// Level of a cell, or of all cells of an operator, a band or of all, changes by this many dB.
    Level {
        /// Cell by index.
        cell: Option<usize>,
        /// Operator code.
        operator: Option<String>,
        /// Band by index; every one if not given.
        band: Option<usize>,
        /// Change, dB.
        db: f64,
    },
    /// A cell appears or vanishes.
    CellOn {
        /// Cell by index.
        cell: usize,
        /// Whether it is there.
        on: bool,
    },
    /// Load of a cell.
    Load {
        /// Cell by index.
        cell: usize,
        /// Mean load, 0 to 1.
        load: f64,
    },
    /// A cell takes another identity, as after a handover of the modem.
    Identity {
        /// Cell by index.
        cell: usize,
        /// New physical cell identity.
        identity: u16,
    },
    /// A handset comes or goes.
    HandsetOn {
        /// Handset by index.
        handset: usize,
        /// Whether it is there.
        on: bool,
    },
    /// Level of a handset at the server port, dBm.
    HandsetLevel {
        /// Handset by index.
        handset: usize,
        /// Level, dBm.
        dbm: f64,
    },
    /// Interference inside the band at the donor port, dBm; `None` ends it.
    Interference {
        /// Band by index; every one if not given.
        band: usize,
        /// Level, dBm.
        dbm: Option<f64>,
    },
    /// A carrier outside all bands at the donor port, dBm; `None` ends it.
    Blocker {
        /// Level, dBm.
        dbm: Option<f64>,
    },
    /// Air temperature at the unit changes by this many °C.
    Ambient {
        /// Change, °C.
        c: f64,
    },
    /// Supply voltage, V.
    Supply {
        /// Voltage, V.
        v: f64,
    },
    /// Authorization changes.
    Authorization(AuthorizationSpec),
    /// TDD frame synchronisation is there or lost.
    Sync {
        /// Band by index; every one if not given.
        band: usize,
        /// As it should be.
        good: bool,
    },
    /// The unit restarts.
    Restart,
    /// The antenna turns to this bearing.
    Turn {
        /// Degrees from north.
        bearing_deg: f64,
    },
    /// Somebody presses the button at the unit (presence).
    Button,
    /// A firmware fault begins or ends.
    QuirkOn {
        /// Which.
        quirk: Quirk,
        /// Whether it is there.
        on: bool,
    },
    /// Donor port: health code of the profile.
    DonorPort(PortSpec),
    /// Server port.
    ServerPort(PortSpec),
    /// Enclosure dry and shut.
    Enclosure {
        /// As it should be.
        good: bool,
    },
    /// Fan turns.
    Fan {
        /// As it should be.
        good: bool,
    },
    /// Wind moves the antenna: levels and isolation swing by this much; 0 ends it.
    Sway {
        /// Change, dB.
        db: f64,
        /// Period, s.
        period_s: f64,
    },
    /// The Bluetooth connection drops and the unit is out of reach for a while.
    Disconnect {
        /// How long, s.
        away_s: f64,
    },
}

/// Health of an antenna port.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum PortSpec {
    /// Matched.
    Good,
    /// Open circuit.
    Open,
    /// Short circuit.
    Short,
    /// Poor return loss.
    PoorMatch,
}

/// One entry of the timeline as it stands in the file: when, where, and exactly one action.
#[derive(Clone, Debug, Default, PartialEq, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct EventSpec {
    /// When, s from the start.
    pub s: f64,
    /// A word on what happens, for people.
    pub note: String,
    /// Undo it after this many seconds.
    pub for_s: Option<f64>,
    /// A change in dB or °C comes evenly over this many seconds.
    pub ramp_s: Option<f64>,
    /// Band by its name; every band if not given.
    pub band: Option<String>,
    /// Direction; both if not given.
    pub direction: Option<Way>,
    /// Cell by its name.
    pub cell: Option<String>,
    /// Operator code.
    pub operator: Option<String>,
    /// Handset by its name.
    pub handset: Option<String>,
    /// Change of isolation, dB.
    pub isolation_db: Option<f64>,
    /// Change of the attenuation that is set, dB.
    pub attenuation_db: Option<f64>,
    /// Change of the loss of the donor line, dB.
    pub feeder_loss_db: Option<f64>,
    /// With `feeder_loss_db`: dB more per GHz.
    pub feeder_loss_db_per_ghz: Option<f64>,
    /// Change of level of `cell`, `operator`, `band` or everything, dB.
    pub level_db: Option<f64>,
    /// Whether `cell` or `handset` is there.
    pub on: Option<bool>,
    /// Load of `cell`, 0 to 1.
    pub load: Option<f64>,
    /// New identity of `cell`.
    pub identity: Option<u16>,
    /// Level of `handset` at the server port, dBm.
    pub level_dbm: Option<f64>,
    /// Interference in `band`, dBm.
    pub interference_dbm: Option<f64>,
    /// Carrier outside all bands, dBm.
    pub blocker_dbm: Option<f64>,
    /// Change of air temperature, °C.
    pub ambient_c: Option<f64>,
    /// Supply voltage, V.
    pub supply_v: Option<f64>,
    /// Authorization.
    pub authorization: Option<AuthorizationSpec>,
    /// TDD frame synchronisation of `band`.
    pub sync: Option<bool>,
    /// `true`: the unit restarts.
    pub restart: Option<bool>,
    /// The antenna turns to this bearing, degrees.
    pub bearing_deg: Option<f64>,
    /// `true`: somebody presses the button at the unit.
    pub button: Option<bool>,
    /// A firmware fault begins.
    pub quirk: Option<Quirk>,
    /// Health of the donor port.
    pub donor_port: Option<PortSpec>,
    /// Health of the server port.
    pub server_port: Option<PortSpec>,
    /// Whether the enclosure is dry and shut.
    pub enclosure: Option<bool>,
    /// Whether the fan turns.
    pub fan: Option<bool>,
    /// Wind: swing of levels, dB.
    pub sway_db: Option<f64>,
    /// With `sway_db`: period, s.
    pub period_s: Option<f64>,
    /// The connection drops and the unit stays out of reach for this many seconds.
    pub away_s: Option<f64>,
}

/// The timeline in the order in which it happens.
#[derive(Clone, Debug, Default)]
pub struct Timeline {
    changes: Vec<(u64, Action)>,
    next: usize,
}

/// Length of the steps of a ramp, s.
const RAMP_STEP_S: f64 = 0.1;

impl Timeline {
    /// The timeline of a scenario.
    ///
    /// # Errors
    /// In words: which entry is wrong and why.
    pub fn new(scenario: &Scenario) -> Result<Self, String> {
        let mut changes = Vec::new();
        for (number, event) in scenario.at.iter().enumerate() {
            let wrong =
                |what: String| format!("entry {} of the timeline (at {} s): {what}", number + 1, event.s);
            if !event.s.is_finite() || event.s < 0.0 {
                return Err(wrong("`s` must be 0 or more".to_owned()));
            }
            let action = event.action(scenario).map_err(wrong)?;
            push(&mut changes, event, &action, scenario).map_err(wrong)?;
        }
        changes.sort_by_key(|(at, _)| *at);
        Ok(Self { changes, next: 0 })
    }

    /// What an entry does, with names resolved.
    ///
    /// # Errors
    /// In words: why it does nothing, or more than one thing.
    pub fn action(scenario: &Scenario, event: &EventSpec) -> Result<Action, String> {
        event.action(scenario)
    }

    /// When the next change happens, µs.
    pub fn next_us(&self) -> Option<u64> {
        self.changes.get(self.next).map(|(at, _)| *at)
    }

    /// The next change if it is due at `now_us`.
    pub fn take_due(&mut self, now_us: u64) -> Option<Action> {
        let (at, action) = self.changes.get(self.next)?;
        if *at > now_us {
            return None;
        }
        self.next += 1;
        Some(action.clone())
    }

    /// Every change with its time in µs.
    pub fn changes(&self) -> &[(u64, Action)] {
        &self.changes
    }
}

fn micros(s: f64) -> u64 {
    (s * 1e6).round() as u64
}

fn push(
    changes: &mut Vec<(u64, Action)>,
    event: &EventSpec,
    action: &Action,
    scenario: &Scenario,
) -> Result<(), String> {
    let start = event.s;
    let steps = match event.ramp_s {
        None => 1,
        Some(ramp) if ramp > 0.0 && ramp <= 86_400.0 => ((ramp / RAMP_STEP_S).round() as usize).max(1),
        Some(_) => return Err("`ramp_s` must lie above 0 and at most a day".to_owned()),
    };
    let mut ramp = |from_s: f64, action: &Action| -> Result<(), String> {
        for step in 1..=steps {
            let at = if steps == 1 {
                from_s
            } else {
                from_s + step as f64 * RAMP_STEP_S
            };
            let part = if steps == 1 {
                action.clone()
            } else {
                action
                    .scaled(1.0 / steps as f64)
                    .ok_or("`ramp_s` goes with changes in dB or °C only")?
            };
            changes.push((micros(at), part));
        }
        Ok(())
    };
    ramp(start, action)?;
    if let Some(duration) = event.for_s {
        if !duration.is_finite() || duration <= 0.0 {
            return Err("`for_s` must lie above 0".to_owned());
        }
        let undo = action
            .undone(scenario)
            .ok_or("`for_s` does not go with this action: state both moments")?;
        ramp(start + duration, &undo)?;
    }
    Ok(())
}

impl Action {
    /// A part of a change that can come gradually.
    fn scaled(&self, part: f64) -> Option<Action> {
        let mut action = self.clone();
        match &mut action {
            Action::Isolation { db, .. } | Action::Attenuation { db, .. } | Action::Level { db, .. } => {
                *db *= part
            }
            Action::FeederLoss { db, db_per_ghz } => {
                *db *= part;
                *db_per_ghz *= part;
            }
            Action::Ambient { c } => *c *= part,
            _ => return None,
        }
        Some(action)
    }

    /// What undoes it, where that is one thing.
    fn undone(&self, scenario: &Scenario) -> Option<Action> {
        if let Some(back) = self.scaled(-1.0) {
            return Some(back);
        }
        let mut action = self.clone();
        match &mut action {
            Action::CellOn { on, .. } | Action::HandsetOn { on, .. } | Action::QuirkOn { on, .. } => {
                *on = !*on
            }
            Action::Interference { dbm, .. } | Action::Blocker { dbm } => *dbm = None,
            Action::Sync { good, .. } | Action::Enclosure { good } | Action::Fan { good } => *good = !*good,
            Action::DonorPort(port) | Action::ServerPort(port) => *port = PortSpec::Good,
            Action::Sway { db, .. } => *db = 0.0,
            Action::Supply { v } => *v = scenario.unit.supply_v,
            Action::Authorization(spec) => *spec = scenario.unit.authorization,
            Action::Turn { bearing_deg } => *bearing_deg = scenario.donor.bearing_deg,
            Action::Load { cell, load } => *load = scenario.cell.get(*cell)?.load,
            Action::Identity { cell, identity } => *identity = scenario.cell.get(*cell)?.identity,
            Action::HandsetLevel { handset, dbm } => *dbm = scenario.handset.get(*handset)?.level_dbm,
            _ => return None,
        }
        Some(action)
    }
}

impl EventSpec {
    /// The action of this entry, with names resolved.
    fn action(&self, scenario: &Scenario) -> Result<Action, String> {
        let mut found: Vec<Action> = Vec::new();
        let band = self
            .band
            .as_ref()
            .map(|name| {
                scenario
                    .band_index(name)
                    .ok_or(format!("no band is called `{name}`"))
            })
            .transpose()?;
        let cell = self
            .cell
            .as_ref()
            .map(|name| {
                let index = scenario.cell.iter().position(|c| c.name == *name);
                index.ok_or(format!("no cell is called `{name}`"))
            })
            .transpose()?;
        let handset = self
            .handset
            .as_ref()
            .map(|name| {
                let index = scenario.handset.iter().position(|h| h.name == *name);
                index.ok_or(format!("no handset is called `{name}`"))
            })
            .transpose()?;
        let need_cell = || cell.ok_or("say which `cell`");
        let need_band = || band.ok_or("say which `band`");
        let way = self.direction;

        if let Some(db) = self.isolation_db {
            found.push(Action::Isolation { band, way, db });
        }
        if let Some(db) = self.attenuation_db {
            found.push(Action::Attenuation { band, way, db });
        }
        if self.feeder_loss_db.is_some() || self.feeder_loss_db_per_ghz.is_some() {
            found.push(Action::FeederLoss {
                db: self.feeder_loss_db.unwrap_or(0.0),
                db_per_ghz: self.feeder_loss_db_per_ghz.unwrap_or(0.0),
            });
        }
        if let Some(db) = self.level_db {
            let operator = self.operator.clone();
            found.push(Action::Level {
                cell,
                operator,
                band,
                db,
            });
        }
        if let Some(on) = self.on {
            found.push(match handset {
                Some(handset) => Action::HandsetOn { handset, on },
                None => Action::CellOn {
                    cell: need_cell()?,
                    on,
                },
            });
        }
        if let Some(load) = self.load {
            found.push(Action::Load {
                cell: need_cell()?,
                load,
            });
        }
        if let Some(identity) = self.identity {
            found.push(Action::Identity {
                cell: need_cell()?,
                identity,
            });
        }
        if let Some(dbm) = self.level_dbm {
            let handset = handset.ok_or("say which `handset`")?;
            found.push(Action::HandsetLevel { handset, dbm });
        }
        if let Some(dbm) = self.interference_dbm {
            found.push(Action::Interference {
                band: need_band()?,
                dbm: Some(dbm),
            });
        }
        if let Some(dbm) = self.blocker_dbm {
            found.push(Action::Blocker { dbm: Some(dbm) });
        }
        found.extend(self.ambient_c.map(|c| Action::Ambient { c }));
        found.extend(self.supply_v.map(|v| Action::Supply { v }));
        found.extend(self.authorization.map(Action::Authorization));
        if let Some(good) = self.sync {
            found.push(Action::Sync {
                band: need_band()?,
                good,
            });
        }
        found.extend(self.restart.filter(|r| *r).map(|_| Action::Restart));
        found.extend(self.bearing_deg.map(|bearing_deg| Action::Turn { bearing_deg }));
        found.extend(self.button.filter(|b| *b).map(|_| Action::Button));
        found.extend(self.quirk.map(|quirk| Action::QuirkOn { quirk, on: true }));
        found.extend(self.donor_port.map(Action::DonorPort));
        found.extend(self.server_port.map(Action::ServerPort));
        found.extend(self.enclosure.map(|good| Action::Enclosure { good }));
        found.extend(self.fan.map(|good| Action::Fan { good }));
        if let Some(db) = self.sway_db {
            let period_s = self.period_s.unwrap_or(4.0);
            if !(0.2..=600.0).contains(&period_s) {
                return Err("`period_s` must lie within 0.2 and 600".to_owned());
            }
            found.push(Action::Sway { db, period_s });
        }
        found.extend(self.away_s.map(|away_s| Action::Disconnect { away_s }));

        match found.len() {
            1 => found.pop().ok_or_else(String::new),
            0 => Err("nothing happens: give one action such as `isolation_db`".to_owned()),
            _ => Err("several things happen at once: write one entry for each".to_owned()),
        }
    }
}
