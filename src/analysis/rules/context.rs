//! What a rule may look at.

use super::{BandFacts, Values};
use crate::analysis::memory::Memory;
use crate::analysis::unit::UnitMemory;
use crate::analysis::{Criteria, Evidence, Path};
use crate::event::SessionTime;
use crate::telemetry::{Identity, Reading};
use booster_profile::{Band, DirectionState, Features, Reasons, Technology};

/// What a rule about readings may look at.
pub(in crate::analysis) struct Context<'a> {
    pub(in crate::analysis) criteria: &'a Criteria,
    pub(in crate::analysis) identity: &'a Identity,
    pub(in crate::analysis) band: &'a Band,
    pub(in crate::analysis) facts: &'a BandFacts,
    pub(in crate::analysis) reading: &'a Reading,
    pub(in crate::analysis) memory: &'a Memory,
    pub(in crate::analysis) unit: &'a UnitMemory,
    pub(in crate::analysis) path: Path,
    pub(in crate::analysis) values: &'a Values,
}

/// What a rule about the unit may look at.
pub(in crate::analysis) struct UnitContext<'a> {
    pub(in crate::analysis) criteria: &'a Criteria,
    pub(in crate::analysis) identity: &'a Identity,
    pub(in crate::analysis) unit: &'a UnitMemory,
    /// Bands that have reported: position, last reading, memory.
    pub(in crate::analysis) bands: &'a [super::super::analyser::BandState],
    pub(in crate::analysis) at: SessionTime,
}

impl UnitContext<'_> {
    /// Bands that have reported.
    pub(in crate::analysis) fn bands(&self) -> impl Iterator<Item = (usize, &Reading, &Memory)> {
        self.bands
            .iter()
            .enumerate()
            .filter_map(|(i, b)| Some((i, b.latest.as_ref()?, &b.memory)))
    }

    /// Names of bands, for evidence.
    pub(in crate::analysis) fn names(&self, bands: impl Iterator<Item = usize>) -> Evidence {
        let names: Vec<&str> = bands.map(|b| self.identity.name(b)).collect();
        Evidence::text("bands", names.join(" "))
    }
}

/// Two ports without boosted reference symbols radiate up to this much more, dB.
const TWO_PORTS_DB: f64 = 3.0;
/// Time after which a modem has measured every cell again, s (profile: 1 to 10 s for a modem that scans six bands).
pub(super) const SLOW_MODEM_S: f64 = 6.5;

/// A gain that moves less than this within a second does not move, dB: less than a step of a tenth now and then.
const END_STOP_DB: f64 = 0.03;

impl Context<'_> {
    /// Gain in effect, dB.
    pub(in crate::analysis) fn gain(&self) -> Option<f64> {
        self.values.gain
    }

    /// Gain that was set, dB: as the unit reports it, or as it was while nothing held it back.
    pub(in crate::analysis) fn gain_set(&self) -> Option<f64> {
        self.values.gain_set
    }

    /// Gain that the direction is meant to run at: what was set, as far as the rules allow it, dB.
    pub(in crate::analysis) fn gain_meant(&self) -> Option<f64> {
        self.values.gain_meant
    }

    /// Gain that was set, or the most that the unit has, dB.
    pub(in crate::analysis) fn gain_full(&self) -> Option<f64> {
        self.values.gain_full
    }

    /// Isolation, dB.
    pub(in crate::analysis) fn isolation(&self) -> Option<f64> {
        self.values.isolation
    }

    /// Loop margin at the gain in effect, dB.
    pub(in crate::analysis) fn margin(&self) -> Option<f64> {
        self.values.margin
    }

    /// Composite input of the direction, dBm.
    pub(in crate::analysis) fn input(&self) -> Option<f64> {
        self.values.input
    }

    /// Composite output of the direction, dBm.
    pub(in crate::analysis) fn output(&self) -> Option<f64> {
        self.values.output
    }

    /// Rated output of the direction, dBm.
    pub(in crate::analysis) fn rated(&self) -> Option<f64> {
        self.facts.rated_dbm[self.path as usize]
    }

    /// Whether the modem has measured the wanted cell since the input last rose: until then what it says of the cell
    /// is older than what there is to explain.
    pub(in crate::analysis) fn cell_is_fresh(&self) -> bool {
        let age = self.reading.telemetry.extra.cell.age_tenths_s;
        match (self.memory.input.since_rise_s(), age) {
            (None, _) => true,
            (Some(since), Some(age)) => f64::from(age) / 10.0 < since,
            (Some(since), None) => since > SLOW_MODEM_S,
        }
    }

    /// Most that the wanted carrier can bring, dBm: fully loaded, and two ports without boosted reference symbols
    /// radiate up to 3 dB more (FACTS, correction 2).
    pub(in crate::analysis) fn explained_dbm(&self) -> Option<f64> {
        // Without a report of the wanted cell its carrier is as wide as the pass band, or as a carrier can be.
        let span = self.memory.cells.wanted_span_db();
        let nr = if self.band.technology == Technology::Nr {
            self.criteria.near_far.nr_allowance_db
        } else {
            0.0
        };
        Some(self.rsrp()? + span.unwrap_or(self.facts.widest_span_db) + TWO_PORTS_DB + nr)
    }

    /// RSRP of the wanted cell, dBm.
    pub(in crate::analysis) fn rsrp(&self) -> Option<f64> {
        self.values.rsrp
    }

    pub(in crate::analysis) fn state(&self) -> DirectionState {
        self.values.state
    }

    pub(in crate::analysis) fn reasons(&self) -> Reasons {
        self.values.reasons
    }

    /// Names of the reasons, as evidence.
    pub(in crate::analysis) fn limited_by(&self) -> Evidence {
        let names: Vec<&str> = self.reasons().names().collect();
        Evidence::text("limited_by", names.join(" "))
    }

    /// Whether the direction passes signal with the gain that telemetry states.
    pub(in crate::analysis) fn amplifies(&self) -> bool {
        matches!(self.state(), DirectionState::Normal | DirectionState::Limited)
    }

    /// Whether automatic gain control holds the gain down, because of input or output.
    pub(in crate::analysis) fn controlled(&self) -> bool {
        let r = self.reasons();
        self.state() == DirectionState::Limited
            && (r.contains(Reasons::OUTPUT) || (r.contains(Reasons::INPUT) && !self.unit.front_end_bad()))
    }

    pub(in crate::analysis) fn has(&self, feature: Features) -> bool {
        self.identity
            .feature
            .is_some_and(|f| f.features.contains(feature))
    }

    /// Whether the loop behaves as one that oscillates, whatever the unit says: gain control holds it at its edge, and
    /// what the input port sees is the unit's own output.
    pub(in crate::analysis) fn rings(&self) -> bool {
        if !self.controlled() {
            return false;
        }
        let limits = &self.criteria.ringing;
        let Some(margin) = self.margin() else {
            return self.output_pinned() && self.still(limits.max_unrest_db);
        };
        let echo_explains = match (self.input(), self.output(), self.isolation()) {
            (Some(input), Some(output), Some(isolation)) => {
                output - isolation >= input - 2.0 * self.facts.accuracy_db
            }
            _ => true,
        };
        margin < limits.max_margin_db && echo_explains
    }

    /// Whether it takes longer to tell a loop from a signal: the unit reports no isolation, and the gain that control
    /// holds has not been watched for long enough.
    pub(in crate::analysis) fn undecided(&self) -> bool {
        self.isolation().is_none() && self.memory.steadiness[self.path as usize].rms_db().is_none()
    }

    /// Whether the gain that control holds moves less than any signal would let it, and yet is not at its end stop.
    fn still(&self, max_unrest_db: f64) -> bool {
        let rms = self.memory.steadiness[self.path as usize].rms_db();
        rms.is_some_and(|r| r < max_unrest_db && r > END_STOP_DB)
    }

    /// Whether the output stands at its rating: control holds it there, and has range left to do so.
    fn output_pinned(&self) -> bool {
        let output = self
            .output()
            .or_else(|| Some(self.input()? + self.gain()?))
            .zip(self.rated());
        output.is_some_and(|(output, rated)| (output - rated).abs() < self.facts.accuracy_db.min(2.0))
    }
}
