//! What the unit reports: readings, cells, status, features.

use super::health::{port, quality};
use super::unit::Unit;
use crate::scenario::{AuthorizationSpec, FieldSpec, PortSpec, Quirk, Rule};
use crate::world::World;
use booster_profile::advertising::Attention;
use booster_profile::{
    Authorization, BandTelemetry, BoosterFeature, CellReport, DirectionState, Extra, Features, Fields,
    Health, OperatingState, PROFILE_VERSION, Quality, Reasons, Regulation, SubcarrierSpacing, Technology,
    TenthDb, TenthDbm, UnitStatus, WantedCell,
};

/// Code of the profile.
pub(super) fn authorization(spec: AuthorizationSpec) -> Authorization {
    match spec {
        AuthorizationSpec::NotRequired => Authorization::NotRequired,
        AuthorizationSpec::Present => Authorization::Present,
        AuthorizationSpec::Absent => Authorization::Absent,
    }
}

fn age_tenths(now_us: u64, at_us: u64) -> u16 {
    u16::try_from(now_us.saturating_sub(at_us) / 100_000)
        .unwrap_or(u16::MAX - 1)
        .min(u16::MAX - 1)
}

impl Unit {
    /// The optional fields of telemetry that this unit sends.
    pub fn fields(&self) -> Fields {
        let mut fields = Fields::default();
        for field in &self.spec.fields {
            fields = fields.with(match field {
                FieldSpec::DlIsolation => Fields::DL_ISOLATION,
                FieldSpec::UlIsolation => Fields::UL_ISOLATION,
                FieldSpec::DlOutput => Fields::DL_OUTPUT,
                FieldSpec::UlInput => Fields::UL_INPUT,
                FieldSpec::WantedCell => Fields::WANTED_CELL,
                FieldSpec::GainSet => Fields::GAIN_SET,
                FieldSpec::GainAllowed => Fields::GAIN_ALLOWED,
                FieldSpec::CellReports | FieldSpec::OscillationFlag => Fields::default(),
            });
        }
        fields
    }

    fn features(&self) -> Features {
        let mut features = Features::FAST_REPORTING
            .with(Features::AIM_SAFE)
            .with(Features::ISOLATION_TEST)
            .with(Features::ATTENUATION)
            .with(Features::RESTART)
            .with(Features::LOCATE)
            .with(Features::MUTE);
        for field in &self.spec.fields {
            features = features.with(match field {
                FieldSpec::DlIsolation => Features::DL_ISOLATION,
                FieldSpec::UlIsolation => Features::UL_ISOLATION,
                FieldSpec::DlOutput => Features::DL_OUTPUT,
                FieldSpec::UlInput => Features::UL_INPUT,
                FieldSpec::WantedCell => Features::WANTED_CELL,
                FieldSpec::GainSet => Features::GAIN_SET,
                FieldSpec::GainAllowed => Features::GAIN_ALLOWED,
                FieldSpec::CellReports => Features::CELL_REPORTS,
                FieldSpec::OscillationFlag => Features::OSCILLATION_FLAG,
            });
        }
        if self.spec.history_capacity > 0 {
            features = features.with(Features::HISTORY);
        }
        if self.spec.self_adapting {
            features = features.with(Features::SELF_ADAPTING);
        }
        if self.spec.idle_mute_s > 0.0 {
            features = features.with(Features::IDLE_MUTE);
        }
        features
    }

    /// Booster Feature.
    pub fn feature(&self) -> BoosterFeature {
        BoosterFeature {
            version: PROFILE_VERSION,
            features: self.features(),
            bands: self.bands.len() as u8,
            regulation: match self.spec.rule {
                Rule::None => Regulation::None,
                Rule::UsWideband => Regulation::UsWideband,
                Rule::UkStaticIndoor => Regulation::UkStaticIndoor,
            },
            min_interval_ms: self.spec.min_report_ms,
            max_interval_ms: self.spec.max_report_ms,
            default_interval_ms: self.spec.report_ms,
            boot_id: self.boot_id,
            event_capacity: self.spec.event_capacity,
            history_capacity: self.spec.history_capacity,
        }
    }

    /// The next reading of a band; counts it, and the next averages begin.
    pub fn reading(&mut self, index: usize, now_us: u64) -> Option<BandTelemetry> {
        let fields = self.fields();
        let time_ms = self.device_ms(now_us);
        let no_isolation = self.has(Quirk::NoIsolation);
        let frozen = self.has(Quirk::FrozenSensor);
        let too_high = self.has(Quirk::GainTooHigh);
        let astray = self.has(Quirk::OutputAstray);
        let rng = &mut self.rng;
        let band = self.bands.get_mut(index)?;
        let (mut dl_input, mut dl_output) = band.dl.take_report(rng);
        let (ul_input, ul_output) = band.ul.take_report(rng);
        if frozen {
            (dl_input, dl_output) = *band.frozen.get_or_insert((dl_input, dl_output));
        } else {
            band.frozen = None;
        }
        let mut dl_gain = TenthDb::from_units(band.dl.amplifier.working().gain_db);
        if too_high {
            dl_gain = TenthDb::from_units(band.dl.max_gain_db() + 6.0);
        }
        if astray {
            dl_output = dl_output.map(|o| TenthDbm(o.0.saturating_add(120)));
        }
        let isolation_of = |lane: &super::Lane, rng: &mut crate::rng::Rng| {
            if no_isolation { None } else { lane.isolation(rng) }
        };
        let cell = band
            .wanted
            .and_then(|c| self.modem.last(c))
            .map_or(WantedCell::default(), |m| WantedCell {
                rsrp: m.rsrp,
                rsrq: m.rsrq,
                sinr: m.sinr,
                identity: Some(m.identity),
                age_tenths_s: Some(age_tenths(now_us, m.at_us)),
            });
        let allowed = band.allowed_db.and_then(TenthDb::from_units);
        let reading = BandTelemetry {
            boot: (self.boot_id & 0xF) as u8,
            band: index as u8,
            sequence: band.sequence,
            time_ms,
            dl_input,
            dl_gain,
            ul_gain: TenthDb::from_units(band.ul.amplifier.working().gain_db),
            ul_output,
            dl_state: band.dl.state,
            ul_state: band.ul.state,
            dl_reasons: band.dl.reasons,
            ul_reasons: band.ul.reasons,
            extra: Extra {
                fields,
                dl_isolation: isolation_of(&band.dl, rng),
                ul_isolation: isolation_of(&band.ul, rng),
                dl_output,
                ul_input,
                cell,
                dl_gain_set: TenthDb::from_units(band.dl.set_db()),
                ul_gain_set: TenthDb::from_units(band.ul.set_db()),
                dl_gain_allowed: allowed,
                ul_gain_allowed: allowed,
            },
        };
        band.sequence = band.sequence.wrapping_add(1);
        Some(reading)
    }

    /// Whether it sends Cell Reports.
    pub fn reports_cells(&self) -> bool {
        self.spec.fields.contains(&FieldSpec::CellReports)
    }

    /// Report of one cell; `None` while the modem does not hear it.
    pub fn cell_report(&self, cell: usize, now_us: u64, world: &World) -> Option<CellReport> {
        let measured = self.modem.last(cell)?;
        let own = world.cells().get(cell)?;
        Some(CellReport {
            band: own.band as u8,
            technology: if own.spec.band.starts_with('n') {
                Technology::Nr
            } else {
                Technology::Lte
            },
            spacing: match own.spec.spacing_khz {
                15 => SubcarrierSpacing::Khz15,
                30 => SubcarrierSpacing::Khz30,
                60 => SubcarrierSpacing::Khz60,
                _ => SubcarrierSpacing::NotKnown,
            },
            channel: own.spec.channel,
            resource_blocks: Some(own.spec.resource_blocks),
            wanted: own.spec.wanted,
            identity: Some(measured.identity),
            operator: own.operator,
            rsrp: measured.rsrp,
            rsrq: measured.rsrq,
            sinr: measured.sinr,
            age_tenths_s: Some(age_tenths(now_us, measured.at_us)),
        })
    }

    /// What the unit as a whole is doing.
    pub fn operating_state(&self, now_us: u64) -> OperatingState {
        let latched = self
            .bands
            .iter()
            .any(|b| b.dl.state == DirectionState::LatchedOff || b.ul.state == DirectionState::LatchedOff);
        let passes = |s: DirectionState| s != DirectionState::Off;
        let off = self
            .bands
            .iter()
            .all(|b| !passes(b.dl.state) && !passes(b.ul.state));
        if !self.is_up(now_us) {
            OperatingState::Starting
        } else if self.aim_safe_until_us.is_some() {
            OperatingState::AimSafe
        } else if latched {
            OperatingState::LatchedOff
        } else if off {
            OperatingState::Off
        } else {
            OperatingState::Normal
        }
    }

    /// How much the unit needs a person, as it advertises (profile, section 14.1).
    pub fn attention(&self) -> Attention {
        let states = || self.bands.iter().flat_map(|b| [b.dl.state, b.ul.state]);
        let urgent = self.front_end_bad
            || self.authorization == AuthorizationSpec::Absent
            || states().any(|s| matches!(s, DirectionState::Guard | DirectionState::LatchedOff));
        if urgent {
            return Attention::Urgent;
        }
        let pressing = Reasons::INPUT
            .with(Reasons::ISOLATION)
            .with(Reasons::HEAT)
            .with(Reasons::SUPPLY);
        let held_back = self
            .bands
            .iter()
            .flat_map(|b| [b.dl.reasons, b.ul.reasons])
            .any(|r| r.0 & pressing.0 != 0);
        let health = &self.health;
        let sound = health.donor_port == PortSpec::Good
            && health.server_port == PortSpec::Good
            && health.fan
            && health.enclosure
            && self.bands.iter().all(|b| b.sync != Some(false));
        if held_back || !sound {
            Attention::Wanted
        } else {
            Attention::None
        }
    }

    /// Unit Status.
    pub fn status(&self, now_us: u64) -> UnitStatus {
        let synchronised = self.bands.iter().filter_map(|b| b.sync).reduce(|a, b| a && b);
        let amplifying = self.operating_state(now_us) == OperatingState::Normal;
        let current_a = if amplifying {
            0.5 + 0.3 * self.bands.len() as f64
        } else {
            0.4
        };
        let health = &self.health;
        UnitStatus {
            boot_id: self.boot_id,
            uptime_s: self.device_ms(now_us) / 1000,
            state: self.operating_state(now_us),
            authorization: authorization(self.authorization),
            temperature_centi_c: Some((health.temperature_c() * 100.0).clamp(-32_767.0, 32_767.0) as i16),
            voltage_64ths: Some((health.supply_v * 64.0).clamp(0.0, 65_534.0) as u16),
            current_centi_a: Some((current_a * 100.0).clamp(0.0, 65_534.0) as u16),
            health: Health {
                front_end: quality(!self.front_end_bad),
                tdd_sync: synchronised.map_or(Quality::NotKnown, quality),
                fan: quality(health.fan),
                enclosure: quality(health.enclosure),
            },
            donor_port: port(health.donor_port),
            server_port: port(health.server_port),
            restarts: self.restarts,
            aim_safe_left_s: self.aim_safe_until_us.map(|until| {
                u16::try_from(until.saturating_sub(now_us).div_ceil(1_000_000)).unwrap_or(u16::MAX)
            }),
        }
    }
}
