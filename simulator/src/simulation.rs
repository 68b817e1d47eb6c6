//! A unit in its world, stepped with simulated time: the in-process front.

use crate::booster::{Unit, table_entry};
use crate::gatt::{AttError, LinkParameters, PushedBytes, Server, Value};
use crate::rng::Rng;
use crate::scenario::{Action, Scenario, Timeline, Way};
use crate::transport::{Transport, TransportTruth};
use crate::world::World;
use booster_profile::advertising::ServiceData;
use booster_profile::{AttributeBytes, BandTable, Characteristic, PROFILE_VERSION};

/// Step of the physics, µs. Changes of the timeline and deadlines of the unit are met exactly.
pub const TICK_US: u64 = 100_000;

/// Something that a client notices.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Sent {
    /// When it arrives, µs of simulated time.
    pub at_us: u64,
    /// What.
    pub what: What,
}

/// What a client notices.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum What {
    /// A value arrived unasked. An indication waits for [`Simulation::confirm`].
    Value {
        /// Whose value.
        characteristic: Characteristic,
        /// The value.
        bytes: PushedBytes,
    },
    /// The connection ended by itself.
    Disconnected,
}

/// What the unit advertises.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Advertisement {
    /// Name, at most 7 bytes.
    pub name: String,
    /// Service data.
    pub service_data: ServiceData,
}

/// A unit in its world.
#[derive(Clone, Debug)]
pub struct Simulation {
    now_us: u64,
    stepped_us: u64,
    next_report_us: u64,
    world: World,
    unit: Unit,
    server: Server,
    transport: Transport,
    timeline: Timeline,
    table: BandTable,
    away_until_us: u64,
    mtu_limit: u16,
    /// A connection that ended and of which the client does not know yet.
    ended: bool,
}

impl Simulation {
    /// The unit of a scenario that has passed its checks; the same seed gives the same bytes.
    pub fn new(scenario: &Scenario, seed: u64) -> Self {
        let world = World::new(scenario, seed);
        let unit = Unit::new(scenario, seed, &world);
        let mut table = BandTable::default();
        for (index, band) in scenario.band.iter().take(booster_profile::MAX_BANDS).enumerate() {
            table.bands.push(table_entry(index as u8, band));
        }
        let transport = Transport::new(
            &scenario.transport,
            scenario.band.len(),
            Rng::stream(seed, "transport", 0),
        );
        let report_us = u64::from(unit.spec().report_ms) * 1000;
        let mut simulation = Self {
            now_us: 0,
            stepped_us: 0,
            next_report_us: report_us,
            world,
            unit,
            server: Server::default(),
            transport,
            // A scenario is checked when it is read; one built by hand with wrong names has no timeline.
            timeline: Timeline::new(scenario).unwrap_or_default(),
            table,
            away_until_us: 0,
            mtu_limit: scenario.transport.mtu,
            ended: false,
        };
        simulation.settle(0);
        simulation
    }

    /// Simulated time, µs since the start of the scenario.
    pub fn now_us(&self) -> u64 {
        self.now_us
    }

    /// Whether the unit can be connected to.
    pub fn is_advertising(&self) -> bool {
        !self.server.is_connected() && self.now_us >= self.away_until_us && self.unit.is_up(self.now_us)
    }

    /// What the unit advertises.
    pub fn advertisement(&self) -> Advertisement {
        let margin = self.unit.worst_margin_db();
        Advertisement {
            name: self.unit.spec().short_name.clone(),
            service_data: ServiceData {
                major: PROFILE_VERSION.major,
                attention: self.unit.attention(),
                worst_state: self.unit.worst_state(),
                loop_margin_db: margin.map(|m| libm::floor(m).clamp(-127.0, 127.0) as i8),
            },
        }
    }

    /// The MTU that the scenario's link negotiates.
    pub fn mtu(&self) -> u16 {
        self.mtu_limit
    }

    /// A client connects; the smaller of its MTU and the scenario's holds. Without effect while the unit is away.
    pub fn connect(&mut self, link: LinkParameters) {
        if self.now_us < self.away_until_us || !self.unit.is_up(self.now_us) {
            return;
        }
        self.ended = false;
        self.transport.begin(self.now_us);
        self.server.connect(LinkParameters {
            mtu: link.mtu.min(self.mtu_limit),
            ..link
        });
        self.schedule_report();
    }

    /// The client disconnects.
    pub fn disconnect(&mut self) {
        self.server.disconnect();
        self.transport.end();
        self.ended = false;
        self.schedule_report();
    }

    /// Whether a client is connected.
    pub fn is_connected(&self) -> bool {
        self.server.is_connected()
    }

    /// The client's MTU became known later, as some stacks tell it.
    pub fn set_mtu(&mut self, mtu: u16) {
        self.server.set_mtu(mtu.min(self.mtu_limit));
    }

    /// Reads a value.
    ///
    /// # Errors
    /// The ATT error that the client gets.
    pub fn read(&mut self, c: Characteristic) -> Result<AttributeBytes, AttError> {
        self.server.read(c, &self.unit, &self.table)
    }

    /// Writes a value with response.
    ///
    /// # Errors
    /// The ATT error that the client gets.
    pub fn write(&mut self, c: Characteristic, value: &[u8]) -> Result<(), AttError> {
        self.server.write(self.now_us, c, value, &mut self.unit)?;
        self.schedule_report();
        self.settle(0);
        Ok(())
    }

    /// Enables or disables notifications or indications of a characteristic.
    ///
    /// # Errors
    /// The ATT error that the client gets.
    pub fn subscribe(&mut self, c: Characteristic, on: bool) -> Result<(), AttError> {
        self.server.subscribe(self.now_us, c, on, &self.unit)?;
        self.send_due();
        Ok(())
    }

    /// The client confirms the outstanding indication.
    pub fn confirm(&mut self) {
        self.server.confirm();
        self.send_due();
    }

    /// When the simulation has something to do next, µs of simulated time: for a front that sleeps until then.
    pub fn next_us(&self) -> u64 {
        self.next_inner_us().min(self.transport.next_us())
    }

    /// Advances simulated time to the next thing that a client notices, at most to `limit_us`, and returns it; `None`
    /// when nothing happened until then.
    pub fn advance(&mut self, limit_us: u64) -> Option<Sent> {
        loop {
            if self.ended {
                self.ended = false;
                return Some(Sent {
                    at_us: self.now_us,
                    what: What::Disconnected,
                });
            }
            let inner = self.next_inner_us();
            let arrival = self.transport.next_us();
            let next = inner.min(arrival);
            if next > limit_us {
                self.now_us = self.now_us.max(limit_us);
                return None;
            }
            self.now_us = self.now_us.max(next);
            // What arrives at the same moment was sent before.
            if let Some((
                at_us,
                Value {
                    characteristic,
                    bytes,
                },
            )) = self.transport.take(self.now_us)
            {
                return Some(Sent {
                    at_us,
                    what: What::Value {
                        characteristic,
                        bytes,
                    },
                });
            }
            self.inner_step();
        }
    }

    fn next_inner_us(&self) -> u64 {
        let tick = (self.stepped_us / TICK_US + 1) * TICK_US;
        tick.min(self.next_report_us)
            .min(self.timeline.next_us().unwrap_or(u64::MAX))
            .min(self.unit.next_us().max(self.now_us))
            .min(self.server.next_us())
            .min(self.transport.drop_at_us().unwrap_or(u64::MAX))
            .max(self.now_us)
    }

    fn inner_step(&mut self) {
        let dt_s = (self.now_us - self.stepped_us) as f64 / 1e6;
        self.world.step(self.now_us, dt_s);
        self.unit.step(self.now_us, dt_s, &self.world);
        self.stepped_us = self.now_us;
        let mut changed = false;
        while let Some(action) = self.timeline.take_due(self.now_us) {
            self.apply_now(&action);
            changed = true;
        }
        if changed {
            self.settle(0);
        }
        let late = |deadline: Option<u64>| deadline.is_some_and(|d| self.now_us >= d);
        if late(self.transport.drop_at_us()) || late(self.server.confirmation_deadline_us()) {
            self.drop_connection(self.transport_away_us());
        }
        if self.now_us >= self.next_report_us {
            if self.unit.is_up(self.now_us) {
                let (now, transport) = (self.now_us, &mut self.transport);
                self.server
                    .send_readings(now, &mut self.unit, |v| transport.send(now, v));
            }
            self.next_report_us += self.interval_us();
        }
        self.send_due();
    }

    fn interval_us(&self) -> u64 {
        u64::from(self.server.interval_ms(&self.unit).max(1)) * 1000
    }

    /// After a change of the interval: the next report comes within the new one, on its own grid.
    fn schedule_report(&mut self) {
        let interval = self.interval_us();
        self.next_report_us = (self.now_us / interval + 1) * interval;
    }

    fn transport_away_us(&self) -> u64 {
        (self.transport.away_s() * 1e6) as u64
    }

    fn send_due(&mut self) {
        let (now, transport) = (self.now_us, &mut self.transport);
        self.server
            .send_due(now, &self.unit, &self.world, |v| transport.send(now, v));
    }

    /// Takes changes into account at once, without time passing.
    fn settle(&mut self, dt_us: u64) {
        let dt_s = dt_us as f64 / 1e6;
        self.world.step(self.now_us, dt_s);
        self.unit.step(self.now_us, dt_s, &self.world);
        self.send_due();
    }

    fn drop_connection(&mut self, away_us: u64) {
        if self.server.is_connected() {
            self.server.disconnect();
            self.transport.dropped();
            self.ended = true;
        }
        self.away_until_us = self.now_us + away_us;
        self.schedule_report();
    }

    fn apply_now(&mut self, action: &Action) {
        self.world.apply(action);
        self.unit.apply(self.now_us, action);
        match action {
            Action::Disconnect { away_s } => self.drop_connection((away_s.max(0.0) * 1e6) as u64),
            Action::Restart => self.drop_connection(0),
            _ => {}
        }
    }

    /// Does something to the site or the unit now, as the timeline would: a remedy, a fault.
    pub fn apply(&mut self, action: &Action) {
        self.apply_now(action);
        self.settle(0);
    }

    /// The unit restarts: the connection drops, the boot id changes, events and history stay.
    pub fn restart_unit(&mut self) {
        self.apply(&Action::Restart);
    }

    /// The donor antenna turns to this bearing, degrees from north.
    pub fn turn(&mut self, bearing_deg: f64) {
        self.apply(&Action::Turn { bearing_deg });
    }

    /// What happened to the values on their way.
    pub fn transport_truth(&self) -> &TransportTruth {
        self.transport.truth()
    }

    /// True isolation of a band in one direction, dB.
    pub fn true_isolation_db(&self, band: usize, way: Way) -> Option<f64> {
        self.world.air().get(band).map(|a| *a.isolation.get(way))
    }

    /// True loop margin at the gain that the input leaves in effect, dB; infinite while the direction is off.
    pub fn true_margin_db(&self, band: usize, way: Way) -> Option<f64> {
        self.unit
            .bands()
            .get(band)
            .map(|b| b.lane(way).amplifier.working().margin_db)
    }

    /// True composite input at the donor (downlink) or server (uplink) port as a perfect detector would show it, dBm.
    pub fn true_input_dbm(&self, band: usize, way: Way) -> Option<f64> {
        let lane = self.unit.bands().get(band)?.lane(way);
        Some(10.0 * libm::log10(lane.amplifier.working().input_mw))
    }

    /// The world.
    pub fn world(&self) -> &World {
        &self.world
    }

    /// The unit.
    pub fn unit(&self) -> &Unit {
        &self.unit
    }

    /// The unit, for a front that keeps its memory over runs.
    pub fn unit_mut(&mut self) -> &mut Unit {
        &mut self.unit
    }
}
