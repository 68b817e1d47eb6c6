//! How well faults are found, over simulated sites: `cargo bench --bench detection -- --seed N --sites M --variant
//! full|mandatory-fields|2hz|1hz|lossy --json`. While developing: `--only CODE` draws that fault alone, `--hours H`
//! shortens the healthy time. `--study` varies each limit instead (`--sites` of each fault, about 40; `--hours` 100).
//!
//! Sites are drawn by the simulator's generator; each runs as a user would see it: simulator → profile bytes →
//! telemetry → analysis. Delays count from the moment at which the simulation itself crosses the limit. Faults that
//! the drawn units cannot tell of (the analyser says "not judged") are no faults to be found; they are run and
//! reported apart.

#[path = "detection/cause.rs"]
mod cause;
#[path = "detection/draw.rs"]
mod draw;
#[path = "detection/onset.rs"]
mod onset;
#[path = "detection/study.rs"]
mod study;
#[path = "detection/tally.rs"]
mod tally;
#[path = "detection/trial.rs"]
mod trial;

use booster_simulator::generate::{Family, Reporting};
use loopmargin::analysis::Criteria;
use std::collections::BTreeMap;
use std::process::ExitCode;
use tally::{Tally, Unjudgeable};
use trial::{Trial, Verdict};

/// Sites that are asked for each code that such units cannot support.
const ASKED: usize = 10;

struct Options {
    seed: u64,
    sites: usize,
    hours: usize,
    only: Option<String>,
    variant: String,
    json: bool,
    study: bool,
}

impl Options {
    fn read(arguments: &[String]) -> Result<Self, String> {
        let mut options = Self {
            seed: 1,
            sites: 660,
            hours: 1_000,
            only: None,
            variant: "full".to_owned(),
            json: false,
            study: false,
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
                "--study" => options.study = true,
                "--seed" => options.seed = number(value()?)?,
                "--sites" => options.sites = number(value()?)?.clamp(1, 100_000) as usize,
                "--hours" => options.hours = number(value()?)?.min(100_000) as usize,
                "--only" => options.only = Some(value()?.clone()),
                "--variant" => options.variant.clone_from(value()?),
                _ => {
                    return Err(format!(
                        "{name}: unknown; options are --seed, --sites, --variant, --hours, --only, --study, --json"
                    ));
                }
            }
        }
        Ok(options)
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

    fn families(&self) -> Result<Vec<Family>, String> {
        let mut families = draw::faulty();
        if let Some(only) = &self.only {
            families.retain(|f| f.code() == Some(only));
            if families.is_empty() {
                return Err(format!("--only {only}: no site with such a fault can be drawn"));
            }
        }
        Ok(families)
    }
}

fn run(options: &Options) -> Result<Tally, String> {
    let reporting = options.reporting()?;
    let mut families = options.families()?;
    let criteria = [Criteria::default()];
    let mut unjudgeable = BTreeMap::new();
    families.retain(|family| {
        let missing = trial::unjudgeable(options.seed, *family, &reporting);
        if let Some((missing, code)) = missing.zip(family.code()) {
            unjudgeable.insert(code, (missing, *family));
        }
        missing.is_none()
    });
    let order = draw::order(&families, options.sites);
    let trials: Vec<Trial> = draw::parallel(order.len(), |i| {
        draw::fault(options.seed, i, order[i], &reporting, &criteria)
    })
    .into_iter()
    .flatten()
    .collect();
    let ask = |(code, (missing, family)): (&'static str, (&'static str, Family))| {
        let trials = draw::parallel(ASKED, |i| {
            draw::fault(options.seed, 2_000_000 + i, family, &reporting, &criteria)
        });
        let said_so = |t: &&Trial| matches!(t.verdicts.first(), Some(Verdict::NotJudged));
        let asked = Unjudgeable {
            missing,
            sites: trials.iter().flatten().count() as u64,
            said_so: trials.iter().flatten().filter(said_so).count() as u64,
        };
        (code, asked)
    };
    let unjudgeable = unjudgeable.into_iter().map(ask).collect();
    let healthy = draw::parallel(options.hours, |i| {
        trial::healthy(
            draw::site_seed(options.seed, 1_000_000 + i, 0),
            &reporting,
            &criteria,
        )
    });
    let mut false_by_code: BTreeMap<&str, u64> = BTreeMap::new();
    for code in healthy.iter().flatten().flatten() {
        *false_by_code.entry(code).or_default() += 1;
    }
    Ok(Tally {
        variant: options.variant.clone(),
        seed: options.seed,
        hours: options.hours,
        codes: tally::by_code(&trials, 0),
        unjudgeable,
        false_by_code,
    })
}

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    // Without it this is a build for tests, which must not take minutes.
    if !arguments.iter().any(|a| a == "--bench") {
        return ExitCode::SUCCESS;
    }
    let ran = Options::read(&arguments).and_then(|options| {
        if options.study {
            study::run(options.seed, options.sites, options.hours, &options.reporting()?);
            return Ok(None);
        }
        Ok(Some((run(&options)?, options.json)))
    });
    match ran {
        Ok(None) => {}
        Ok(Some((tally, true))) => println!("{}", tally.json()),
        Ok(Some((tally, false))) => tally.print(),
        Err(reason) => {
            eprintln!("detection: {reason}");
            return ExitCode::from(2);
        }
    }
    ExitCode::SUCCESS
}
