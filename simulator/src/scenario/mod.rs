//! Scenarios: a site, a unit, what happens and what a good analyser should find, as a TOML file.
//!
//! The keys are documented in `scenarios/README.md`. Unknown keys are refused with their line and the nearest key.

mod action;
mod error;
mod event;
mod expect;
mod named;
mod parse;
mod site;
mod timeline;
mod unit;

pub use action::{Action, PortSpec, Quirk};
pub use error::ScenarioError;
pub use event::EventSpec;
pub use expect::{Expectation, FINDING_CODES};
pub use site::{CellSpec, DonorSpec, HandsetSpec, TransportSpec};
pub use timeline::Timeline;
pub use unit::{AuthorizationSpec, BandSpec, FieldSpec, GuardSpec, Rule, UnitSpec};

use serde::Deserialize;

/// Downlink or uplink of one band.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Way {
    /// From the network to the handset.
    Dl,
    /// From the handset to the network.
    Ul,
}

/// A pair of values, one per direction.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Both<T> {
    /// Downlink.
    pub dl: T,
    /// Uplink.
    pub ul: T,
}

impl<T> Both<T> {
    /// The value of one direction.
    pub fn get(&self, way: Way) -> &T {
        match way {
            Way::Dl => &self.dl,
            Way::Ul => &self.ul,
        }
    }

    /// The value of one direction, to change it.
    pub fn get_mut(&mut self, way: Way) -> &mut T {
        match way {
            Way::Dl => &mut self.dl,
            Way::Ul => &mut self.ul,
        }
    }
}

/// Both directions, or the one that is named.
pub(crate) fn ways(only: Option<Way>) -> impl Iterator<Item = Way> {
    [Way::Dl, Way::Ul]
        .into_iter()
        .filter(move |w| only.is_none_or(|o| o == *w))
}

/// A site with its unit, its timeline and what should be found.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Scenario {
    /// Short name: the file's stem.
    #[serde(skip)]
    pub name: String,
    /// One line: the place and what is the matter there.
    pub title: String,
    /// A few sentences: what the technician meets.
    #[serde(default)]
    pub story: String,
    /// Start of the simulated visit, RFC 3339 (recordings of this scenario carry it).
    #[serde(default = "default_date")]
    pub date: String,
    /// The unit.
    #[serde(default)]
    pub unit: UnitSpec,
    /// The donor antenna and its feeder.
    #[serde(default)]
    pub donor: DonorSpec,
    /// Bands of the unit, 1 to 16.
    pub band: Vec<BandSpec>,
    /// Cells around.
    #[serde(default)]
    pub cell: Vec<CellSpec>,
    /// Handsets in the rooms.
    #[serde(default)]
    pub handset: Vec<HandsetSpec>,
    /// What happens when.
    #[serde(default)]
    pub at: Vec<EventSpec>,
    /// The way to the console.
    #[serde(default)]
    pub transport: TransportSpec,
    /// What a good analyser finds.
    #[serde(default)]
    pub expect: Vec<Expectation>,
}

fn default_date() -> String {
    "2026-03-02T09:00:00Z".to_owned()
}

impl Scenario {
    /// Index of the band with this name (`B2`, `n78`).
    pub fn band_index(&self, name: &str) -> Option<usize> {
        self.band.iter().position(|b| b.name == name)
    }
}
