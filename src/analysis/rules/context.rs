//! What a rule may look at.

use super::BandFacts;
use crate::analysis::memory::Memory;
use crate::analysis::unit::UnitMemory;
use crate::analysis::{Criteria, Evidence, Path};
use crate::event::SessionTime;
use crate::telemetry::{Identity, Reading};
use booster_profile::{Band, DirectionState, Features, Reasons, TenthDb, TenthDbm};

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

/// A gain that moves less than this within a second does not move, dB: less than a step of a tenth now and then.
const END_STOP_DB: f64 = 0.03;

fn db(value: Option<TenthDb>) -> Option<f64> {
    value.map(TenthDb::db)
}

fn dbm(value: Option<TenthDbm>) -> Option<f64> {
    value.map(TenthDbm::dbm)
}

impl Context<'_> {
    fn by_path<T>(&self, dl: T, ul: T) -> T {
        match self.path {
            Path::Downlink => dl,
            Path::Uplink => ul,
        }
    }

    /// Gain in effect, dB.
    pub(in crate::analysis) fn gain(&self) -> Option<f64> {
        let t = &self.reading.telemetry;
        db(self.by_path(t.dl_gain, t.ul_gain))
    }

    /// Gain that was set, dB.
    pub(in crate::analysis) fn gain_set(&self) -> Option<f64> {
        let extra = &self.reading.telemetry.extra;
        db(self.by_path(extra.dl_gain_set, extra.ul_gain_set))
    }

    /// Gain that the direction is meant to run at: what was set, as far as the rules allow it, dB.
    pub(in crate::analysis) fn gain_meant(&self) -> Option<f64> {
        let extra = &self.reading.telemetry.extra;
        let allowed = db(self.by_path(extra.dl_gain_allowed, extra.ul_gain_allowed));
        self.gain_set().map(|set| allowed.map_or(set, |a| a.min(set)))
    }

    /// Gain that was set, or the most that the unit has, dB.
    pub(in crate::analysis) fn gain_full(&self) -> Option<f64> {
        let most = self.by_path(self.band.max_dl_gain, self.band.max_ul_gain);
        self.gain_set().or(db(most))
    }

    /// Isolation, dB.
    pub(in crate::analysis) fn isolation(&self) -> Option<f64> {
        let extra = &self.reading.telemetry.extra;
        db(self.by_path(extra.dl_isolation, extra.ul_isolation))
    }

    /// Loop margin at the gain in effect, dB.
    pub(in crate::analysis) fn margin(&self) -> Option<f64> {
        Some(self.isolation()? - self.gain()?)
    }

    /// Composite input of the direction, dBm.
    pub(in crate::analysis) fn input(&self) -> Option<f64> {
        let t = &self.reading.telemetry;
        dbm(self.by_path(t.dl_input, t.extra.ul_input))
    }

    /// Composite output of the direction, dBm.
    pub(in crate::analysis) fn output(&self) -> Option<f64> {
        let t = &self.reading.telemetry;
        dbm(self.by_path(t.extra.dl_output, t.ul_output))
    }

    /// Rated output of the direction, dBm.
    pub(in crate::analysis) fn rated(&self) -> Option<f64> {
        dbm(self.by_path(self.band.rated_dl_output, self.band.rated_ul_output))
    }

    /// RSRP of the wanted cell, dBm.
    pub(in crate::analysis) fn rsrp(&self) -> Option<f64> {
        dbm(self.reading.telemetry.extra.cell.rsrp)
    }

    pub(in crate::analysis) fn state(&self) -> DirectionState {
        self.by_path(self.reading.telemetry.dl_state, self.reading.telemetry.ul_state)
    }

    pub(in crate::analysis) fn reasons(&self) -> Reasons {
        self.by_path(
            self.reading.telemetry.dl_reasons,
            self.reading.telemetry.ul_reasons,
        )
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
