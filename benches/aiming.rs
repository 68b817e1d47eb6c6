//! How good aiming is, over simulated sites: `cargo bench --bench aiming -- --seed N --sites M --stops K --json`.
//!
//! Every site has 2 to 6 cells of one channel, multipath per bearing, one wander process per cell and an antenna of 65°
//! or 40°; physics come from the project's simulator. Truth is the level of the strongest cell without noise. The
//! baselines dwell for a fixed time at every stop of the same sites and take the best mean reading. `--variant` makes
//! the truth differ from what the estimator assumes.
//!
//! `--pattern FILE` fits bearings only, with the horizontal cut of a pattern file (MSI) at sites of one cell.
//!
//! `bearing_rmse_over_crb`: RMS error of the fitted bearing over the RMS of the Cramér–Rao bound, both over the same
//! sites of one cell. The bound is that of the readings taken: true covariance of wander and multipath at the stops
//! visited, width known. Sites whose bound is 30° or more (the cell was heard at one stop, or at its back lobe only)
//! have no fit to speak of and are counted in `bearing_sites_without_bound`.

#[path = "aiming/bound.rs"]
mod bound;
#[path = "aiming/site.rs"]
mod site;
#[path = "aiming/trial.rs"]
mod trial;

use serde_json::json;
use site::{Antenna, VARIANTS, Variant};
use std::process::ExitCode;
use trial::{Outcome, Run};

/// Fixed dwells that crews use, s (common practice, no source).
const BASELINES: [f64; 4] = [10.0, 20.0, 30.0, 120.0];

struct Options {
    seed: u64,
    sites: usize,
    stops: usize,
    variant: Variant,
    /// Only fit bearings, with this antenna.
    pattern: Option<String>,
    json: bool,
}

fn options(arguments: &[String]) -> Result<Options, String> {
    let mut options = Options {
        seed: 1,
        sites: 1000,
        stops: 8,
        variant: VARIANTS[0],
        pattern: None,
        json: false,
    };
    let mut rest = arguments.iter();
    while let Some(name) = rest.next() {
        if name == "--variant" {
            let wanted = rest.next().map(String::as_str);
            let known = || VARIANTS.map(|v| v.name).join(", ");
            options.variant = *VARIANTS
                .iter()
                .find(|v| Some(v.name) == wanted)
                .ok_or_else(|| format!("--variant: one of {}", known()))?;
            continue;
        }
        if name == "--pattern" {
            let file = rest.next().ok_or("--pattern: give a pattern file")?;
            options.pattern = Some(file.clone());
            continue;
        }
        let mut value = || -> Result<u64, String> {
            let text = rest.next().ok_or_else(|| format!("{name}: give a number"))?;
            text.parse()
                .map_err(|_| format!("{name} {text}: not a whole number"))
        };
        match name.as_str() {
            "--bench" => {}
            "--json" => options.json = true,
            "--seed" => options.seed = value()?,
            "--sites" => options.sites = value()?.clamp(1, 1_000_000) as usize,
            "--stops" => options.stops = value()?.clamp(2, 72) as usize,
            _ => {
                return Err(format!(
                    "{name}: unknown; options are --seed, --sites, --stops, --variant, --pattern, --json"
                ));
            }
        }
    }
    Ok(options)
}

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    // Without it this is a build for tests, which must not take minutes.
    if !arguments.iter().any(|a| a == "--bench") {
        return ExitCode::SUCCESS;
    }
    let options = match options(&arguments) {
        Ok(options) => options,
        Err(reason) => {
            eprintln!("aiming: {reason}");
            return ExitCode::from(2);
        }
    };
    let run = Run {
        seed: options.seed,
        sites: options.sites,
        stops: options.stops,
        variant: options.variant,
    };
    if let Some(file) = &options.pattern {
        return match Antenna::load(file) {
            Ok(antenna) => {
                let found = run.bearings(Some(&antenna));
                println!(
                    "{}",
                    json!({
                        "bearing_within_interval": found.within_interval,
                        "bearing_rmse_deg": found.rmse_deg,
                        "bearing_sites": found.sites,
                    })
                );
                ExitCode::SUCCESS
            }
            Err(reason) => {
                eprintln!("aiming: {reason}");
                ExitCode::from(2)
            }
        };
    }
    let aimed = run.aim();
    let baselines: Vec<_> = BASELINES
        .iter()
        .map(|dwell| (*dwell, run.fixed(*dwell)))
        .collect();
    let bearings = run.bearings(None);
    report(&options, &aimed, &baselines, &bearings);
    ExitCode::SUCCESS
}

fn report(
    options: &Options,
    aimed: &[Outcome],
    baselines: &[(f64, Vec<Outcome>)],
    bearings: &trial::Bearings,
) {
    let n = aimed.len() as f64;
    let stated = mean(aimed, |o| o.probability);
    let right = share_within(aimed);
    let mut losses: Vec<f64> = aimed.iter().map(|o| o.loss_db).collect();
    losses.sort_by(f64::total_cmp);
    let p95 = losses[((0.95 * n).ceil() as usize).clamp(1, losses.len()) - 1];
    let table: Vec<_> = [(0.0, 0.9), (0.9, 0.95), (0.95, 0.98), (0.98, 0.99), (0.99, 1.01)]
        .iter()
        .map(|(low, high)| {
            let inside = |o: &&Outcome| o.probability >= *low && o.probability < *high;
            let part: Vec<Outcome> = aimed.iter().filter(inside).copied().collect();
            let (stated, right) = if part.is_empty() {
                (None, None)
            } else {
                (Some(mean(&part, |o| o.probability)), Some(share_within(&part)))
            };
            json!({"from": low, "to": high.min(1.0), "sites": part.len(), "stated": stated, "right": right})
        })
        .collect();
    let fixed: Vec<_> = baselines
        .iter()
        .map(|(dwell, outcomes)| {
            json!({
                "dwell_s": dwell,
                "within_1db": share_within(outcomes),
                "mean_loss_db": mean(outcomes, |o| o.loss_db),
                "mean_dwell_s": mean(outcomes, |o| o.dwell_s),
                "mean_turns": mean(outcomes, |o| o.turns),
            })
        })
        .collect();
    let result = json!({
        "variant": options.variant.name,
        "seed": options.seed,
        "stops": options.stops,
        "sites": aimed.len(),
        "within_1db": right,
        "mean_loss_db": mean(aimed, |o| o.loss_db),
        "p95_loss_db": p95,
        "mean_dwell_s": mean(aimed, |o| o.dwell_s),
        "mean_turns": mean(aimed, |o| o.turns),
        "mean_stated_probability": stated,
        "calibration_error": stated - right,
        "calibration": table,
        "bearing_rmse_over_crb": bearings.rmse_deg / bearings.bound_deg,
        "bearing_rmse_deg": bearings.rmse_deg,
        "bearing_crb_rms_deg": bearings.bound_deg,
        "bearing_error_over_own_crb_rms": bearings.over_own_bound,
        "bearing_within_interval": bearings.within_interval,
        "bearing_sites": bearings.sites,
        "bearing_sites_without_bound": bearings.left_out,
        "baselines": fixed,
    });
    if options.json {
        println!("{result}");
    } else {
        println!("{result:#}");
    }
}

fn mean(outcomes: &[Outcome], of: impl Fn(&Outcome) -> f64) -> f64 {
    outcomes.iter().map(of).sum::<f64>() / outcomes.len() as f64
}

fn share_within(outcomes: &[Outcome]) -> f64 {
    mean(outcomes, |o| f64::from(u8::from(o.loss_db <= 1.0)))
}
