//! Gain that the rule set in force allows.

use crate::scenario::Rule;

/// Largest gain that the rule allows in both directions, dB; `None` where no rule is in force. `rssi_dbm` is the
/// composite downlink power at the donor port.
pub fn allowed_gain_db(
    rule: Rule,
    ul_mhz: f64,
    rssi_dbm: f64,
    coupling_loss_db: f64,
    ul_nf_db: f64,
) -> Option<f64> {
    match rule {
        Rule::None => None,
        Rule::UsWideband => {
            // 47 CFR 20.21(e)(8)(i)(C) and (A), fixed; from memory.
            let by_frequency = 6.5 + 20.0 * libm::log10(ul_mhz);
            let by_level = -34.0 - rssi_dbm + coupling_loss_db;
            let noise_limit = (-103.0 - rssi_dbm).min(-102.5 + 20.0 * libm::log10(ul_mhz));
            let by_noise = noise_limit + 114.0 - ul_nf_db;
            Some(by_frequency.min(by_level).min(by_noise))
        }
        // SI 2022/595 regulation 16 (seen).
        Rule::UkStaticIndoor => Some((10.0 - rssi_dbm).min(100.0)),
    }
}
