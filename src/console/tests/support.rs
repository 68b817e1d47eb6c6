//! A unit made by hand, its events folded; and a dump of what was drawn, styles included.

use crate::aiming::{Objective, Plan, Prompt, Step};
use crate::analysis::Criteria;
use crate::console::{ColorDepth, History, Look, Queue, State, Surroundings, ThemeName, View, draw};
use crate::event::{Event, EventKind, LinkState, Origin, RawBytes};
use crate::fold::Fold;
use crate::output::Latency;
use booster_profile::{
    Authorization, Band, BandTable, BandTelemetry, BoosterFeature, Characteristic, DirectionState, Duplex,
    Extra, Features, Fields, Health, OperatingState, PortHealth, Quality, Reasons, Regulation, Technology,
    TenthDb, TenthDbm, UnitEvent, UnitStatus, Version, WantedCell,
};
use radio::Degrees;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::{Color, Modifier};
use std::fmt::Write;
use std::time::Duration;

const BOOT: u32 = 0x51c0_ffe3;
const INTERVAL_MS: u64 = 100;

/// A session with a unit of some bands at 10 Hz.
pub struct Session {
    pub fold: Fold,
    pub about: Surroundings,
    pub history: History,
    sequence: u16,
    bands: Vec<Band>,
}

/// A band of a unit of common size: 70 dB of gain, 24 dBm of downlink output.
pub fn band(index: u8, number: u16, bandwidth_khz: u32) -> Band {
    Band {
        index,
        technology: Technology::Lte,
        duplex: Duplex::Fdd,
        number,
        dl_centre_khz: 1_960_000,
        ul_centre_khz: 1_880_000,
        bandwidth_khz,
        max_dl_gain: Some(TenthDb(700)),
        max_ul_gain: Some(TenthDb(700)),
        rated_dl_output: Some(TenthDbm(240)),
        rated_ul_output: Some(TenthDbm(240)),
        overload_level: Some(TenthDbm(-300)),
        damage_level: Some(TenthDbm(50)),
        dl_noise_figure: Some(TenthDb(50)),
        ul_noise_figure: Some(TenthDb(50)),
        accuracy: Some(TenthDb(30)),
    }
}

/// A reading with nothing wrong: −58 dBm in, 62 dB of gain, 22 dB of loop margin.
pub fn healthy(band: u8) -> BandTelemetry {
    BandTelemetry {
        boot: (BOOT & 0xF) as u8,
        band,
        sequence: 0,
        time_ms: 0,
        dl_input: Some(TenthDbm(-580)),
        dl_gain: Some(TenthDb(620)),
        ul_gain: Some(TenthDb(610)),
        ul_output: Some(TenthDbm(-120)),
        dl_state: DirectionState::Normal,
        ul_state: DirectionState::Normal,
        dl_reasons: Reasons::default(),
        ul_reasons: Reasons::default(),
        extra: Extra {
            fields: Fields::ALL,
            dl_isolation: Some(TenthDb(840)),
            ul_isolation: Some(TenthDb(845)),
            dl_output: Some(TenthDbm(40)),
            ul_input: Some(TenthDbm(-730)),
            cell: WantedCell {
                rsrp: Some(TenthDbm(-884)),
                rsrq: Some(TenthDb(-105)),
                sinr: Some(TenthDb(142)),
                identity: Some(217),
                age_tenths_s: Some(3),
            },
            dl_gain_set: Some(TenthDb(620)),
            ul_gain_set: Some(TenthDb(610)),
            dl_gain_allowed: Some(TenthDb(700)),
            ul_gain_allowed: Some(TenthDb(700)),
        },
    }
}

impl Session {
    /// A link that has just begun to look for units.
    pub fn scanning() -> Self {
        let mut session = Self {
            fold: Fold::new(Criteria::default()),
            about: Surroundings {
                source: "ble".to_owned(),
                latency: Some(Latency {
                    p50: 210,
                    p99: 1_480,
                    max: 12_300,
                }),
                queue: Some(Queue {
                    age: Duration::from_millis(2),
                    waiting: 1,
                    dropped: 0,
                }),
                ..Surroundings::default()
            },
            history: History::default(),
            sequence: 0,
            bands: Vec::new(),
        };
        session.link(LinkState::Scanning, None);
        session
    }

    /// Connected to a unit with these bands, and live.
    pub fn live(bands: &[Band]) -> Self {
        let mut session = Self::scanning();
        session.pass(800);
        session.link(LinkState::Connecting, Some("unit 42"));
        session.pass(300);
        session.link(LinkState::CheckingProfile, None);
        session.bands = bands.to_vec();
        use Characteristic as C;
        for (characteristic, text) in [
            (C::ManufacturerName, "Example Works"),
            (C::ModelNumber, "EX-4"),
            (C::SerialNumber, "0042"),
            (C::FirmwareRevision, "1.3.0"),
        ] {
            session.value(characteristic, Origin::Read, text.as_bytes());
        }
        let feature = BoosterFeature {
            version: Version { major: 1, minor: 0 },
            features: Features(0x7_FFFF).without(Features::SELF_ADAPTING),
            bands: bands.len() as u8,
            regulation: Regulation::None,
            min_interval_ms: 100,
            max_interval_ms: 10_000,
            default_interval_ms: INTERVAL_MS as u16,
            boot_id: BOOT,
            event_capacity: 500,
            history_capacity: 3_600,
        };
        session.value(C::BoosterFeature, Origin::Read, &feature.encode());
        let table = BandTable {
            bands: bands.iter().copied().collect(),
        };
        session.value(C::BandTable, Origin::Read, &table.encode());
        session.link(LinkState::Subscribing, None);
        session.link(LinkState::Live, None);
        session.value(C::UnitStatus, Origin::Pushed, &status().encode(244));
        session
    }

    /// Lets time pass without an event.
    pub fn pass(&mut self, ms: u64) {
        self.about.now = self.about.now + Duration::from_millis(ms);
    }

    pub fn event(&mut self, kind: EventKind) {
        let event = Event {
            at: self.about.now,
            kind,
        };
        let mut updates = Vec::new();
        self.fold.apply(&event, &mut updates);
        updates.iter().for_each(|u| self.history.observe(u));
    }

    pub fn link(&mut self, state: LinkState, detail: Option<&str>) {
        self.event(EventKind::Link {
            state,
            detail: detail.map(str::to_owned),
        });
    }

    pub fn value(&mut self, characteristic: Characteristic, origin: Origin, bytes: &[u8]) {
        self.event(EventKind::Value {
            characteristic,
            origin,
            bytes: RawBytes::from_slice(bytes),
        });
    }

    pub fn unit_event(&mut self, event: UnitEvent) {
        self.value(Characteristic::UnitEvent, Origin::Pushed, &event.encode());
    }

    /// Readings of every band for a while; `change` makes of a healthy reading what the band reports.
    pub fn readings(&mut self, ms: u64, change: impl Fn(usize, &mut BandTelemetry)) {
        for _ in 0..ms / INTERVAL_MS {
            self.pass(INTERVAL_MS);
            self.sequence += 1;
            for position in 0..self.bands.len() {
                let mut telemetry = healthy(self.bands[position].index);
                telemetry.sequence = self.sequence;
                telemetry.time_ms = 5_000 + u32::from(self.sequence) * INTERVAL_MS as u32;
                change(position, &mut telemetry);
                // A level never stands quite still; one that does is a frozen sensor.
                if self.sequence % 7 == 3 {
                    telemetry.dl_input = telemetry.dl_input.map(|i| TenthDbm(i.0 + 1));
                }
                for part in telemetry.encode(244) {
                    self.value(Characteristic::BandTelemetry, Origin::Pushed, &part);
                }
            }
        }
    }

    /// Leaves out this many readings of every band.
    pub fn lose(&mut self, readings: u16) {
        self.sequence += readings;
        self.pass(u64::from(readings) * INTERVAL_MS);
    }

    /// A deadline that the fold asked for, now.
    pub fn deadline(&mut self) {
        self.event(EventKind::Deadline);
    }

    /// Four bands: one healthy, one overloaded, one with a thin uplink margin, one that the guard turned off.
    pub fn troubled() -> Self {
        let mut s = Self::live(&[
            band(0, 2, 20_000),
            band(1, 5, 10_000),
            band(2, 12, 10_000),
            band(3, 66, 20_000),
        ]);
        s.readings(12_000, |position, t| match position {
            1 => {
                t.dl_input = Some(TenthDbm(-262));
                t.dl_gain = Some(TenthDb(510));
                t.dl_state = DirectionState::Limited;
                t.dl_reasons = Reasons::INPUT.with(Reasons::OUTPUT);
                t.extra.dl_output = Some(TenthDbm(240));
            }
            2 => {
                t.extra.ul_isolation = Some(TenthDb(708));
                t.extra.cell.rsrp = Some(TenthDbm(-1_043));
                t.extra.cell.sinr = Some(TenthDb(31));
            }
            3 => {
                t.ul_gain = None;
                t.ul_state = DirectionState::LatchedOff;
                t.ul_reasons = Reasons::GUARD;
            }
            _ => {}
        });
        s
    }
}

/// How far an aim has come.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Aiming {
    /// Three dwells are over, the antenna is to be turned.
    Turning,
    /// In the middle of the fourth.
    Holding,
    /// The choice is made.
    Done,
}

impl Session {
    /// An aim over eight stops at a site of one cell at 140°, held down by the unit.
    pub fn aiming(until: Aiming) -> Self {
        let mut s = Self::live(&[band(0, 2, 20_000), band(1, 12, 10_000)]);
        let plan = Plan {
            bearings_deg: (0..8).map(|i| 45.0 * f64::from(i)).collect(),
            start: 0,
            objective: Objective::Level,
            bands: Vec::new(),
            weights: Vec::new(),
            beam_width_deg: Some(65.0),
        };
        s.event(plan.event(s.about.now).expect("a plan").kind);
        s.aim_safe(true);
        for visit in 1..20 {
            let Some(Prompt::Turn(place)) = s.fold.aim().prompt() else {
                break;
            };
            if until == Aiming::Turning && visit > 3 {
                break;
            }
            s.pass(15_000);
            let bearing = plan.bearings_deg[place];
            s.event(Step::turned(bearing).event(s.about.now).kind);
            let off = Degrees(bearing - 140.0).wrapped().0;
            let level = -84.0 - (12.0 * (off / 65.0).powi(2)).min(25.0);
            while s.fold.aim().prompt() == Some(Prompt::Hold) {
                s.readings(500, |_, t| {
                    t.extra.cell.rsrp = Some(TenthDbm((level * 10.0) as i16));
                });
                if until == Aiming::Holding && visit == 4 {
                    s.readings(1_500, |_, _| {});
                    return s;
                }
            }
        }
        s
    }

    /// The unit says whether it holds itself down.
    pub fn aim_safe(&mut self, on: bool) {
        let mut unit = status();
        if on {
            unit.state = OperatingState::AimSafe;
            unit.aim_safe_left_s = Some(540);
        }
        self.value(Characteristic::UnitStatus, Origin::Pushed, &unit.encode(244));
    }
}

/// A unit status with nothing wrong.
pub fn status() -> UnitStatus {
    UnitStatus {
        boot_id: BOOT,
        uptime_s: 4_210,
        state: OperatingState::Normal,
        authorization: Authorization::Present,
        temperature_centi_c: Some(4_130),
        voltage_64ths: Some(12 * 64 + 5),
        current_centi_a: Some(142),
        health: Health {
            front_end: Quality::Good,
            tdd_sync: Quality::NotKnown,
            fan: Quality::NotKnown,
            enclosure: Quality::Good,
        },
        donor_port: PortHealth::Good,
        server_port: PortHealth::Good,
        restarts: 0,
        aim_safe_left_s: None,
    }
}

/// Dark theme, sixteen colours.
pub fn sixteen() -> Look {
    Look::new(ThemeName::Dark, ColorDepth::Sixteen, false)
}

/// What is drawn of a session in a size.
pub fn drawn(session: &Session, state: &State, look: &Look, (width, height): (u16, u16)) -> Buffer {
    let area = Rect::new(0, 0, width, height);
    let mut buffer = Buffer::empty(area);
    draw(&session.fold, &session.about, state, look, area, &mut buffer);
    buffer
}

/// A view of a session in a size, as a dump.
pub fn screen(session: &Session, view: View, look: &Look, size: (u16, u16)) -> String {
    dump(&drawn(session, &State::new(view), look, size))
}

/// The characters of a row.
pub fn row_text(buffer: &Buffer, y: u16) -> String {
    (0..buffer.area.width).map(|x| buffer[(x, y)].symbol()).collect()
}

/// Characters, then the styles of each row in runs: `column+length style`.
pub fn dump(buffer: &Buffer) -> String {
    let mut out = String::new();
    for y in 0..buffer.area.height {
        let _ = writeln!(out, "{}", row_text(buffer, y).trim_end());
    }
    let _ = writeln!(out, "---");
    for y in 0..buffer.area.height {
        let mut runs: Vec<(u16, u16, String)> = Vec::new();
        for x in 0..buffer.area.width {
            let cell = &buffer[(x, y)];
            let style = style_name(cell.fg, cell.bg, cell.modifier);
            match runs.last_mut() {
                Some((_, length, same)) if *same == style => *length += 1,
                _ => runs.push((x, 1, style)),
            }
        }
        runs.retain(|(.., style)| !style.is_empty());
        if !runs.is_empty() {
            let runs: Vec<String> = runs.iter().map(|(x, n, s)| format!("{x}+{n} {s}")).collect();
            let _ = writeln!(out, "{y:2}: {}", runs.join(", "));
        }
    }
    out
}

fn style_name(fg: Color, bg: Color, modifier: Modifier) -> String {
    let mut names = Vec::new();
    if fg != Color::Reset {
        names.push(fg.to_string());
    }
    if bg != Color::Reset {
        names.push(format!("on {bg}"));
    }
    names.extend(modifier.iter_names().map(|(name, _)| name.to_lowercase()));
    names.join(" ")
}
