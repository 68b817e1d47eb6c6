//! What the readings of one band say over the period.

use super::spread::{Scale, Spread};
use crate::analysis::Path;
use crate::event::SessionTime;
use crate::telemetry::Reading;
use booster_profile::{BandTelemetry, CellReport, DirectionState, Reasons, TenthDb, TenthDbm};
use radio::quantities::ResourceBlocks;
use radio::{Db, Dbm};
use std::collections::BTreeMap;

/// Cells remembered per band.
const CELLS: usize = 64;

/// One direction of a band.
#[derive(Clone, Debug)]
pub(super) struct Direction {
    /// Isolation − gain in effect, dB.
    pub(super) margin: Spread,
    /// Isolation − gain that the direction is meant to run at, dB.
    pub(super) margin_meant: Spread,
    /// Gain meant − gain in effect, dB.
    pub(super) held_back: Spread,
    /// Gain given up to input or output, dB.
    pub(super) given_up: Spread,
    /// Composite output, dBm.
    pub(super) output: Spread,
    /// Readings in which the guard acted or had given up.
    pub(super) guarded: u32,
    /// Readings in which the direction should have passed signal and did not.
    pub(super) out_of_service: u32,
}

impl Direction {
    fn new() -> Self {
        let ratio = || Spread::new(Scale::Ratio);
        Self {
            margin: ratio(),
            margin_meant: ratio(),
            held_back: ratio(),
            given_up: ratio(),
            output: Spread::new(Scale::Level),
            guarded: 0,
            out_of_service: 0,
        }
    }

    fn reading(&mut self, at: SessionTime, side: &Side) {
        use DirectionState as S;
        if matches!(side.state, S::Guard | S::LatchedOff) {
            self.guarded += 1;
        }
        // An idle uplink may mute itself; one that a setting mutes is out of service.
        let muted = side.state == S::Muted
            && (side.path == Path::Downlink || side.reasons.contains(Reasons::SETTING));
        if muted || matches!(side.state, S::Off | S::Starting | S::Guard | S::LatchedOff) {
            self.out_of_service += 1;
        }
        // Without gain there is no loop.
        if !matches!(side.state, S::Off | S::Starting | S::LatchedOff) {
            self.margin_meant.record(at, minus(side.isolation, side.meant));
        }
        if matches!(side.state, S::Normal | S::Limited | S::Guard) {
            self.margin.record(at, minus(side.isolation, side.gain));
            let held = minus(side.meant, side.gain).map(|db| db.max(0.0));
            self.held_back.record(at, held);
            let controlled = side.reasons.contains(Reasons::INPUT) || side.reasons.contains(Reasons::OUTPUT);
            self.given_up
                .record(at, held.map(|db| if controlled { db } else { 0.0 }));
            self.output.record(at, side.output);
        }
    }
}

fn minus(a: Option<f64>, b: Option<f64>) -> Option<f64> {
    Some(a? - b?)
}

/// One direction of one reading.
struct Side {
    path: Path,
    state: DirectionState,
    reasons: Reasons,
    gain: Option<f64>,
    /// What was set, as far as the rules allow it.
    meant: Option<f64>,
    isolation: Option<f64>,
    output: Option<f64>,
}

impl Side {
    fn of(t: &BandTelemetry, path: Path) -> Self {
        let extra = &t.extra;
        let (state, reasons, gain, set, allowed, isolation, output) = match path {
            Path::Downlink => (
                t.dl_state,
                t.dl_reasons,
                t.dl_gain,
                extra.dl_gain_set,
                extra.dl_gain_allowed,
                extra.dl_isolation,
                extra.dl_output,
            ),
            Path::Uplink => (
                t.ul_state,
                t.ul_reasons,
                t.ul_gain,
                extra.ul_gain_set,
                extra.ul_gain_allowed,
                extra.ul_isolation,
                t.ul_output,
            ),
        };
        let db = |value: Option<TenthDb>| value.map(TenthDb::db);
        Self {
            path,
            state,
            reasons,
            gain: db(gain),
            meant: db(set).map(|set| db(allowed).map_or(set, |allowed| allowed.min(set))),
            isolation: db(isolation),
            output: output.map(TenthDbm::dbm),
        }
    }
}

/// A cell's level over the period.
#[derive(Clone, Copy, Debug, Default)]
struct CellMean {
    sum_dbm: f64,
    count: u32,
    /// Power of the fully loaded carrier over its RSRP, dB.
    span_db: Option<f64>,
}

/// One band.
#[derive(Clone, Debug)]
pub(super) struct Series {
    pub(super) readings: u32,
    pub(super) first: Option<SessionTime>,
    pub(super) last: SessionTime,
    /// RSRP of the wanted cell, dBm.
    pub(super) rsrp: Spread,
    /// SINR of the wanted cell, dB.
    pub(super) sinr: Spread,
    /// RSRQ of the wanted cell, dB.
    pub(super) rsrq: Spread,
    /// Composite downlink input, dBm.
    pub(super) input: Spread,
    /// Uplink gain − downlink gain, either way, dB.
    pub(super) imbalance: Spread,
    /// Uplink gain in effect, dB.
    pub(super) uplink_gain: Spread,
    /// Uplink gain + downlink input of the same reading, dBm: a rule sets the noise, and so the gain, by the input of
    /// the moment.
    pub(super) gain_and_input: Spread,
    pub(super) directions: [Direction; 2],
    cells: BTreeMap<(u32, Option<u16>), CellMean>,
}

impl Series {
    pub(super) fn new() -> Self {
        let ratio = || Spread::new(Scale::Ratio);
        Self {
            readings: 0,
            first: None,
            last: SessionTime::ZERO,
            rsrp: Spread::new(Scale::Level),
            sinr: ratio(),
            rsrq: ratio(),
            input: Spread::new(Scale::Level),
            imbalance: ratio(),
            uplink_gain: ratio(),
            gain_and_input: Spread::new(Scale::Level),
            directions: [Direction::new(), Direction::new()],
            cells: BTreeMap::new(),
        }
    }

    pub(super) fn reading(&mut self, reading: &Reading) {
        let (at, t) = (reading.at, &reading.telemetry);
        self.readings += 1;
        self.first.get_or_insert(at);
        self.last = at;
        let cell = &t.extra.cell;
        self.rsrp.record(at, cell.rsrp.map(TenthDbm::dbm));
        self.sinr.record(at, cell.sinr.map(TenthDb::db));
        self.rsrq.record(at, cell.rsrq.map(TenthDb::db));
        self.input.record(at, t.dl_input.map(TenthDbm::dbm));
        for (path, direction) in Path::BOTH.into_iter().zip(&mut self.directions) {
            direction.reading(at, &Side::of(t, path));
        }
        let passes = |state| matches!(state, DirectionState::Normal | DirectionState::Limited);
        if passes(t.ul_state) {
            let gain = t.ul_gain.map(TenthDb::db);
            self.uplink_gain.record(at, gain);
            let input = t.dl_input.map(TenthDbm::dbm);
            self.gain_and_input
                .record(at, gain.zip(input).map(|(gain, input)| gain + input));
        }
        if passes(t.ul_state) && passes(t.dl_state) {
            let apart = minus(t.ul_gain.map(TenthDb::db), t.dl_gain.map(TenthDb::db)).map(f64::abs);
            self.imbalance.record(at, apart);
        }
    }

    pub(super) fn cell(&mut self, cell: &CellReport) {
        let Some(rsrp) = cell.rsrp.map(TenthDbm::dbm) else {
            return;
        };
        let key = (cell.channel, cell.identity);
        if self.cells.len() >= CELLS && !self.cells.contains_key(&key) {
            return;
        }
        let mean = self.cells.entry(key).or_default();
        mean.sum_dbm += rsrp;
        mean.count += 1;
        let blocks = cell.resource_blocks.and_then(|n| ResourceBlocks::new(n).ok());
        mean.span_db = blocks.map(|n| n.rssi_above_rsrp().0).or(mean.span_db);
    }

    /// Seconds between the first reading and the last.
    pub(super) fn heard_s(&self) -> f64 {
        self.first
            .map_or(0.0, |first| self.last.since(first).as_secs_f64())
    }

    /// Composite input when every carrier that was heard is fully loaded, dBm: Σ RSRP + 10·log(12·N).
    pub(super) fn loaded_input_dbm(&self) -> Option<f64> {
        let most = self.cells.values().map(|c| c.count).max()?;
        // A cell that was heard half of the time, as before and after a handover, counts half.
        let mut carriers = self
            .cells
            .values()
            .filter_map(|c| {
                let heard = Db::from_ratio(f64::from(c.count) / f64::from(most));
                Some(Dbm(c.sum_dbm / f64::from(c.count) + c.span_db?) + heard)
            })
            .peekable();
        carriers.peek()?;
        Some(Dbm::power_sum(carriers).0)
    }

    pub(super) fn direction(&self, path: Path) -> &Direction {
        &self.directions[path as usize]
    }
}
