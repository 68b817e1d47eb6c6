//! The session line.

use super::number::{db, dbm};
use booster_profile::Band;
use serde::Serialize;

#[derive(Serialize)]
pub(super) struct SessionLine<'a> {
    #[serde(rename = "type")]
    pub(super) kind: &'static str,
    pub(super) path: Option<String>,
    pub(super) source: String,
    pub(super) unit: Option<UnitLine<'a>>,
    pub(super) bands: Vec<BandLine<'a>>,
}

#[derive(Serialize)]
pub(super) struct UnitLine<'a> {
    pub(super) manufacturer: Option<&'a str>,
    pub(super) model: Option<&'a str>,
    pub(super) serial: Option<&'a str>,
    pub(super) firmware: Option<&'a str>,
    pub(super) hardware: Option<&'a str>,
    pub(super) profile: String,
    pub(super) regulation: &'static str,
    pub(super) report_interval_s: f64,
    pub(super) features: Vec<&'static str>,
}

#[derive(Serialize)]
pub(super) struct BandLine<'a> {
    pub(super) band: &'a str,
    pub(super) number: u16,
    pub(super) technology: &'static str,
    pub(super) duplex: &'static str,
    pub(super) dl_centre_mhz: f64,
    pub(super) ul_centre_mhz: f64,
    pub(super) bandwidth_mhz: f64,
    pub(super) max_dl_gain_db: Option<f64>,
    pub(super) max_ul_gain_db: Option<f64>,
    pub(super) rated_dl_output_dbm: Option<f64>,
    pub(super) rated_ul_output_dbm: Option<f64>,
    pub(super) overload_level_dbm: Option<f64>,
    pub(super) damage_level_dbm: Option<f64>,
    pub(super) dl_noise_figure_db: Option<f64>,
    pub(super) ul_noise_figure_db: Option<f64>,
    pub(super) accuracy_db: Option<f64>,
}

impl<'a> BandLine<'a> {
    pub(super) fn new(name: &'a str, b: &Band) -> Self {
        let mhz = |khz: u32| f64::from(khz) / 1e3;
        Self {
            band: name,
            number: b.number,
            technology: b.technology.name(),
            duplex: b.duplex.name(),
            dl_centre_mhz: mhz(b.dl_centre_khz),
            ul_centre_mhz: mhz(b.ul_centre_khz),
            bandwidth_mhz: mhz(b.bandwidth_khz),
            max_dl_gain_db: db(b.max_dl_gain),
            max_ul_gain_db: db(b.max_ul_gain),
            rated_dl_output_dbm: dbm(b.rated_dl_output),
            rated_ul_output_dbm: dbm(b.rated_ul_output),
            overload_level_dbm: dbm(b.overload_level),
            damage_level_dbm: dbm(b.damage_level),
            dl_noise_figure_db: db(b.dl_noise_figure),
            ul_noise_figure_db: db(b.ul_noise_figure),
            accuracy_db: db(b.accuracy),
        }
    }
}
