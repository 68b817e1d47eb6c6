//! The vocabulary between the reducer, which decides, and a driver, which carries out.

use super::policy::Cause;
use crate::event::{EventKind, RawBytes};
use booster_profile::Characteristic;
use booster_profile::advertising::ServiceData;

/// A unit as it was seen on the air.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Unit {
    /// The system's identifier of the peripheral; stable on this computer.
    pub id: String,
    /// Name as advertised.
    pub name: Option<String>,
    /// Strength of the Bluetooth signal, dBm; not to be confused with any level of the booster.
    pub rssi_dbm: Option<i16>,
    /// Health as advertised; `None` if it is not, or not in a way known here.
    pub health: Option<ServiceData>,
}

impl Unit {
    /// A unit of which nothing more is known.
    pub fn new(id: impl Into<String>, name: Option<String>) -> Self {
        Self {
            id: id.into(),
            name,
            rssi_dbm: None,
            health: None,
        }
    }

    /// How to call the unit in a message.
    pub fn label(&self) -> String {
        match &self.name {
            Some(name) => format!("{name} ({})", self.id),
            None => self.id.clone(),
        }
    }

    /// Whether a person's words mean this unit: its name, or its identifier with or without punctuation and adapter.
    pub fn is_called(&self, words: &str) -> bool {
        let plain = |s: &str| -> String {
            s.chars()
                .filter(char::is_ascii_alphanumeric)
                .map(|c| c.to_ascii_lowercase())
                .collect()
        };
        let asked = plain(words);
        self.name
            .as_deref()
            .is_some_and(|n| n.eq_ignore_ascii_case(words))
            || self.id == words
            || (asked.len() >= 12 && plain(&self.id).ends_with(&asked))
    }
}

/// Which unit is wanted.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Target {
    /// The only one in range; if there are several, a person chooses.
    Only,
    /// The one with this name or identifier.
    Named(String),
}

/// Names a command, so that a late answer to an abandoned one is not taken for the answer to the next.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Ticket(pub u32);

/// What the driver is to do. At most one command is carried out at a time; a new one replaces one that is still
/// running.
#[derive(Clone, Debug, PartialEq)]
pub enum Command {
    /// Get hold of the adapter; `rebuild` drops whatever was held before.
    Open {
        /// Build the connection to the system's Bluetooth service anew.
        rebuild: bool,
    },
    /// Look for units; also report those that this computer is already connected to.
    StartScan,
    /// Stop looking.
    StopScan,
    /// Connect.
    Connect {
        /// The unit's identifier.
        id: String,
    },
    /// Find services and characteristics, whatever is cached.
    Discover,
    /// Read a value.
    Read(Characteristic),
    /// Enable notifications or indications; "already enabled" is success.
    Subscribe(Characteristic),
    /// Write a value with response.
    Write(Characteristic, RawBytes),
    /// Disconnect, or give up connecting.
    Disconnect,
}

/// How a command ended.
#[derive(Clone, Debug, PartialEq)]
pub enum Answer {
    /// Done; nothing to say.
    Done,
    /// What the connected unit offers.
    Found {
        /// Its characteristics, as far as the profile knows them.
        characteristics: Vec<Characteristic>,
        /// The ATT MTU of the connection, as far as the system tells.
        mtu: u16,
    },
    /// The value read.
    Value(RawBytes),
    /// It failed.
    Failed(Failure),
}

/// Why a command failed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Failure {
    /// What the policy looks at.
    pub cause: Cause,
    /// What is recorded and shown: the operation and the system's own words.
    pub words: String,
}

/// What the driver saw.
#[derive(Clone, Debug, PartialEq)]
pub enum Observation {
    /// The session begins.
    Start,
    /// A command ended.
    Answer(Ticket, Answer),
    /// A unit was seen on the air, or is already connected to this computer.
    UnitSeen(Unit),
    /// The connection to the chosen unit ended.
    Disconnected,
    /// The adapter was switched.
    AdapterPowered(bool),
    /// A deadline may have passed.
    TimePassed,
    /// A person or the program asks for something.
    Request(super::Request),
    /// The session ends.
    Stop,
}

/// What the reducer wants done.
#[derive(Clone, Debug, PartialEq)]
pub enum Output {
    /// To be recorded and folded.
    Event(EventKind),
    /// To be carried out and answered under this ticket.
    Command(Ticket, Command),
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_unit_answers_to_its_name_and_its_address() {
        let unit = Unit::new("hci1/dev_00_AA_01_00_00_42", Some("LM-Demo".into()));
        for words in [
            "lm-demo",
            "LM-Demo",
            "hci1/dev_00_AA_01_00_00_42",
            "00:aa:01:00:00:42",
        ] {
            assert!(unit.is_called(words), "{words}");
        }
        for words in ["", "42", "demo", "00:aa:01:00:00:43"] {
            assert!(!unit.is_called(words), "{words}");
        }
    }
}
