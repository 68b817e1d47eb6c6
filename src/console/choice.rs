//! Units in range, to choose one from: the one that needs a person most first.

use super::condition::Level;
use crate::event::SessionTime;
use crate::link::command::Unit;
use booster_profile::advertising::Attention;

/// A unit that was heard.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Heard {
    /// The unit, with the health it advertises.
    pub unit: Unit,
    /// When it was heard last.
    pub at: SessionTime,
}

/// How a unit stands by what it advertises, in words.
pub(super) fn health(unit: &Unit) -> (Level, String) {
    let Some(data) = unit.health else {
        return (Level::Info, "health not advertised".to_owned());
    };
    let (level, words) = match data.attention {
        Attention::Urgent => (Level::Bad, "needs you now"),
        Attention::Wanted => (Level::Warn, "look at it"),
        Attention::None => (Level::Good, "fine"),
        Attention::NotKnown | Attention::Unknown(_) => (Level::Info, "health not known"),
    };
    let state = data.worst_state.name().replace('-', " ");
    let margin = data
        .loop_margin_db
        .map_or_else(String::new, |m| format!(", margin {m} dB"));
    (level, format!("{words}: {state}{margin}"))
}

/// The units in the order of the list: by what they need, then by name, so that none changes places with the strength
/// of its signal.
pub(super) fn ordered(units: &[Heard]) -> Vec<&Heard> {
    let mut all: Vec<&Heard> = units.iter().collect();
    all.sort_by(|a, b| {
        let key = |h: &Heard| (std::cmp::Reverse(health(&h.unit).0), h.unit.label());
        key(a).cmp(&key(b))
    });
    all
}

/// Index of the chosen unit in the list; the first if it is not there.
pub(super) fn selected(chosen: Option<&str>, units: &[&Heard]) -> usize {
    chosen
        .and_then(|id| units.iter().position(|h| h.unit.id == id))
        .unwrap_or(0)
}
