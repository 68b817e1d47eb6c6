//! One direction of one band, with everything that holds its gain down.

use super::amplifier::Amplifier;
use super::guard::{Guard, GuardAct};
use super::meter::Meter;
use crate::rng::Rng;
use crate::scenario::{BandSpec, UnitSpec, Way};
use crate::world::thermal_noise_mw;
use booster_profile::{DirectionState, Reasons, TenthDb, TenthDbm};

/// Time over which the unit averages its measurement of isolation, s.
const ISOLATION_AVERAGE_S: f64 = 0.8;
/// How fast a self-adapting unit gives gain back, dB/s.
const ADAPT_RISE_DB_PER_S: f64 = 0.2;
/// Gain that aim-safe takes from the downlink, dB.
const AIM_SAFE_DB: f64 = 30.0;
/// An output detector sees at least this, mW (−60 dBm).
const DETECTOR_FLOOR_MW: f64 = 1e-6;

/// What concerns the whole unit or the whole band and holds gain down here.
#[derive(Clone, Copy, Debug)]
pub struct Conditions {
    /// Not yet amplifying after a start.
    pub starting: bool,
    /// Must not amplify: the operator has not enabled the unit.
    pub unauthorized: bool,
    /// Must not amplify: TDD synchronisation is lost.
    pub unsynchronised: bool,
    /// Hands are on the antenna.
    pub aim_safe: bool,
    /// Gain lost to heat, dB.
    pub heat_db: f64,
    /// Gain lost to a weak supply, dB.
    pub supply_db: f64,
    /// Gain lost to an overloaded front end, dB.
    pub front_end_db: f64,
    /// Gain that the rule allows, dB.
    pub allowed_db: Option<f64>,
    /// Margin that a self-adapting unit keeps, dB.
    pub adapt_margin_db: Option<f64>,
}

/// Powers of a direction over a time, weighted by it.
#[derive(Clone, Copy, Debug, Default)]
pub struct Average {
    input: f64,
    output: f64,
    s: f64,
}

impl Average {
    fn add(&mut self, input_mw: f64, output_mw: f64, s: f64) {
        self.input += input_mw * s;
        self.output += output_mw * s;
        self.s += s;
    }
}

/// One direction.
#[derive(Clone, Debug)]
pub struct Lane {
    /// The amplifier in its loop.
    pub amplifier: Amplifier,
    /// The oscillation guard.
    pub guard: Guard,
    /// Muted by command.
    pub muted: bool,
    /// Idle: no handset for long (uplink).
    pub idle: bool,
    /// What it is doing.
    pub state: DirectionState,
    /// Why it has less gain than was set.
    pub reasons: Reasons,
    /// Attenuation that is set, dB.
    pub attenuation_db: f64,
    /// Input above the overload level.
    pub overloaded: bool,
    /// Since the last report.
    pub report: Average,
    /// Largest output in this second, mW.
    pub peak_output_mw: f64,
    /// Smallest gain in this second, dB.
    pub least_gain_db: f64,
    /// The gain that was last in effect, dB.
    pub last_gain_db: f64,
    /// Since the last whole second.
    pub second: Average,
    way: Way,
    max_gain_db: f64,
    overload_mw: f64,
    measured_isolation_db: Option<f64>,
    keep: (f64, f64),
    adapted_db: f64,
    input_meter: Meter,
    output_meter: Meter,
    isolation_meter: Meter,
}

impl Lane {
    /// The direction `way` of a band.
    pub fn new(unit: &UnitSpec, band: &BandSpec, way: Way, rng: &mut Rng) -> Self {
        let (rated, figure, attenuation_db, max_gain_db, detect_s) = match way {
            Way::Dl => (
                band.rated_dl_dbm,
                band.noise_figure_dl_db,
                band.attenuation_dl_db,
                band.max_gain_db,
                unit.guard.dl_s,
            ),
            Way::Ul => (
                band.rated_ul_dbm,
                band.noise_figure_ul_db,
                band.attenuation_ul_db,
                band.max_ul_gain_db.unwrap_or(band.max_gain_db),
                unit.guard.ul_s,
            ),
        };
        let own = thermal_noise_mw(band.width_mhz * 1e6) * (libm::exp10(figure / 10.0) - 1.0);
        Self {
            amplifier: Amplifier::new(rated, band.agc_range_db, own),
            guard: Guard::new(&unit.guard, detect_s),
            muted: false,
            idle: false,
            state: DirectionState::Starting,
            reasons: Reasons::default(),
            attenuation_db,
            overloaded: false,
            report: Average::default(),
            peak_output_mw: 0.0,
            least_gain_db: f64::INFINITY,
            last_gain_db: 0.0,
            second: Average::default(),
            way,
            max_gain_db,
            overload_mw: libm::exp10((rated - (max_gain_db - band.agc_range_db)) / 10.0),
            measured_isolation_db: None,
            keep: (0.0, 0.0),
            adapted_db: f64::INFINITY,
            input_meter: Meter::new(band.accuracy_db, rng),
            output_meter: Meter::new(band.accuracy_db, rng),
            isolation_meter: Meter::new(band.accuracy_db, rng),
        }
    }

    /// Gain that was set, dB.
    pub fn set_db(&self) -> f64 {
        self.max_gain_db - self.attenuation_db
    }

    /// Largest gain, dB.
    pub fn max_gain_db(&self) -> f64 {
        self.max_gain_db
    }

    /// Advances by `dt_s` and says what the guard did.
    pub fn step(
        &mut self,
        now_us: u64,
        dt_s: f64,
        external_mw: f64,
        isolation_db: f64,
        conditions: &Conditions,
    ) -> [Option<GuardAct>; 2] {
        if !self.switch_off(external_mw, conditions) {
            self.measure_isolation(dt_s, isolation_db);
            self.amplify(dt_s, external_mw, isolation_db, conditions);
        }
        let working = *self.amplifier.working();
        let output = working.output_mw;
        self.report.add(working.input_mw, output, dt_s);
        self.second.add(working.input_mw, output, dt_s);
        self.peak_output_mw = self.peak_output_mw.max(output);
        if working.gain_db.is_finite() {
            self.least_gain_db = self.least_gain_db.min(working.gain_db);
            self.last_gain_db = working.gain_db;
        }
        let acts = self.guard.watch(now_us, working.oscillating);
        if acts
            .iter()
            .flatten()
            .any(|a| matches!(a, GuardAct::Acted(_) | GuardAct::LatchedOff(_)))
        {
            // It does not wait for the next step.
            self.switch_off(external_mw, conditions);
        }
        acts
    }

    /// Switches off if something demands it; says whether.
    fn switch_off(&mut self, external_mw: f64, conditions: &Conditions) -> bool {
        let Some((state, reasons)) = self.why_off(conditions) else {
            return false;
        };
        self.amplifier.off(external_mw);
        self.state = state;
        self.reasons = reasons;
        self.measured_isolation_db = None;
        true
    }

    fn why_off(&self, conditions: &Conditions) -> Option<(DirectionState, Reasons)> {
        let none = Reasons::default();
        // In the order of the profile: of several states the first is told.
        if self.guard.is_latched() {
            Some((DirectionState::LatchedOff, Reasons::GUARD))
        } else if conditions.unauthorized {
            Some((DirectionState::Off, Reasons::RULE))
        } else if conditions.unsynchronised {
            Some((DirectionState::Off, none))
        } else if conditions.starting {
            Some((DirectionState::Starting, none))
        } else if self.guard.holds_off() {
            Some((DirectionState::Guard, Reasons::GUARD))
        } else if self.muted || (conditions.aim_safe && self.way == Way::Ul) {
            Some((DirectionState::Muted, Reasons::SETTING))
        } else if self.idle {
            Some((DirectionState::Muted, none))
        } else {
            None
        }
    }

    fn measure_isolation(&mut self, dt_s: f64, isolation_db: f64) {
        if dt_s != self.keep.0 {
            self.keep = (dt_s, libm::exp(-dt_s / ISOLATION_AVERAGE_S));
        }
        let before = self.measured_isolation_db.unwrap_or(isolation_db);
        self.measured_isolation_db = Some(isolation_db + (before - isolation_db) * self.keep.1);
    }

    fn amplify(&mut self, dt_s: f64, external_mw: f64, isolation_db: f64, conditions: &Conditions) {
        let set = self.set_db();
        self.adapt(dt_s, isolation_db, conditions);
        let aim_safe = if conditions.aim_safe { AIM_SAFE_DB } else { 0.0 };
        let limits = [
            (conditions.allowed_db.unwrap_or(f64::INFINITY), Reasons::RULE),
            (self.max_gain_db - conditions.heat_db, Reasons::HEAT),
            (self.max_gain_db - conditions.supply_db, Reasons::SUPPLY),
            (self.max_gain_db - conditions.front_end_db, Reasons::INPUT),
            (self.adapted_db, Reasons::ISOLATION),
            (set - aim_safe, Reasons::SETTING),
        ];
        let target = limits.iter().fold(set, |least, (db, _)| least.min(*db)).max(0.0);
        self.amplifier.step(dt_s, target, external_mw, isolation_db);

        self.note_overload();
        let mut reasons = Reasons::default();
        for (_, reason) in limits.iter().filter(|(db, _)| *db < set - 0.5) {
            reasons = reasons.with(*reason);
        }
        if self.amplifier.working().agc_db > 0.5 {
            reasons = reasons.with(if self.overloaded {
                Reasons::INPUT
            } else {
                Reasons::OUTPUT
            });
        }
        self.reasons = reasons;
        self.state = if reasons.is_empty() {
            DirectionState::Normal
        } else {
            DirectionState::Limited
        };
    }

    fn adapt(&mut self, dt_s: f64, isolation_db: f64, conditions: &Conditions) {
        let Some(margin) = conditions.adapt_margin_db else {
            return;
        };
        let wanted = self.measured_isolation_db.unwrap_or(isolation_db) - margin;
        self.adapted_db = if self.adapted_db.is_finite() {
            wanted.min(self.adapted_db + ADAPT_RISE_DB_PER_S * dt_s)
        } else {
            wanted
        };
    }

    fn note_overload(&mut self) {
        let input = self.amplifier.working().input_mw;
        // 1 dB of hysteresis.
        let limit = if self.overloaded {
            self.overload_mw * 0.794
        } else {
            self.overload_mw
        };
        self.overloaded = input > limit;
    }

    /// Mean input and output since the last report as the meters show them, and the next average begins.
    /// An output is not known while no signal passes.
    pub fn take_report(&mut self, rng: &mut Rng) -> (Option<TenthDbm>, Option<TenthDbm>) {
        let working = self.amplifier.working();
        let average = core::mem::take(&mut self.report);
        let (input, output) = if average.s > 0.0 {
            (average.input / average.s, average.output / average.s)
        } else {
            (working.input_mw, working.output_mw)
        };
        (self.input_meter.level(input, rng), self.output_level(output, rng))
    }

    /// Mean input and largest output of the second as the meters show them, smallest gain, and the next second begins.
    pub fn take_second(&mut self, rng: &mut Rng) -> Second {
        let average = core::mem::take(&mut self.second);
        let input = if average.s > 0.0 {
            average.input / average.s
        } else {
            self.amplifier.working().input_mw
        };
        let second = Second {
            input: self.input_meter.level(input, rng),
            output: self.output_level(self.peak_output_mw, rng),
            gain_db: self.least_gain_db,
        };
        self.peak_output_mw = 0.0;
        self.least_gain_db = f64::INFINITY;
        second
    }

    fn output_level(&self, power_mw: f64, rng: &mut Rng) -> Option<TenthDbm> {
        if power_mw <= 0.0 {
            return None;
        }
        self.output_meter.level(power_mw + DETECTOR_FLOOR_MW, rng)
    }

    /// Isolation as the unit measures it; not while it does not amplify.
    pub fn isolation(&self, rng: &mut Rng) -> Option<TenthDb> {
        self.isolation_meter.ratio(self.measured_isolation_db?, rng)
    }

    /// Sends whole dB from now on, or tenths.
    pub fn set_whole_db(&mut self, whole: bool) {
        self.input_meter.set_whole_db(whole);
        self.output_meter.set_whole_db(whole);
        self.isolation_meter.set_whole_db(whole);
    }
}

/// One second of a direction.
#[derive(Clone, Copy, Debug)]
pub struct Second {
    /// Mean input.
    pub input: Option<TenthDbm>,
    /// Largest output.
    pub output: Option<TenthDbm>,
    /// Smallest gain, dB; not finite while off.
    pub gain_db: f64,
}
