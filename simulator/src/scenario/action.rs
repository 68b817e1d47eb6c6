//! What can happen to a site or a unit.

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
    /// The downlink's level sensors of every band repeat their last values.
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

impl Action {
    /// A part of a change that can come gradually.
    pub(super) fn scaled(&self, part: f64) -> Option<Action> {
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
    pub(super) fn undone(&self, scenario: &Scenario) -> Option<Action> {
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
