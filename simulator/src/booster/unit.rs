//! The whole unit: a step function of simulated time.

use super::band::{BandUnit, conditions};
use super::health::{Health, Turn};
use super::lane::Conditions;
use super::log::Memory;
use super::modem::Modem;
use crate::rng::Rng;
use crate::scenario::{AuthorizationSpec, Quirk, Scenario, UnitSpec, Way, ways};
use crate::world::World;
use booster_profile::{Direction, DirectionState, EventCode, HistoryRecord, TenthDb, UnitEvent};

pub(super) const SECOND_US: u64 = 1_000_000;
/// Presence lasts this long after the button or a fresh start, µs.
pub(super) const PRESENCE_US: u64 = 120 * SECOND_US;

/// The unit.
#[derive(Clone, Debug)]
pub struct Unit {
    pub(super) spec: UnitSpec,
    pub(super) bands: Vec<BandUnit>,
    pub(super) health: Health,
    pub(super) authorization: AuthorizationSpec,
    pub(super) modem: Modem,
    pub(super) quirks: Vec<Quirk>,
    pub(super) memory: Memory,
    pub(super) rng: Rng,
    pub(super) boot_id: u32,
    /// Start of the present boot, µs of simulated time; negative for a unit that ran before the scenario.
    pub(super) boot_us: i64,
    /// Amplifying from here on.
    pub(super) ready_us: u64,
    pub(super) restarts: u8,
    pub(super) aim_safe_until_us: Option<u64>,
    pub(super) presence_until_us: u64,
    pub(super) isolation_test: Option<(u64, Option<u8>)>,
    pub(super) locate_until_us: u64,
    pub(super) front_end_bad: bool,
    pub(super) front_end_db: f64,
    pub(super) next_second_us: u64,
}

impl Unit {
    /// The unit of a scenario, in its world.
    pub fn new(scenario: &Scenario, seed: u64, world: &World) -> Self {
        let spec = scenario.unit.clone();
        let bands: Vec<BandUnit> = scenario
            .band
            .iter()
            .enumerate()
            .map(|(i, band)| {
                let wanted = scenario.cell.iter().position(|c| c.wanted && c.band == band.name);
                BandUnit::new(&spec, band, wanted, Rng::stream(seed, "band", i))
            })
            .collect();
        let mut rng = Rng::stream(seed, "unit", 0);
        let boot_id = rng.bits() as u32;
        let mut unit = Self {
            health: Health::new(&spec),
            authorization: spec.authorization,
            modem: Modem::new(spec.modem_ms, scenario.cell.len()),
            quirks: spec.quirks.clone(),
            memory: Memory::new(spec.event_capacity, spec.history_capacity),
            rng,
            boot_id,
            boot_us: -i64::from(spec.uptime_s) * 1_000_000,
            ready_us: 0,
            restarts: 0,
            aim_safe_until_us: None,
            presence_until_us: 0,
            isolation_test: None,
            locate_until_us: 0,
            front_end_bad: false,
            front_end_db: 0.0,
            next_second_us: SECOND_US,
            bands,
            spec,
        };
        unit.event_at(unit.boot_us, EventCode::Started, None, Direction::Both, None);
        for quirk in unit.quirks.clone() {
            unit.set_quirk(quirk, true);
        }
        unit.modem
            .warm_up(0, world, |b| unit.bands.get(b).map_or(4.0, |b| b.noise_factor));
        // It has run for long: gain has risen and the rule has looked.
        unit.step(0, 60.0, world);
        for band in &mut unit.bands {
            band.apply_rule(unit.spec.rule, unit.spec.coupling_loss_db);
        }
        unit.step(0, 60.0, world);
        unit.clear_averages();
        unit
    }

    fn clear_averages(&mut self) {
        for band in &mut self.bands {
            for way in ways(None) {
                let lane = band.lane_mut(way);
                lane.report = Default::default();
                lane.second = Default::default();
                lane.peak_output_mw = 0.0;
                lane.least_gain_db = f64::INFINITY;
            }
        }
    }

    /// Begins a boot at this moment with what an earlier run remembered, for a front whose unit is started and stopped
    /// for real: `boot_id` is drawn by the front, `last_boot` is the one before.
    pub fn begin_boot(&mut self, now_us: u64, memory: Memory, boot_id: u32, last_boot: Option<u32>) {
        let clash = last_boot.is_some_and(|last| last & 0xF == boot_id & 0xF);
        self.boot_id = if clash { boot_id ^ 1 } else { boot_id };
        self.memory = memory;
        self.boot_us = now_us as i64;
        self.event(now_us, EventCode::Started, None, Direction::Both, None);
    }

    /// A new boot id, whose low four bits differ from the last, so that telemetry alone tells a restart.
    pub(super) fn renew_boot_id(&mut self, last: u32) {
        loop {
            self.boot_id = self.rng.bits() as u32;
            if self.boot_id & 0xF != last & 0xF {
                return;
            }
        }
    }

    /// Device time since the start, ms; wraps at 2³².
    pub fn device_ms(&self, now_us: u64) -> u32 {
        ((now_us as i64 - self.boot_us) / 1000) as u32
    }

    /// Whether this firmware fault is active.
    pub fn has(&self, quirk: Quirk) -> bool {
        self.quirks.contains(&quirk)
    }

    pub(super) fn set_quirk(&mut self, quirk: Quirk, on: bool) {
        self.quirks.retain(|q| *q != quirk);
        if on {
            self.quirks.push(quirk);
        }
        if quirk == Quirk::WholeDb {
            for band in &mut self.bands {
                ways(None).for_each(|w| band.lane_mut(w).set_whole_db(on));
            }
        }
    }

    pub(super) fn event(
        &mut self,
        now_us: u64,
        code: EventCode,
        band: Option<u8>,
        direction: Direction,
        value: Option<i16>,
    ) {
        self.event_at(now_us as i64, code, band, direction, value);
    }

    fn event_at(
        &mut self,
        at_us: i64,
        code: EventCode,
        band: Option<u8>,
        direction: Direction,
        value: Option<i16>,
    ) {
        let time_ms = ((at_us - self.boot_us) / 1000) as u32;
        let boot_id = self.boot_id;
        self.memory.events.push(|sequence| UnitEvent {
            sequence,
            boot_id,
            time_ms,
            code,
            band,
            direction,
            value,
        });
    }

    /// When something happens by itself.
    pub fn next_us(&self) -> u64 {
        let mut next = self.next_second_us.min(self.modem.next_us());
        for band in &self.bands {
            for way in ways(None) {
                next = next.min(band.lane(way).guard.deadline_us().unwrap_or(u64::MAX));
            }
        }
        next
    }

    fn conditions(&self, now_us: u64) -> Conditions {
        Conditions {
            starting: now_us < self.ready_us,
            unauthorized: self.authorization == AuthorizationSpec::Absent,
            unsynchronised: false,
            aim_safe: self.aim_safe_until_us.is_some(),
            heat_db: self.health.heat_db(),
            supply_db: self.health.supply_db(),
            front_end_db: self.front_end_db,
            allowed_db: None,
            adapt_margin_db: self.spec.self_adapting.then_some(self.spec.adapt_margin_db),
        }
    }

    /// Advances to `now_us`, `dt_s` after the step before; 0 only takes changes into account.
    pub fn step(&mut self, now_us: u64, dt_s: f64, world: &World) {
        self.watch_front_end(now_us, world);
        let unit = self.conditions(now_us);
        let unsynchronised = self.has(Quirk::TransmitsWithoutSync);
        for index in 0..self.bands.len() {
            let Some(air) = world.air().get(index) else {
                continue;
            };
            let here = conditions(&unit, &self.bands[index], unsynchronised);
            self.watch_idle(index, now_us, world);
            for way in ways(None) {
                let (external, isolation) = match way {
                    Way::Dl => (air.dl_mw, air.isolation.dl),
                    Way::Ul => (air.ul_mw, air.isolation.ul),
                };
                let lane = self.bands[index].lane_mut(way);
                let was_overloaded = lane.overloaded;
                let acts = lane.step(now_us, dt_s, external, isolation, &here);
                let overloaded = lane.overloaded;
                if overloaded != was_overloaded && way == Way::Dl {
                    self.overload_event(now_us, index);
                }
                for act in acts.into_iter().flatten() {
                    self.guard_event(now_us, index, way, act);
                }
            }
        }
        let bands = &self.bands;
        self.modem.step(now_us, world, |b| {
            bands.get(b).map_or((4.0, 0.0), |b| {
                (b.noise_factor, b.dl.amplifier.working().echo_ratio)
            })
        });
        while now_us >= self.next_second_us {
            self.second(self.next_second_us);
            self.next_second_us += SECOND_US;
        }
    }

    /// The worst state of any direction: the first that occurs of latched-off, guard, off, limited, muted, starting,
    /// normal (profile, section 14.1).
    pub fn worst_state(&self) -> DirectionState {
        use DirectionState as S;
        let rank = |s: &S| match s {
            S::LatchedOff => 6,
            S::Guard => 5,
            S::Off => 4,
            S::Limited => 3,
            S::Muted => 2,
            S::Starting => 1,
            _ => 0,
        };
        let states = self.bands.iter().flat_map(|b| [b.dl.state, b.ul.state]);
        states.max_by_key(rank).unwrap_or(S::Off)
    }

    /// What the unit does once a second.
    fn second(&mut self, now_us: u64) {
        let amplifying = now_us >= self.ready_us && self.authorization != AuthorizationSpec::Absent;
        let (heat, supply) = self.health.second(amplifying);
        let temperature = tenths(self.health.temperature_c());
        let voltage = tenths(self.health.supply_v);
        for (turn, bad, good, value) in [
            (heat, EventCode::HeatStart, EventCode::HeatEnd, temperature),
            (supply, EventCode::SupplyLow, EventCode::SupplyRestored, voltage),
        ] {
            match turn {
                Turn::None => {}
                Turn::Bad => self.event(now_us, bad, None, Direction::Both, value),
                Turn::Good => self.event(now_us, good, None, Direction::Both, value),
            }
        }
        self.end_timed(now_us);
        let boot = (self.boot_id & 0xFF) as u8;
        let time_ms = self.device_ms(now_us);
        for (index, band) in self.bands.iter_mut().enumerate() {
            band.apply_rule(self.spec.rule, self.spec.coupling_loss_db);
            let (dl, ul) = (
                band.dl.take_second(&mut self.rng),
                band.ul.take_second(&mut self.rng),
            );
            let (dl_state, ul_state) = (band.dl.state, band.ul.state);
            self.memory.history.push(|sequence| HistoryRecord {
                sequence,
                boot,
                time_ms,
                band: index as u8,
                dl_input: dl.input,
                dl_gain: TenthDb::from_units(dl.gain_db),
                ul_gain: TenthDb::from_units(ul.gain_db),
                ul_output: ul.output,
                dl_state,
                ul_state,
            });
        }
    }

    /// Whether the radio side and Bluetooth are up.
    pub fn is_up(&self, now_us: u64) -> bool {
        now_us >= self.ready_us
    }

    /// When it is up after a start.
    pub fn ready_us(&self) -> u64 {
        self.ready_us
    }

    /// The logs.
    pub fn memory(&self) -> &Memory {
        &self.memory
    }

    /// The bands.
    pub fn bands(&self) -> &[BandUnit] {
        &self.bands
    }

    /// Boot id.
    pub fn boot_id(&self) -> u32 {
        self.boot_id
    }

    /// The specification.
    pub fn spec(&self) -> &UnitSpec {
        &self.spec
    }

    /// The modem.
    pub fn modem(&self) -> &Modem {
        &self.modem
    }

    /// Smallest margin of any direction of any band, dB.
    pub fn worst_margin_db(&self) -> Option<f64> {
        self.bands
            .iter()
            .filter_map(BandUnit::margin_db)
            .min_by(f64::total_cmp)
    }
}

/// In tenths, where it fits.
pub(super) fn tenths(value: f64) -> Option<i16> {
    TenthDb::from_units(value).map(|t| t.0)
}
