//! One band of the unit: both directions, the rule, the reading.

use super::lane::{Conditions, Lane};
use super::rule::{self, RuleInput};
use crate::rng::Rng;
use crate::scenario::{BandSpec, Rule, UnitSpec, Way};
use booster_profile::{Band, Duplex, Technology, TenthDb, TenthDbm};
use radio::{Db, Megahertz, Milliwatts};

/// Time over which the composite level is averaged before the rule is applied, s.
const RULE_AVERAGE_S: f64 = 3.0;

/// One band.
#[derive(Clone, Debug)]
pub struct BandUnit {
    /// Downlink.
    pub dl: Lane,
    /// Uplink.
    pub ul: Lane,
    /// Number of the next reading.
    pub sequence: u16,
    /// Gain that the rule allows, dB.
    pub allowed_db: Option<f64>,
    /// TDD frame synchronisation; `None` for FDD.
    pub sync: Option<bool>,
    /// Downlink input and output that a frozen sensor repeats.
    pub frozen: Option<(Option<TenthDbm>, Option<TenthDbm>)>,
    /// Index of the wanted cell in the scenario.
    pub wanted: Option<usize>,
    /// When a handset was last active, µs.
    pub last_active_us: u64,
    /// Noise factor of the downlink, a ratio.
    pub noise_factor: f64,
    rssi_mw: Option<f64>,
    uplink: Megahertz,
    ul_noise_figure: Db,
}

impl BandUnit {
    /// A band of the scenario.
    pub fn new(unit: &UnitSpec, band: &BandSpec, wanted: Option<usize>, mut rng: Rng) -> Self {
        Self {
            dl: Lane::new(unit, band, Way::Dl, &mut rng),
            ul: Lane::new(unit, band, Way::Ul, &mut rng),
            sequence: 0,
            allowed_db: None,
            sync: band.is_tdd().then_some(true),
            frozen: None,
            wanted,
            last_active_us: 0,
            noise_factor: libm::exp10(band.noise_figure_dl_db / 10.0),
            rssi_mw: None,
            uplink: Megahertz(band.ul_mhz),
            ul_noise_figure: Db(band.noise_figure_ul_db),
        }
    }

    /// One direction.
    pub fn lane(&self, way: Way) -> &Lane {
        match way {
            Way::Dl => &self.dl,
            Way::Ul => &self.ul,
        }
    }

    /// One direction, to change it.
    pub fn lane_mut(&mut self, way: Way) -> &mut Lane {
        match way {
            Way::Dl => &mut self.dl,
            Way::Ul => &mut self.ul,
        }
    }

    /// The rule looks at the level once a second.
    pub fn apply_rule(&mut self, rule: Rule, coupling_loss_db: f64) {
        let now = self.dl.amplifier.working().input_mw;
        let before = self.rssi_mw.unwrap_or(now);
        let rssi = before + (now - before) / RULE_AVERAGE_S;
        self.rssi_mw = Some(rssi);
        let input = RuleInput {
            uplink: self.uplink,
            rssi: Milliwatts(rssi).to_dbm(),
            coupling_loss: Db(coupling_loss_db),
            noise_figure: self.ul_noise_figure,
        };
        self.allowed_db = rule::allowed_gain(rule, &input).map(|gain| gain.0);
    }

    /// Smallest margin of both directions at the gain in effect, dB; `None` while neither amplifies.
    pub fn margin_db(&self) -> Option<f64> {
        let margin = self
            .dl
            .amplifier
            .working()
            .margin_db
            .min(self.ul.amplifier.working().margin_db);
        margin.is_finite().then_some(margin)
    }
}

/// Conditions of one band out of those of the unit.
pub fn conditions(unit: &Conditions, band: &BandUnit, transmits_without_sync: bool) -> Conditions {
    Conditions {
        allowed_db: band.allowed_db,
        unsynchronised: band.sync == Some(false) && !transmits_without_sync,
        ..*unit
    }
}

/// Entry of the Band Table.
pub fn table_entry(index: u8, spec: &BandSpec) -> Band {
    let (number, nr) = spec.number().unwrap_or((0, false));
    let khz = |mhz: f64| (mhz * 1e3).round() as u32;
    let db = TenthDb::from_units;
    let dbm = TenthDbm::from_units;
    Band {
        index,
        technology: if nr { Technology::Nr } else { Technology::Lte },
        duplex: if spec.is_tdd() { Duplex::Tdd } else { Duplex::Fdd },
        number,
        dl_centre_khz: khz(spec.dl_mhz),
        ul_centre_khz: khz(spec.ul_mhz),
        bandwidth_khz: khz(spec.width_mhz),
        max_dl_gain: db(spec.max_gain_db),
        max_ul_gain: db(spec.max_ul_gain_db.unwrap_or(spec.max_gain_db)),
        rated_dl_output: dbm(spec.rated_dl_dbm),
        rated_ul_output: dbm(spec.rated_ul_dbm),
        overload_level: dbm(spec.overload_dbm()),
        damage_level: dbm(10.0),
        dl_noise_figure: db(spec.noise_figure_dl_db),
        ul_noise_figure: db(spec.noise_figure_ul_db),
        accuracy: db(spec.accuracy_db),
    }
}
