//! What rules remember of a band: constant size, updated in constant time.

mod cells;
mod level;
mod loss;
mod steadiness;
mod sway;

pub(super) use cells::Cells;
pub(super) use level::Level;
pub(super) use loss::Loss;
pub(super) use steadiness::Steadiness;
pub(super) use sway::Sway;

use super::Path;
use crate::telemetry::{Accounts, Reading};
use booster_profile::{Direction, DirectionState, EventCode, Reasons, TenthDb, TenthDbm, UnitEvent};
use loss::LossWindow;
use std::time::Duration;

/// Memory of one band.
#[derive(Clone, Debug, Default)]
pub(super) struct Memory {
    last_unit_ms: Option<u64>,
    interval: Option<Duration>,
    /// Oscillation that the unit reported and has not taken back, by path.
    oscillating: [bool; 2],
    frozen: Frozen,
    loss: LossWindow,
    /// What the modem hears.
    pub(super) cells: Cells,
    /// The level that comes from outside: RSRP of the wanted cell, or the composite input where the unit reports none.
    pub(super) level: Level,
    /// How that level swings, and how the composite input does.
    pub(super) level_sway: Sway,
    pub(super) input_sway: Sway,
    /// How still the gain is while automatic gain control holds it, by path.
    pub(super) steadiness: [Steadiness; 2],
    /// The wanted cell was heard before in this session.
    pub(super) heard_wanted: bool,
}

impl Memory {
    /// Takes in a reading; the time since the one before, unless readings are missing in between.
    pub(super) fn step(&mut self, reading: &Reading, default_interval: Duration) -> Option<Duration> {
        let before = self.last_unit_ms.replace(reading.unit_ms)?;
        let step = Duration::from_millis(reading.unit_ms.saturating_sub(before));
        let interval = self.interval.unwrap_or(default_interval);
        // The shortest recent step is the interval in force; it creeps up again after a change to a longer one.
        self.interval = Some(if step < interval {
            step
        } else {
            interval + (step - interval) / 8
        });
        let whole = step <= interval * 3;
        let dt = step.min(interval * 3);
        self.frozen.watch(
            reading.telemetry.dl_input,
            if whole { step } else { Duration::ZERO },
        );
        self.follow(reading, dt.as_secs_f64());
        whole.then_some(step)
    }

    fn follow(&mut self, reading: &Reading, dt_s: f64) {
        let t = &reading.telemetry;
        let cell = &t.extra.cell;
        let rsrp = cell.rsrp.map(TenthDbm::dbm);
        let input = t.dl_input.map(TenthDbm::dbm);
        if rsrp.is_some() && !self.heard_wanted {
            // From the composite input to RSRP: another quantity, not another level.
            self.antenna_moves();
            self.heard_wanted = true;
        }
        if let Some(level) = rsrp.or(input.filter(|_| !self.heard_wanted)) {
            self.level.follow(level, cell.identity, dt_s);
            self.level_sway.follow(level, dt_s);
        }
        if let Some(input) = input {
            self.input_sway.follow(input, dt_s);
        }
        let agc = |state, reasons: Reasons| {
            matches!(state, DirectionState::Limited)
                && (reasons.contains(Reasons::OUTPUT) || reasons.contains(Reasons::INPUT))
        };
        let paths = [
            (t.dl_gain, agc(t.dl_state, t.dl_reasons)),
            (t.ul_gain, agc(t.ul_state, t.ul_reasons)),
        ];
        for (steadiness, (gain, held)) in self.steadiness.iter_mut().zip(paths) {
            steadiness.follow(gain.filter(|_| held).map(TenthDb::db), dt_s);
        }
    }

    /// The unit starts anew: its clock and what it said about oscillation begin again.
    pub(super) fn restarted(&mut self) {
        self.last_unit_ms = None;
        self.oscillating = [false; 2];
    }

    /// Hands are on the antenna: levels begin anew.
    pub(super) fn antenna_moves(&mut self) {
        self.level = Level::default();
        self.level_sway = Sway::default();
        self.input_sway = Sway::default();
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

    /// Report interval in force, as seen.
    pub(super) fn interval(&self) -> Option<Duration> {
        self.interval
    }

    /// How long the input has not moved by a tenth of a dB; zero where that may be chance.
    pub(super) fn frozen_for(&self) -> Duration {
        self.frozen.told()
    }

    pub(super) fn account(&mut self, reading: &Reading, accounts: Accounts) {
        self.loss.add(Duration::from_millis(reading.unit_ms), accounts);
    }

    pub(super) fn loss(&self) -> Loss {
        self.loss.now()
    }
}

/// An input that repeats itself.
#[derive(Clone, Debug, Default)]
struct Frozen {
    same: Option<TenthDbm>,
    so_far: Duration,
    readings: u32,
    /// Values between whole dB were seen: the unit sends tenths, and repetition is no chance.
    tenths: bool,
}

impl Frozen {
    /// Fewer identical readings than this may be chance.
    const LEAST: u32 = 20;

    fn watch(&mut self, input: Option<TenthDbm>, step: Duration) {
        self.tenths |= input.is_some_and(|i| i.0 % 10 != 0);
        if self.same == input && input.is_some() {
            self.so_far += step;
            self.readings = self.readings.saturating_add(1);
        } else {
            (self.same, self.so_far, self.readings) = (input, Duration::ZERO, 0);
        }
    }

    fn told(&self) -> Duration {
        if self.tenths && self.readings >= Self::LEAST {
            self.so_far
        } else {
            Duration::ZERO
        }
    }
}
