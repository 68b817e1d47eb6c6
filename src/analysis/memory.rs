//! What rules remember of a band: constant size, updated in constant time.

mod cells;
mod frozen;
mod input;
mod level;
mod loss;
mod steadiness;
mod sway;

pub(super) use cells::Cells;
pub(super) use input::Input;
pub(super) use level::Level;
pub(super) use loss::Loss;
pub(super) use steadiness::Steadiness;
pub(super) use sway::{Sway, Swing, Swings};

use super::Path;
use crate::telemetry::{Accounts, Reading};
use booster_profile::{Direction, DirectionState, EventCode, Reasons, TenthDb, TenthDbm, UnitEvent};
use frozen::Frozen;
use loss::LossWindow;

/// Memory of one band.
#[derive(Clone, Debug, Default)]
pub(super) struct Memory {
    last_unit_ms: Option<u64>,
    interval_us: Option<u64>,
    /// Oscillation that the unit reported and has not taken back, by path.
    oscillating: [bool; 2],
    frozen: Frozen,
    loss: LossWindow,
    /// What the modem hears.
    pub(super) cells: Cells,
    /// The level that comes from outside: RSRP of the wanted cell, or the composite input where the unit reports none.
    pub(super) level: Level,
    /// How that level swings, and how the composite input does.
    pub(super) level_swing: Swing,
    pub(super) input_swing: Swing,
    /// The composite input.
    pub(super) input: Input,
    /// How still the gain is while automatic gain control holds it, by path.
    pub(super) steadiness: [Steadiness; 2],
    /// Gain while nothing held it back, which is the gain that was set, by path.
    pub(super) free_gain: [Option<TenthDb>; 2],
    /// How long ago control last held the downlink gain, s; `None` if it never did.
    pub(super) since_held_s: Option<f64>,
    /// The wanted cell was heard before in this session.
    pub(super) heard_wanted: bool,
    /// It was heard since the unit started.
    pub(super) heard_since_start: bool,
    identity: Option<u16>,
    /// Changes of the wanted cell's identity, each forgotten over a minute.
    identity_changes: f64,
}

/// Time over which a change of identity is forgotten, s.
const CHANGES_S: f64 = 60.0;

impl Memory {
    /// Takes in a reading; the time since the one before, µs, unless readings are missing in between.
    pub(super) fn step(&mut self, reading: &Reading, default_interval_us: u64) -> Option<u64> {
        let before = self.last_unit_ms.replace(reading.unit_ms)?;
        let step = reading.unit_ms.saturating_sub(before).saturating_mul(1_000);
        let interval = self.interval_us.unwrap_or(default_interval_us);
        // The shortest recent step is the interval in force; it creeps up again after a change to a longer one.
        self.interval_us = Some(if step < interval {
            step
        } else {
            interval + (step - interval) / 8
        });
        let longest = interval.saturating_mul(3);
        let whole = step <= longest;
        self.frozen
            .watch(reading.telemetry.dl_input, if whole { step } else { 0 });
        self.follow(reading, step.min(longest) as f64 / 1e6);
        whole.then_some(step)
    }

    fn follow(&mut self, reading: &Reading, dt_s: f64) {
        let t = &reading.telemetry;
        let cell = &t.extra.cell;
        let rsrp = cell.rsrp.map(TenthDbm::dbm);
        let input = t.dl_input.map(TenthDbm::dbm);
        self.heard_since_start |= rsrp.is_some();
        if rsrp.is_some() && !self.heard_wanted {
            // From the composite input to RSRP: another quantity, not another level.
            self.antenna_moves();
            self.heard_wanted = true;
        }
        if let Some(level) = rsrp.or(input.filter(|_| !self.heard_wanted)) {
            self.level.follow(level, cell.identity, dt_s);
            self.level_swing.follow(level, dt_s);
        }
        if let Some(input) = input {
            self.input_swing.follow(input, dt_s);
            self.input.follow(input, dt_s);
        }
        self.follow_identity(cell.identity, dt_s);
        self.since_held_s = self.since_held_s.map(|s| s + dt_s);
        let paths = [
            (t.dl_gain, t.dl_state, t.dl_reasons),
            (t.ul_gain, t.ul_state, t.ul_reasons),
        ];
        for (path, (gain, state, reasons)) in paths.into_iter().enumerate() {
            let held = state == DirectionState::Limited
                && (reasons.contains(Reasons::OUTPUT) || reasons.contains(Reasons::INPUT));
            if held && path == Path::Downlink as usize {
                self.since_held_s = Some(0.0);
            }
            self.steadiness[path].follow(gain.filter(|_| held).map(TenthDb::db), dt_s);
            if state == DirectionState::Normal {
                self.free_gain[path] = gain;
            }
        }
    }

    fn follow_identity(&mut self, identity: Option<u16>, dt_s: f64) {
        self.identity_changes -= self.identity_changes * dt_s / (CHANGES_S + dt_s);
        if identity.is_some() && identity != self.identity {
            if self.identity.is_some() {
                self.identity_changes += 1.0;
            }
            self.identity = identity;
        }
    }

    /// Changes of the wanted cell's identity within about a minute.
    pub(super) fn identity_changes(&self) -> f64 {
        self.identity_changes
    }

    /// The unit starts anew: its clock and what it said about oscillation begin again.
    pub(super) fn restarted(&mut self) {
        self.last_unit_ms = None;
        self.oscillating = [false; 2];
        self.heard_since_start = false;
    }

    /// Hands are on the antenna: levels begin anew.
    pub(super) fn antenna_moves(&mut self) {
        self.level = Level::default();
        self.level_swing = Swing::default();
        self.input_swing = Swing::default();
        self.input = Input::default();
    }

    pub(super) fn event(&mut self, event: &UnitEvent) {
        let now = match event.code {
            EventCode::OscillationDetected | EventCode::GuardActed => true,
            EventCode::OscillationCleared | EventCode::LatchedOff => false,
            _ => return,
        };
        if event.direction != Direction::Uplink {
            self.oscillating[Path::Downlink as usize] = now;
        }
        if event.direction != Direction::Downlink {
            self.oscillating[Path::Uplink as usize] = now;
        }
    }

    pub(super) fn oscillating(&self, path: Path) -> bool {
        self.oscillating[path as usize]
    }

    /// Report interval in force, as seen, µs.
    pub(super) fn interval_us(&self) -> Option<u64> {
        self.interval_us
    }

    /// How long the input has not moved by a tenth of a dB, s; 0 where that may be chance.
    pub(super) fn frozen_s(&self) -> f64 {
        self.frozen.told_s()
    }

    pub(super) fn account(&mut self, reading: &Reading, accounts: Accounts) {
        self.loss.add(reading.unit_ms, accounts);
    }

    pub(super) fn loss(&self) -> Loss {
        self.loss.now()
    }
}
