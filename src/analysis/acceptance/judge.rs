//! The criteria of a band and of the unit, from what the period showed.

use super::outcome::Verdict;
use super::series::Series;
use super::sheet::{Measured, Sheet};
use super::spread::Spread;
use super::table as t;
use super::unit::UnitSeries;
use crate::analysis::rules::BandFacts;
use crate::analysis::{Criteria, Path};
use crate::telemetry::{Accounts, Identity};
use booster_profile::{Band, Features, Regulation, TenthDbm};
use radio::limits::us;
use radio::{Db, Dbm};

/// What a band is judged by beside its series.
pub(super) struct Ground<'a> {
    pub(super) criteria: &'a Criteria,
    pub(super) identity: &'a Identity,
    pub(super) band: &'a Band,
    pub(super) facts: &'a BandFacts,
    pub(super) accounts: Accounts,
}

/// Why something that only the unit can tell is not judged.
const NO_LEVEL: &str = "the unit reports neither RSRP nor its downlink input";

/// Judges a band.
pub(super) fn band(sheet: &mut Sheet, series: &Series, ground: &Ground<'_>) {
    let limits = &ground.criteria.acceptance;
    let missing = ground.accounts.missing() as f64 / (ground.accounts.expected as f64).max(1.0);
    sheet.judge(
        &t::TELEMETRY,
        None,
        Measured::exact(missing, ground.criteria.telemetry.max_missing_share),
        "",
    );
    let heard = Measured::exact(series.heard_s(), limits.min_data_s);
    sheet.judge(&t::DATA, None, heard, "");
    if series.heard_s() < limits.min_data_s || series.readings < limits.min_readings {
        // Too little data proves nothing: the test has failed, whatever the few values say.
        if let Some((criterion, _)) = sheet.criteria.last_mut() {
            criterion.result = Verdict::Fail;
        }
        let few = format!(
            "only {} readings in {:.1} s: too little to judge anything else by",
            series.readings,
            series.heard_s()
        );
        sheet.missing(&t::DATA, None, &few);
        return;
    }
    donor(sheet, series, ground);
    for path in Path::BOTH {
        direction(sheet, series, ground, path);
    }
    uplink(sheet, series, ground);
}

fn statistic(series: &Spread, value: Option<f64>, limit: Option<f64>, uncertainty: f64) -> Measured<'_> {
    Measured {
        value,
        limit,
        uncertainty,
        series: Some(series),
    }
}

fn donor(sheet: &mut Sheet, series: &Series, ground: &Ground<'_>) {
    let (criteria, facts) = (ground.criteria, ground.facts);
    let (grey, accuracy) = (&criteria.uncertainty, facts.accuracy_db);
    let low = criteria.acceptance.level_percentile;
    let tenth = |s: &Spread| s.percentile(low);
    if let Some(rsrp) = tenth(&series.rsrp) {
        let limit = Some(facts.weak_rsrp_dbm);
        sheet.judge(
            &t::DONOR_RSRP,
            Some(Path::Downlink),
            statistic(&series.rsrp, Some(rsrp), limit, grey.rsrp_db),
            "",
        );
    } else {
        sheet.judge(
            &t::DONOR_LEVEL,
            Some(Path::Downlink),
            statistic(
                &series.input,
                tenth(&series.input),
                Some(facts.weak_input_dbm),
                accuracy,
            ),
            NO_LEVEL,
        );
    }
    let quality = &criteria.quality;
    if let Some(sinr) = tenth(&series.sinr) {
        sheet.judge(
            &t::SINR,
            Some(Path::Downlink),
            statistic(&series.sinr, Some(sinr), Some(quality.min_sinr_db), grey.sinr_db),
            "",
        );
    } else {
        sheet.judge(
            &t::RSRQ,
            Some(Path::Downlink),
            statistic(
                &series.rsrq,
                tenth(&series.rsrq),
                Some(quality.min_rsrq_db),
                grey.rsrq_db,
            ),
            "the unit reports neither SINR nor RSRQ",
        );
    }
    let level = ground.band.overload_level.map(TenthDbm::dbm);
    sheet.judge(
        &t::OVERLOAD,
        Some(Path::Downlink),
        statistic(&series.input, series.input.worst_minute_high(), level, accuracy),
        if level.is_none() {
            "the unit does not report its overload level"
        } else {
            "the unit does not report its downlink input"
        },
    );
    let loaded = series
        .loaded_input_dbm()
        .or_else(|| Some(series.rsrp.mean()? + facts.widest_span_db));
    sheet.judge(
        &t::BUSY_HOUR,
        Some(Path::Downlink),
        Measured {
            value: loaded.map(|dbm| dbm + criteria.acceptance.busy_hour_db),
            limit: level,
            uncertainty: grey.rsrp_db,
            series: None,
        },
        "the unit reports no cell, so that the busy hour cannot be worked out: repeat the test when the network is busy",
    );
}

fn direction(sheet: &mut Sheet, series: &Series, ground: &Ground<'_>, path: Path) {
    let criteria = ground.criteria;
    let difference = criteria.uncertainty.difference_db;
    let side = series.direction(path);
    let least = Some(criteria.margin.min_db);
    for (test, spread, why) in [
        (&t::MARGIN, &side.margin, "the unit does not report isolation"),
        (
            &t::MARGIN_MEANT,
            &side.margin_meant,
            "the unit does not report isolation and the gain that was set",
        ),
    ] {
        sheet.judge(
            test,
            Some(path),
            statistic(spread, spread.worst_minute_low(), least, difference),
            why,
        );
    }
    let flagged = ground
        .identity
        .feature
        .is_some_and(|f| f.features.contains(Features::OSCILLATION_FLAG));
    let limit = (flagged || side.guarded > 0).then_some(0.0);
    sheet.judge(
        &t::OSCILLATION,
        Some(path),
        Measured {
            limit,
            ..Measured::exact(f64::from(side.guarded), 0.0)
        },
        "the unit does not report oscillation",
    );
    let passing = 1.0 - f64::from(side.out_of_service) / f64::from(series.readings.max(1));
    sheet.judge(&t::IN_SERVICE, Some(path), Measured::exact(passing, 1.0), "");
    sheet.judge(
        &t::HELD_BACK,
        Some(path),
        statistic(
            &side.held_back,
            side.held_back.percentile(50.0),
            Some(criteria.gain.min_loss_db),
            criteria.gain.hysteresis_db,
        ),
        "the unit does not report the gain that was set",
    );
}

fn uplink(sheet: &mut Sheet, series: &Series, ground: &Ground<'_>) {
    let (criteria, facts) = (ground.criteria, ground.facts);
    let ul = Some(Path::Uplink);
    sheet.judge(
        &t::IMBALANCE,
        None,
        statistic(
            &series.imbalance,
            series.imbalance.percentile(50.0),
            Some(criteria.uplink.max_imbalance_db),
            1.0,
        ),
        "the unit did not amplify in both directions at once",
    );
    noise(sheet, series, ground);

    let side = series.direction(Path::Uplink);
    let width = radio::Megahertz(f64::from(ground.band.bandwidth_khz.max(1)) / 1e3);
    let idle_dbm = series.uplink_gain.percentile(50.0).map(|gain| {
        radio::DbmPerMegahertz(facts.uplink_noise_dbm_mhz + gain)
            .in_bandwidth(width)
            .0
    });
    let peak = side.output.worst_minute_high();
    // Noise alone shows nothing about how the uplink carries a phone.
    let exercised = peak
        .zip(idle_dbm)
        .is_some_and(|(peak, idle)| peak > idle + 2.0 * facts.accuracy_db);
    let why = "no phone sent through the uplink during the test: send data with one near the server antenna";
    if !exercised {
        sheet.missing(&t::UPLINK_OUTPUT, ul, why);
        sheet.missing(&t::UPLINK_OVERLOAD, ul, why);
        return;
    }
    sheet.judge(
        &t::UPLINK_OUTPUT,
        ul,
        statistic(
            &side.output,
            peak,
            ground
                .band
                .rated_ul_output
                .map(|rated| rated.dbm() + criteria.acceptance.output_tolerance_db),
            criteria.acceptance.output_tolerance_db,
        ),
        "the unit does not report its rated uplink output",
    );
    sheet.judge(
        &t::UPLINK_OVERLOAD,
        ul,
        statistic(
            &side.given_up,
            side.given_up.percentile(95.0),
            Some(criteria.uplink.min_gain_loss_db),
            criteria.gain.hysteresis_db,
        ),
        "the unit does not report the gain that was set",
    );
}

/// Noise at the donor port against the rule and against the cell; the stricter one is judged.
fn noise(sheet: &mut Sheet, series: &Series, ground: &Ground<'_>) {
    let (criteria, facts) = (ground.criteria, ground.facts);
    let limits = &criteria.uplink;
    let noise = series
        .uplink_gain
        .percentile(95.0)
        .map(|gain| facts.uplink_noise_dbm_mhz + gain);
    let ruled = ground.identity.feature.is_some_and(|f| {
        matches!(
            f.regulation,
            Regulation::UsWideband | Regulation::UsProviderSpecific
        )
    });
    // Both at the mean input: what the noise was over its limit of the moment is added to the limit of the mean.
    let by_rule = series.input.mean().filter(|_| ruled).and_then(|rssi| {
        let limit = us::noise_limit(Dbm(rssi.clamp(-140.0, 0.0))).ok()?.0;
        let mean_gain_at_limit = limit - facts.uplink_noise_dbm_mhz;
        let over = series.gain_and_input.percentile(50.0)? - (mean_gain_at_limit + rssi);
        Some((limit + over, limit + facts.accuracy_db))
    });
    let by_cell = series.rsrp.mean().zip(noise).map(|(rsrp, noise)| {
        let coupling = Db(limits.cell_reference_dbm - rsrp);
        let floor = facts.thermal_dbm_mhz + limits.cell_noise_figure_db;
        (noise, floor - limits.below_cell_floor_db + coupling.0)
    });
    let room = |side: Option<(f64, f64)>| side.map_or(f64::INFINITY, |(value, limit)| limit - value);
    let (test, judged, uncertainty) = if by_rule.is_some() && room(by_rule) <= room(by_cell) {
        (&t::NOISE_RULE, by_rule, criteria.uncertainty.difference_db)
    } else {
        (&t::NOISE_CELL, by_cell, criteria.uncertainty.rsrp_db)
    };
    sheet.judge(
        test,
        Some(Path::Uplink),
        Measured {
            value: judged.map(|(value, _)| value),
            limit: judged.map(|(_, limit)| limit),
            uncertainty,
            series: None,
        },
        if noise.is_none() {
            "the uplink did not amplify during the test"
        } else {
            "the unit reports no RSRP, so that the way to the base station is not known"
        },
    );
}

/// Judges the unit as a whole.
pub(super) fn unit(sheet: &mut Sheet, unit: &UnitSeries, criteria: &Criteria) {
    let limits = &criteria.health;
    let restarts = Measured::exact(f64::from(unit.restarts), 0.0);
    sheet.judge(&t::RESTARTS, None, restarts, "");
    if unit.statuses == 0 {
        let why = "the unit sent no status";
        for test in [&t::OPERATING, &t::CONDITION, &t::AUTHORIZATION] {
            sheet.missing(test, None, why);
        }
        return;
    }
    let share = f64::from(unit.normal) / f64::from(unit.statuses);
    sheet.judge(&t::OPERATING, None, Measured::exact(share, 1.0), "");
    let bad = Measured::exact(f64::from(unit.bad), 0.0);
    sheet.judge(&t::CONDITION, None, bad, "");
    let absent = Measured::exact(f64::from(unit.not_authorized), 0.0);
    sheet.judge(&t::AUTHORIZATION, None, absent, "");
    sheet.judge(
        &t::TEMPERATURE,
        None,
        statistic(
            &unit.temperature,
            unit.temperature.max(),
            Some(limits.max_temperature_c),
            0.0,
        ),
        "the unit does not report its temperature",
    );
    sheet.judge(
        &t::SUPPLY,
        None,
        Measured {
            value: unit.supply_drop(),
            ..Measured::exact(0.0, limits.max_supply_drop)
        },
        "the unit does not report its supply",
    );
}
