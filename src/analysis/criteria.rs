//! Limits that findings compare with: one typed TOML file with built-in defaults.
//!
//! Every default names its source. Unknown keys are errors with a line number: a misspelt limit must not be ignored.

mod check;

use serde::{Deserialize, Serialize};

/// All limits. Missing tables and keys take their defaults.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
pub struct Criteria {
    /// `donor-overload`.
    pub overload: Overload,
    /// `weak-donor`.
    pub weak: Weak,
    /// `low-loop-margin`.
    pub margin: Margin,
    /// `gain-held-back`.
    pub gain: Gain,
    /// `near-far`.
    pub near_far: NearFar,
    /// `noisy-donor`.
    pub quality: QualityLimits,
    /// `oscillation-unflagged`.
    pub ringing: Ringing,
    /// `uplink-noise`, `uplink-overload`, `gain-imbalance`.
    pub uplink: Uplink,
    /// `step-loss`, `creeping-loss`, `swaying-level`.
    pub change: Change,
    /// `hot-unit`, `supply-dip`, `restarting`.
    pub health: HealthLimits,
    /// `lossy-telemetry` and `stale-telemetry`.
    pub telemetry: TelemetryLimits,
    /// `implausible-reading`.
    pub plausibility: Plausibility,
    /// How long conditions must hold.
    pub durations: Durations,
    /// How sure measured values are: the grey zones of the acceptance test.
    pub uncertainty: Uncertainty,
    /// The acceptance test.
    pub acceptance: AcceptanceLimits,
}

/// Limits for `donor-overload`; the level itself is the unit's own.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
pub struct Overload {
    /// The input must fall this far below the level to clear, dB. Common practice, no source.
    pub hysteresis_db: f64,
    /// Headroom to aim for when advising attenuation, dB. Traffic moves a busy carrier's power by this much above its
    /// average hour. Common practice, no source.
    pub headroom_db: f64,
    /// Critical from this far below the damage level on, dB. Common practice, no source.
    pub damage_distance_db: f64,
}

impl Default for Overload {
    fn default() -> Self {
        Self {
            hysteresis_db: 1.0,
            headroom_db: 3.0,
            damage_distance_db: 3.0,
        }
    }
}

/// Limits for `weak-donor`.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
pub struct Weak {
    /// Least wanted signal over the unit's own noise per resource element, dB. Below it, a booster mostly boosts noise.
    /// Common practice, no source; the noise floor itself is kTB (15 kHz: −132.2 dBm) plus the unit's noise figure.
    pub min_snr_db: f64,
    /// The signal must rise this far above the limit to clear, dB. Common practice, no source.
    pub hysteresis_db: f64,
    /// Without RSRP: least composite input over the noise in the pass band, dB. Common practice, no source.
    pub min_composite_over_noise_db: f64,
}

impl Default for Weak {
    fn default() -> Self {
        Self {
            min_snr_db: 12.0,
            hysteresis_db: 3.0,
            min_composite_over_noise_db: 3.0,
        }
    }
}

/// Limits for `low-loop-margin`.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
pub struct Margin {
    /// Planned isolation over gain, dB. 15 dB: planning guidance of TR 25.956, from memory (the sentence was not seen).
    pub min_db: f64,
    /// The margin must rise this far above the limit to clear, dB. Common practice, no source.
    pub hysteresis_db: f64,
    /// Critical below this margin at the gain in effect, dB: ripple of 10 dB peak to peak (feedback loop algebra).
    pub critical_db: f64,
}

impl Default for Margin {
    fn default() -> Self {
        Self {
            min_db: 15.0,
            hysteresis_db: 1.0,
            critical_db: 6.0,
        }
    }
}

/// Limits for `gain-held-back`.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
pub struct Gain {
    /// Gain given up that counts, dB. Common practice, no source.
    pub min_loss_db: f64,
    /// Clears this far below, dB. Common practice, no source.
    pub hysteresis_db: f64,
}

impl Default for Gain {
    fn default() -> Self {
        Self {
            min_loss_db: 3.0,
            hysteresis_db: 1.0,
        }
    }
}

/// Declares a table of limits with their defaults and sources.
macro_rules! limits {
    ($(#[$table:meta])* $name:ident { $( $(#[$key:meta])* $field:ident: $kind:ty = $default:expr, )* }) => {
        $(#[$table])*
        #[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
        #[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
        pub struct $name {
            $( $(#[$key])* pub $field: $kind, )*
        }

        impl Default for $name {
            fn default() -> Self {
                Self { $( $field: $default, )* }
            }
        }
    };
}

limits! {
    /// Limits for `near-far`.
    NearFar {
        /// Composite input beyond what the wanted carrier explains when fully loaded with two ports, dB. The
        /// uncertainty of RSRP (±6 dB, TS 36.133, from memory) is the grey zone.
        min_excess_db: f64 = 6.0,
        /// Clears this far below, dB. Common practice, no source.
        hysteresis_db: f64 = 3.0,
        /// Gain that the other carrier costs before it matters, dB. Common practice, no source.
        min_gain_loss_db: f64 = 1.0,
        /// More on NR, where the power of the synchronisation block says less about the carrier, dB (FACTS B.2).
        nr_allowance_db: f64 = 6.0,
    }
}

limits! {
    /// Limits for `noisy-donor`.
    QualityLimits {
        /// Least SINR, dB: below 0 dB it is poor (common practice, no source), and a value is good to ±3 dB (TS 38.133,
        /// from memory).
        min_sinr_db: f64 = 3.0,
        /// SINR must rise this far above to clear, dB.
        hysteresis_db: f64 = 3.0,
        /// Without SINR: least RSRQ, dB. Common practice, no source.
        min_rsrq_db: f64 = -17.0,
        /// Another cell on the same channel this near counts as equal, dB: accuracy of differences on one carrier
        /// (±2 dB, TS 36.133, from memory) and the wander.
        equal_db: f64 = 3.0,
        /// Changes of the wanted cell's identity within a minute that say that several cells are about as strong; a
        /// little less than the SINR wanted then counts too. Common practice, no source.
        max_cell_changes_per_min: f64 = 3.5,
    }
}

limits! {
    /// Limits for `oscillation-unflagged`.
    Ringing {
        /// Loop margin at the gain in effect, with gain control at work, below which the loop oscillates, dB: control
        /// holds an oscillating loop at its edge; twice the accuracy of a difference of levels. Derived (FACTS D).
        max_margin_db: f64 = 2.5,
        /// Without isolation: change of the gain within a second, root mean square, below which control does not follow
        /// a signal but a loop, dB. Simulated; a stationary receiver's level moves by 0.7 dB within a second.
        max_unrest_db: f64 = 0.34,
    }
}

limits! {
    /// Limits for `uplink-noise`, `uplink-overload` and `gain-imbalance`.
    Uplink {
        /// Noise at the base station at most this far below its own floor is too much, dB: 10 dB cost it 0.4 dB of
        /// sensitivity. Common practice, no source.
        below_cell_floor_db: f64 = 10.0,
        /// Noise figure of a base station, dB. Common practice, no source.
        cell_noise_figure_db: f64 = 5.0,
        /// Power of a reference element of a cell, dBm, for the coupling loss: 46 dBm over 20 MHz. Common practice.
        cell_reference_dbm: f64 = 15.0,
        /// The noise must fall this far below the limit to clear, dB. Common practice, no source.
        hysteresis_db: f64 = 1.0,
        /// Uplink gain given up to a strong handset, dB. Common practice, no source.
        min_gain_loss_db: f64 = 3.0,
        /// Difference of uplink and downlink gain, dB: measuring window of the US test procedure (KDB 935210 D03, from
        /// memory).
        max_imbalance_db: f64 = 9.0,
    }
}

limits! {
    /// Limits for `step-loss`, `creeping-loss` and `swaying-level`.
    Change {
        /// Sudden lasting drop, dB: four times the wander of a stationary receiver (1.1 dB, FACTS G.3).
        min_step_db: f64 = 4.5,
        /// Slow drop of a unit's only band, dB; of several bands together 1 dB less. Common practice, no source.
        min_creep_db: f64 = 5.0,
        /// A drop this small clears, dB.
        clear_db: f64 = 2.5,
        /// Root mean square of a swing, dB: twice the wander of a stationary receiver within seconds.
        min_sway_db: f64 = 1.7,
    }
}

limits! {
    /// How long conditions must hold before findings are raised and cleared.
    Durations {
        /// Multiplies every time; each rule has its own. Common practice, no source: the times follow from how fast the
        /// unit measures and how much levels wander within seconds (FACTS G.3).
        factor: f64 = 1.0,
    }
}

limits! {
    /// Limits for `hot-unit`, `supply-dip` and `restarting`.
    HealthLimits {
        /// Temperature, °C, whatever the unit itself thinks. Common practice, no source.
        max_temperature_c: f64 = 80.0,
        /// Drop of the supply below the highest voltage of this start, share. Common practice, no source.
        max_supply_drop: f64 = 0.15,
        /// Restarts within ten minutes. Common practice, no source.
        max_restarts: usize = 2,
    }
}

limits! {
    /// How sure measured values are. A value nearer to its limit than this is *marginal*. A level has the accuracy that
    /// the unit states.
    Uncertainty {
        /// RSRP, ± dB: normal conditions (TS 36.133, from memory).
        rsrp_db: f64 = 6.0,
        /// SINR, ± dB (SS-SINR, TS 38.133, from memory).
        sinr_db: f64 = 3.0,
        /// RSRQ, ± dB (TS 36.133, from memory).
        rsrq_db: f64 = 3.5,
        /// A difference of levels on one carrier, such as isolation, ± dB (RSRP, relative, TS 36.133, from memory).
        difference_db: f64 = 2.0,
    }
}

limits! {
    /// The acceptance test. Limits of what it judges stand in the tables above.
    AcceptanceLimits {
        /// Bands that count, such as `["B2"]`; empty: all.
        bands: Vec<String> = Vec::new(),
        /// Less than this between the first and the last reading of a band proves nothing, s. Common practice, no source.
        min_data_s: f64 = 5.0,
        /// Nor do fewer readings. Common practice, no source.
        min_readings: u32 = 5,
        /// Percentile of donor level and quality that must keep its limit. Common practice, no source.
        level_percentile: f64 = 10.0,
        /// Added to the fully loaded input, dB: two ports without boosted reference symbols (FACTS B.2, derived).
        busy_hour_db: f64 = 3.0,
        /// Output above its rating that is still within tolerance, dB (TS 36.106 clause 6.1, below 31 dBm).
        output_tolerance_db: f64 = 3.0,
        /// Comparison of two sessions: standard deviation of a session's mean by wander slower than a session, dB.
        /// Stationary receivers: 0.7 to 0.9 dB between positions minutes apart (public data, FACTS G.3).
        wander_db: f64 = 0.7,
        /// The same by traffic, for composite levels, dB. Common practice, no source.
        traffic_db: f64 = 1.0,
    }
}

/// Limits for `lossy-telemetry` and `stale-telemetry`.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
pub struct TelemetryLimits {
    /// Share of missing readings over the last half minute that counts, 0 to 1. Common practice, no source.
    pub max_missing_share: f64,
    /// Report intervals without any reading until the data count as stale. Common practice, no source.
    pub stale_intervals: u32,
    /// But at least this long, s. Common practice, no source.
    pub stale_min_s: f64,
}

impl Default for TelemetryLimits {
    fn default() -> Self {
        Self {
            max_missing_share: 0.1,
            stale_intervals: 3,
            stale_min_s: 1.5,
        }
    }
}

/// Limits for `implausible-reading`.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
pub struct Plausibility {
    /// Largest difference between output and input plus gain, dB: twice the default accuracy of a level (±3 dB).
    pub max_residual_db: f64,
    /// Gain above the unit's own maximum that is still rounding, dB.
    pub gain_tolerance_db: f64,
    /// Identical readings for this long mean a frozen sensor, s. Common practice, no source; real stationary levels
    /// move by 0.4 dB and more from second to second (public data, FACTS G.3).
    pub frozen_s: f64,
}

impl Default for Plausibility {
    fn default() -> Self {
        Self {
            max_residual_db: 6.0,
            gain_tolerance_db: 1.0,
            frozen_s: 9.0,
        }
    }
}

/// A criteria file that cannot be used.
#[derive(Debug, thiserror::Error)]
pub enum CriteriaError {
    /// Damaged TOML, an unknown key, a wrong type; the message of the reader shows the line.
    #[error("read criteria: {error}{hint}\nCorrect the line, or leave the key out to take its default")]
    Toml {
        /// What the reader says.
        error: toml::de::Error,
        /// The nearest known key, in words; empty if none is near.
        hint: String,
    },
    /// A value that cannot be meant.
    #[error(
        "read criteria: line {line}: {key} = {value}: not within {low} to {high}\nCorrect the line, or leave the key out to take its default"
    )]
    Range {
        /// Line, from 1.
        line: usize,
        /// Table and key.
        key: String,
        /// The value.
        value: f64,
        /// Least that may stand there.
        low: f64,
        /// Most.
        high: f64,
    },
}

impl Criteria {
    /// The defaults as a file that explains every limit and names its source.
    pub const DOCUMENT: &str = include_str!("criteria.toml");

    /// Reads criteria from TOML.
    ///
    /// # Errors
    /// Unknown keys (with the nearest known one), wrong types, values out of range, damaged TOML: the message shows the
    /// line.
    pub fn parse(text: &str) -> Result<Self, CriteriaError> {
        let criteria = toml::from_str(text).map_err(|error: toml::de::Error| {
            let hint = check::hint(error.message())
                .map(|key| format!("did you mean `{key}`?"))
                .unwrap_or_default();
            CriteriaError::Toml { error, hint }
        })?;
        check::out_of_range(text).map_or(Ok(criteria), Err)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_document_is_the_default_and_leaves_nothing_out() {
        let document = Criteria::parse(Criteria::DOCUMENT).unwrap();
        assert_eq!(document, Criteria::default());
        let keys = |text: &str| -> Vec<String> {
            let tables: toml::Table = text.parse().unwrap();
            let named = |(table, keys): (&String, &toml::Value)| {
                let keys: Vec<String> = keys.as_table().unwrap().keys().cloned().collect();
                keys.into_iter()
                    .map(|key| format!("{table}.{key}"))
                    .collect::<Vec<_>>()
            };
            tables.iter().flat_map(named).collect()
        };
        assert_eq!(
            keys(Criteria::DOCUMENT),
            keys(&toml::to_string(&Criteria::default()).unwrap())
        );
    }

    #[test]
    fn values_that_cannot_be_meant_are_refused_with_their_line() {
        for (text, said) in [
            ("[weak]\nmin-snr-db = 12\n[margin]\nmin-db = -3.0\n", "line 4"),
            ("[telemetry]\n\nmax-missing-share = 10\n", "line 3"),
            ("[acceptance]\nlevel-percentile = 101\n", "line 2"),
            ("[margin]\nmin-db = nan\n", "line 2"),
            ("[margin]\nmin-db = \"15\"\n", "line 2"),
        ] {
            let error = Criteria::parse(text).unwrap_err().to_string();
            assert!(error.contains(said), "{text}: {error}");
        }
    }

    #[test]
    fn a_misspelt_key_is_an_error_that_shows_its_line() {
        let error = Criteria::parse("[margin]\nmin-db = 20.0\nhysteresys-db = 1.0\n")
            .unwrap_err()
            .to_string();
        assert!(error.contains("line 3"), "{error}");
        assert!(error.contains("hysteresys-db"), "{error}");
        assert!(error.contains("did you mean `hysteresis-db`?"), "{error}");
    }

    #[test]
    fn missing_keys_take_their_defaults() {
        let criteria = Criteria::parse("[margin]\nmin-db = 20.0\n").unwrap();
        assert_eq!(criteria.margin.min_db, 20.0);
        assert_eq!(criteria.margin.critical_db, Margin::default().critical_db);
        assert_eq!(criteria.overload, Overload::default());
    }
}
