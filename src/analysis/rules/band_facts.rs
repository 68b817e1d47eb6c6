//! What follows from the band table alone, worked out once.

use crate::analysis::Criteria;
use booster_profile::{Band, Technology, TenthDb, TenthDbm};
use radio::noise::{noise_floor, snr_per_resource_element, thermal_density, uplink_noise};
use radio::quantities::ResourceBlocks;
use radio::{Db, Dbm, Megahertz};

/// Noise figure to assume where the unit states none, dB. Common practice, no source.
const ASSUMED_NOISE_FIGURE: Db = Db(6.0);
/// Accuracy to assume where the unit states none, ± dB. Common practice, no source.
const ASSUMED_ACCURACY_DB: f64 = 3.0;

/// Limits of a band.
#[derive(Clone, Debug)]
pub(in crate::analysis) struct BandFacts {
    /// Noise figure of the downlink, dB.
    pub(in crate::analysis) noise_figure_db: f64,
    /// RSRP below which the band is starved, dBm.
    pub(in crate::analysis) weak_rsrp_dbm: f64,
    /// Composite input below which it is starved, dBm.
    pub(in crate::analysis) weak_input_dbm: f64,
    /// Noise sent to the base station at 0 dB of uplink gain, dBm/MHz.
    pub(in crate::analysis) uplink_noise_dbm_mhz: f64,
    /// Power of the widest carrier that fits over its RSRP, dB.
    pub(in crate::analysis) widest_span_db: f64,
    /// Thermal noise, dBm/MHz.
    pub(in crate::analysis) thermal_dbm_mhz: f64,
    /// Most gain, by path, dB.
    pub(in crate::analysis) max_gain_db: [Option<f64>; 2],
    /// Rated output, by path, dBm.
    pub(in crate::analysis) rated_dbm: [Option<f64>; 2],
    /// Composite input that it can take, dBm.
    pub(in crate::analysis) overload_dbm: Option<f64>,
    /// Stated accuracy of levels, ± dB.
    pub(in crate::analysis) accuracy_db: f64,
}

/// Resource blocks of the widest carrier in the pass band (LTE and NR at 15 kHz: 180 kHz each).
fn widest_blocks(band: &Band) -> u16 {
    let most = if band.technology == Technology::Nr {
        273
    } else {
        100
    };
    u16::try_from(band.bandwidth_khz / 180)
        .unwrap_or(most)
        .clamp(1, most)
}

fn noise_figure(stated: Option<TenthDb>) -> Db {
    stated.map_or(ASSUMED_NOISE_FIGURE, |nf| Db(nf.db().clamp(0.0, 60.0)))
}

impl BandFacts {
    /// The facts of a band.
    pub(in crate::analysis) fn new(band: &Band, criteria: &Criteria) -> Self {
        let figure = noise_figure(band.dl_noise_figure);
        let spacing = Megahertz(if band.technology == Technology::Nr && band.number > 76 {
            // Bands above 3 GHz run at 30 kHz.
            0.030
        } else {
            0.015
        });
        // The level at which the signal to noise of a resource element is 0 dB: its noise.
        let element = snr_per_resource_element(Dbm(0.0), spacing, figure).map_or(-126.2, |snr| -snr.0);
        Self {
            noise_figure_db: figure.0,
            weak_rsrp_dbm: element + criteria.weak.min_snr_db,
            weak_input_dbm: weak_input_dbm(band, criteria),
            uplink_noise_dbm_mhz: uplink_noise(noise_figure(band.ul_noise_figure), Db(0.0))
                .map_or(-108.0, |n| n.0),
            widest_span_db: ResourceBlocks::new(widest_blocks(band)).map_or(30.8, |n| n.rssi_above_rsrp().0),
            thermal_dbm_mhz: thermal_density().0,
            max_gain_db: [band.max_dl_gain, band.max_ul_gain].map(|g| g.map(TenthDb::db)),
            rated_dbm: [band.rated_dl_output, band.rated_ul_output].map(|o| o.map(TenthDbm::dbm)),
            overload_dbm: band.overload_level.map(TenthDbm::dbm),
            accuracy_db: band.accuracy.map_or(ASSUMED_ACCURACY_DB, TenthDb::db),
        }
    }
}

/// Composite downlink input below which a band counts as starved, dBm: noise in the pass band (kTB and the unit's
/// noise figure) and what the criteria want above it.
pub fn weak_input_dbm(band: &Band, criteria: &Criteria) -> f64 {
    let width = Megahertz(f64::from(band.bandwidth_khz.max(1)) / 1e3);
    let floor = noise_floor(width, noise_figure(band.dl_noise_figure)).map_or(-95.0, |n| n.0);
    floor + criteria.weak.min_composite_over_noise_db
}
