//! Scenarios that are built in.

use super::error::nearest;
use super::{Scenario, ScenarioError};

macro_rules! built_in {
    ($($name:literal),* $(,)?) => {
        const BUILT_IN: &[(&str, &str)] = &[$(($name, include_str!(concat!("../../scenarios/", $name, ".toml"))),)*];
    };
}

built_in![
    "weavers-yard",
    "bakehouse",
    "bell-tower",
    "boathouse",
    "brass-foundry",
    "canal-lock",
    "clay-pit",
    "depot-six",
    "ferry-hall",
    "gate-nine",
    "grain-loft",
    "lighthouse-row",
    "long-exchange",
    "market-cross",
    "mill-race",
    "narrow-stair",
    "new-chapel",
    "observatory",
    "orchard-wall",
    "paper-store",
    "peat-cutters",
    "plain-cottage",
    "quarry-office",
    "ridge-farm",
    "salt-works",
    "slate-barn",
    "tannery-lane",
    "two-mills",
    "weir-house",
    "wind-pump",
];

impl Scenario {
    /// The site that is shown when none is asked for.
    pub const DEFAULT: &str = "weavers-yard";

    /// Names of all built-in scenarios, the default first.
    pub fn names() -> impl Iterator<Item = &'static str> {
        BUILT_IN.iter().map(|(name, _)| *name)
    }

    /// The built-in scenario of this name.
    ///
    /// # Errors
    /// [`ScenarioError::UnknownName`] with the nearest name.
    pub fn named(name: &str) -> Result<Self, ScenarioError> {
        match BUILT_IN.iter().find(|(n, _)| *n == name) {
            Some((_, text)) => Self::parse(text, name),
            None => Err(ScenarioError::UnknownName {
                name: name.to_owned(),
                nearest: nearest(name, Self::names()),
            }),
        }
    }
}
