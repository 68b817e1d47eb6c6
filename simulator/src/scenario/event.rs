//! Entries of the timeline as they stand in the file.

use super::{Action, AuthorizationSpec, PortSpec, Quirk, Scenario, Way};
use serde::Deserialize;

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

impl EventSpec {
    /// The action of this entry, with names resolved.
    pub(super) fn action(&self, scenario: &Scenario) -> Result<Action, String> {
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
