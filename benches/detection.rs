//! How well faults are found, over simulated sites: `cargo bench --bench detection -- --seed N --sites M --variant
//! full|mandatory-fields|2hz|1hz|lossy --json`; `--hours H` shortens the healthy time while developing.
//!
//! Sites are drawn by the simulator's generator; each runs as a user would see it: simulator → profile bytes →
//! telemetry → analysis. Delays count from the moment at which the simulation itself crosses the limit.

#[path = "detection/cause.rs"]
mod cause;
#[path = "detection/onset.rs"]
mod onset;
#[path = "detection/trial.rs"]
mod trial;

use booster_simulator::generate::{Family, Reporting};
use hdrhistogram::Histogram;
use serde_json::{Map, Value, json};
use std::collections::BTreeMap;
use std::process::ExitCode;
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};
use trial::{Outcome, Verdict};

/// Codes with a limit of their own: drawn more often.
const WITH_LIMIT: [Family; 11] = [
    Family::DonorOverload,
    Family::FrontEndOverload,
    Family::NearFar,
    Family::WeakDonor,
    Family::NoisyDonor,
    Family::LowLoopMargin,
    Family::Oscillation,
    Family::OscillationUnflagged,
    Family::UplinkNoise,
    Family::UplinkOverload,
    Family::StepLoss,
];
/// Rounds over them for one round over the rest.
const ROUNDS: usize = 12;

struct Options {
    seed: u64,
    sites: usize,
    hours: usize,
    variant: String,
    json: bool,
}

impl Options {
    fn read(arguments: &[String]) -> Result<Self, String> {
        let mut options = Self {
            seed: 1,
            sites: 660,
            hours: 1_000,
            variant: "full".to_owned(),
            json: false,
        };
        let mut rest = arguments.iter();
        while let Some(name) = rest.next() {
            let mut value = || rest.next().ok_or_else(|| format!("{name}: give a value"));
            let number = |text: &String| {
                text.parse::<u64>()
                    .map_err(|_| format!("{name} {text}: not a whole number"))
            };
            match name.as_str() {
                "--bench" => {}
                "--json" => options.json = true,
                "--seed" => options.seed = number(value()?)?,
                "--sites" => options.sites = number(value()?)?.clamp(1, 100_000) as usize,
                "--hours" => options.hours = number(value()?)?.min(100_000) as usize,
                "--variant" => options.variant.clone_from(value()?),
                _ => {
                    return Err(format!(
                        "{name}: unknown; options are --seed, --sites, --variant, --hours, --json"
                    ));
                }
            }
        }
        options.reporting().map(|_| options)
    }

    fn reporting(&self) -> Result<Reporting, String> {
        let full = Reporting::FULL;
        Ok(match self.variant.as_str() {
            "full" => full,
            "mandatory-fields" => Reporting {
                mandatory_only: true,
                ..full
            },
            "2hz" => Reporting {
                report_ms: 500,
                ..full
            },
            "1hz" => Reporting {
                report_ms: 1_000,
                ..full
            },
            "lossy" => Reporting { loss: 0.05, ..full },
            other => {
                return Err(format!(
                    "--variant {other}: unknown; give full, mandatory-fields, 2hz, 1hz or lossy"
                ));
            }
        })
    }
}

/// The families of `sites` sites, in an order that any number of sites mixes well.
fn families(sites: usize) -> Vec<Family> {
    let rest: Vec<Family> = Family::ALL
        .into_iter()
        .filter(|f| *f != Family::Healthy && !WITH_LIMIT.contains(f))
        .collect();
    let mut order = Vec::new();
    for round in 0..ROUNDS {
        order.extend(WITH_LIMIT);
        order.extend(rest.get(round));
    }
    order.into_iter().cycle().take(sites).collect()
}

/// Runs `count` jobs on every core; results in the order of the jobs.
fn parallel<T: Send>(count: usize, job: impl Fn(usize) -> T + Sync) -> Vec<T> {
    let next = AtomicUsize::new(0);
    let done = Mutex::new(BTreeMap::new());
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    std::thread::scope(|scope| {
        for _ in 0..cores {
            scope.spawn(|| {
                loop {
                    let index = next.fetch_add(1, Ordering::Relaxed);
                    if index >= count {
                        return;
                    }
                    let result = job(index);
                    if let Ok(mut done) = done.lock() {
                        done.insert(index, result);
                    }
                }
            });
        }
    });
    done.into_inner()
        .map(|d| d.into_values().collect())
        .unwrap_or_default()
}

/// Seed of one site: any `--seed` gives a family of sites of its own.
fn site_seed(seed: u64, index: usize) -> u64 {
    seed.wrapping_mul(0x9E37_79B9_7F4A_7C15)
        .wrapping_add(index as u64)
}

#[derive(Default)]
struct ByCode {
    found: u64,
    missed: u64,
    right: u64,
    delays_ms: Vec<u64>,
    misses: Vec<String>,
}

impl ByCode {
    fn percentile_s(&self, quantile: f64) -> Option<f64> {
        let mut histogram = Histogram::<u64>::new(3).ok()?;
        for delay in &self.delays_ms {
            histogram.record(*delay).ok()?;
        }
        (!self.delays_ms.is_empty()).then(|| histogram.value_at_quantile(quantile) as f64 / 1e3)
    }
}

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    // Without it this is a build for tests, which must not take minutes.
    if !arguments.iter().any(|a| a == "--bench") {
        return ExitCode::SUCCESS;
    }
    let run = Options::read(&arguments).and_then(|o| o.reporting().map(|r| (o, r)));
    let (options, reporting) = match run {
        Ok(run) => run,
        Err(reason) => {
            eprintln!("detection: {reason}");
            return ExitCode::from(2);
        }
    };
    let families = families(options.sites);
    let outcomes: Vec<Option<Outcome>> = parallel(families.len(), |i| {
        trial::fault(site_seed(options.seed, i), families[i], &reporting)
    });
    let mut codes: BTreeMap<&str, ByCode> = BTreeMap::new();
    for outcome in outcomes.into_iter().flatten() {
        let code = codes.entry(outcome.code).or_default();
        match outcome.verdict {
            Verdict::Found {
                delay_ms,
                right_cause,
            } => {
                code.found += 1;
                code.right += u64::from(right_cause);
                code.delays_ms.push(delay_ms);
            }
            Verdict::Missed => {
                code.missed += 1;
                code.misses.push(outcome.site);
            }
        }
    }
    let healthy = parallel(options.hours, |i| {
        trial::healthy(site_seed(options.seed, 1_000_000 + i), &reporting)
    });
    let mut false_by_code: BTreeMap<&str, u64> = BTreeMap::new();
    for code in healthy.iter().flatten() {
        *false_by_code.entry(code).or_default() += 1;
    }
    report(&options, &codes, &false_by_code);
    ExitCode::SUCCESS
}

fn report(options: &Options, codes: &BTreeMap<&str, ByCode>, false_by_code: &BTreeMap<&str, u64>) {
    let found: u64 = codes.values().map(|c| c.found).sum();
    let missed: u64 = codes.values().map(|c| c.missed).sum();
    let right: u64 = codes.values().map(|c| c.right).sum();
    let false_findings: u64 = false_by_code.values().sum();
    let per_100h = false_findings as f64 * 100.0 / options.hours.max(1) as f64;
    let share = if found > 0 {
        right as f64 / found as f64
    } else {
        0.0
    };
    if !options.json {
        println!(
            "{:<22} {:>5} {:>6} {:>7} {:>7} {:>7} {:>6}",
            "code", "found", "missed", "p50 s", "p95 s", "max s", "cause"
        );
        for (code, c) in codes {
            let at = |q| c.percentile_s(q).map_or("-".to_owned(), |s| format!("{s:.1}"));
            println!(
                "{code:<22} {:>5} {:>6} {:>7} {:>7} {:>7} {:>6}  {}",
                c.found,
                c.missed,
                at(0.5),
                at(0.95),
                at(1.0),
                c.right,
                c.misses.join(" ")
            );
        }
        println!(
            "variant {}, seed {}, {} faults, {missed} missed",
            options.variant,
            options.seed,
            found + missed
        );
        println!("first cause right: {share:.3}");
        println!(
            "false: {per_100h:.2} in 100 h over {} h {false_by_code:?}",
            options.hours
        );
        return;
    }
    let by_code = |value: &dyn Fn(&ByCode) -> Value| -> Value {
        Value::Object(
            codes
                .iter()
                .map(|(code, c)| ((*code).to_owned(), value(c)))
                .collect::<Map<_, _>>(),
        )
    };
    let result = json!({
        "faults": found + missed,
        "found": found,
        "missed": missed,
        "delay_p95_s": by_code(&|c| json!(c.percentile_s(0.95))),
        "false_per_100h": per_100h,
        "healthy_hours": options.hours,
        "first_cause_right": share,
        "variant": options.variant,
        "seed": options.seed,
        "found_by_code": by_code(&|c| json!(c.found)),
        "missed_by_code": by_code(&|c| json!(c.missed)),
        "false_by_code": false_by_code,
    });
    println!("{result}");
}
