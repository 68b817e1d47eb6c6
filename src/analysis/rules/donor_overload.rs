//! Composite input beyond what the unit can take in this band.

use super::{Context, Rule, above};
use crate::analysis::latch::{Judgement, Timing};
use crate::analysis::{Code, Evidence, Severity};

pub(super) struct DonorOverload;

impl Rule for DonorOverload {
    fn code(&self) -> Code {
        Code::DonorOverload
    }

    fn per_path(&self) -> bool {
        false
    }

    fn timing(&self) -> Timing {
        Timing::millis(300, 3_000)
    }

    fn judge(&self, c: &Context<'_>) -> Judgement {
        let Some(level) = c.band.overload_level else {
            return Judgement::NotJudged("its overload level");
        };
        let Some(input) = c.reading.telemetry.dl_input else {
            return Judgement::NotJudged("the downlink input");
        };
        above(input.dbm(), level.dbm(), c.criteria.overload.hysteresis_db)
    }

    fn severity(&self, c: &Context<'_>) -> Severity {
        let near_damage =
            c.band
                .damage_level
                .zip(c.reading.telemetry.dl_input)
                .is_some_and(|(damage, input)| {
                    input.dbm() >= damage.dbm() - c.criteria.overload.damage_distance_db
                });
        if near_damage {
            Severity::Critical
        } else {
            Severity::Warning
        }
    }

    fn evidence(&self, c: &Context<'_>) -> Vec<Evidence> {
        let level =
            |name, value: Option<booster_profile::TenthDbm>| value.map(|v| Evidence::number(name, v.dbm()));
        // AGC gives up gain, one for one, from this input on.
        let onset = c
            .band
            .rated_dl_output
            .zip(c.band.max_dl_gain)
            .map(|(rated, gain)| rated.dbm() - gain.db());
        let given_up = c.gain_set().zip(c.gain()).map(|(set, now)| set.db() - now.db());
        [
            level("dl_input_dbm", c.reading.telemetry.dl_input),
            level("overload_level_dbm", c.band.overload_level),
            level("damage_level_dbm", c.band.damage_level),
            onset.map(|v| Evidence::number("agc_onset_dbm", v)),
            given_up.map(|v| Evidence::number("gain_given_up_db", v)),
        ]
        .into_iter()
        .flatten()
        .collect()
    }

    fn shortfall_db(&self, c: &Context<'_>) -> Option<f64> {
        let (input, level) = c.reading.telemetry.dl_input.zip(c.band.overload_level)?;
        Some(input.dbm() - level.dbm() + c.criteria.overload.headroom_db)
    }
}
