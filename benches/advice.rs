//! Whether advice works, over simulated sites: `cargo bench --bench advice -- --seed N --sites M --json`.
//!
//! Trial: faulty site → simulator → profile bytes → telemetry → analysis → the first remedy of the finding is carried
//! out at the simulated site → the same session goes on, up to three times. A remedy that was tried and left the
//! finding as it is gives way to the next in the list. *Cleared*: the finding clears and no other warning or critical
//! comes of the last step, in either direction. Effects are compared with the same site without the remedy, everything
//! else alike.

#[path = "support/parallel.rs"]
mod parallel;
#[path = "support/session.rs"]
mod session;
#[path = "advice/site.rs"]
mod site;
#[path = "advice/technician.rs"]
mod technician;
#[path = "advice/trial.rs"]
mod trial;
#[path = "advice/truth.rs"]
mod truth;

use booster_simulator::generate::Family;
use parallel::{parallel, site_seed};
use serde_json::{Value, json};
use std::collections::BTreeMap;
use std::process::ExitCode;
use trial::{End, Trial};
use truth::Effect;

/// Faults that no remedy can put right at a simulated site: who runs the network must act, or the maker, or the fault
/// ends by itself. One site of each is run, to see that nothing is promised.
const OUTSIDE: [Family; 3] = [
    Family::NotAuthorized,
    Family::ImplausibleReading,
    Family::Restarting,
];
/// A prediction counts as right within this, dB.
const RIGHT_DB: f64 = 2.0;

struct Options {
    seed: u64,
    sites: usize,
    json: bool,
}

impl Options {
    fn read(arguments: &[String]) -> Result<Self, String> {
        let mut options = Self {
            seed: 1,
            sites: 500,
            json: false,
        };
        let mut rest = arguments.iter();
        while let Some(name) = rest.next() {
            let mut number = || -> Result<u64, String> {
                let text = rest.next().ok_or_else(|| format!("{name}: give a value"))?;
                text.parse()
                    .map_err(|_| format!("{name} {text}: not a whole number"))
            };
            match name.as_str() {
                "--bench" => {}
                "--json" => options.json = true,
                "--seed" => options.seed = number()?,
                "--sites" => options.sites = number()?.clamp(1, 100_000) as usize,
                _ => return Err(format!("{name}: unknown; options are --seed, --sites, --json")),
            }
        }
        Ok(options)
    }
}

/// The families of the sites, one after the other, then one of each that nobody can put right.
fn families(sites: usize) -> Vec<Family> {
    let judged: Vec<Family> = Family::ALL
        .into_iter()
        .filter(|f| *f != Family::Healthy && !OUTSIDE.contains(f))
        .collect();
    judged.into_iter().cycle().take(sites).chain(OUTSIDE).collect()
}

/// A site whose fault is not found, because it never reaches its limit, is drawn again so many times.
const REDRAWS: u64 = 20;

fn drawn(seed: u64, index: usize, family: Family) -> Option<Trial> {
    let run = |n: u64| trial::run(site_seed(seed, index).wrapping_add(n << 32), family);
    let found = |t: &Trial| t.end != End::NotFound;
    (0..REDRAWS).filter_map(run).find(found).or_else(|| run(0))
}

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    // Without it this is a build for tests, which must not take minutes.
    if !arguments.iter().any(|a| a == "--bench") {
        return ExitCode::SUCCESS;
    }
    let options = match Options::read(&arguments) {
        Ok(options) => options,
        Err(reason) => {
            eprintln!("advice: {reason}");
            return ExitCode::from(2);
        }
    };
    let families = families(options.sites);
    let trials = parallel(families.len(), |i| drawn(options.seed, i, families[i]));
    let trials: Vec<Trial> = trials.into_iter().flatten().collect();
    if options.json {
        println!("{}", Summary::of(trials.iter()).json(options.seed, &trials));
    } else {
        table(&options, &trials);
    }
    ExitCode::SUCCESS
}

/// Totals of some trials.
#[derive(Default)]
struct Summary {
    judged: usize,
    cleared: usize,
    at_once: usize,
    undisturbed: usize,
    steps: usize,
    outside: usize,
    not_found: usize,
    errors_db: Vec<f64>,
}

impl Summary {
    fn of<'a>(trials: impl Iterator<Item = &'a Trial>) -> Self {
        let mut all = Self::default();
        for trial in trials {
            match &trial.end {
                End::Cleared(steps) => {
                    all.cleared += 1;
                    all.steps += steps;
                    all.at_once += usize::from(*steps == 1);
                    all.undisturbed += usize::from(trial.came.is_empty());
                }
                End::NotCleared(_) => {}
                End::Outside => all.outside += 1,
                End::NotFound => all.not_found += 1,
            }
            all.judged += usize::from(matches!(trial.end, End::Cleared(_) | End::NotCleared(_)));
            let error = |e: &Effect| (e.predicted_db - e.realised_db).abs();
            all.errors_db.extend(trial.effects.iter().map(error));
        }
        all.errors_db.sort_by(f64::total_cmp);
        all
    }

    fn share(part: usize, of: usize) -> Option<f64> {
        (of > 0).then(|| part as f64 / of as f64)
    }

    fn within(&self) -> Option<f64> {
        let right = self.errors_db.iter().filter(|e| **e <= RIGHT_DB).count();
        Self::share(right, self.errors_db.len())
    }

    fn error_db(&self, quantile: f64) -> Option<f64> {
        let last = self.errors_db.len().checked_sub(1)?;
        self.errors_db
            .get((last as f64 * quantile).round() as usize)
            .copied()
    }

    fn mean_steps(&self) -> Option<f64> {
        Self::share(self.steps, self.cleared)
    }

    fn json(&self, seed: u64, trials: &[Trial]) -> Value {
        let by_code: BTreeMap<&str, Value> = by_code(trials)
            .iter()
            .map(|(code, s)| {
                let value = json!({
                    "sites": s.judged,
                    "cleared": Self::share(s.cleared, s.judged),
                    "mean_steps": s.mean_steps(),
                    "effects": s.errors_db.len(),
                    "effect_within_2db": s.within(),
                    "effect_error_p50_db": s.error_db(0.5),
                    "effect_error_p95_db": s.error_db(0.95),
                });
                (*code, value)
            })
            .collect();
        json!({
            "sites": self.judged,
            "cleared": Self::share(self.cleared, self.judged),
            "cleared_and_nothing_else_raised": Self::share(self.undisturbed, self.judged),
            "cleared_at_first_step": Self::share(self.at_once, self.judged),
            "mean_steps": self.mean_steps(),
            "effects": self.errors_db.len(),
            "effect_within_2db": self.within(),
            "outside": self.outside,
            "not_found": self.not_found,
            "seed": seed,
            "by_code": by_code,
        })
    }
}

fn by_code(trials: &[Trial]) -> BTreeMap<&'static str, Summary> {
    let codes: BTreeMap<&str, ()> = trials.iter().map(|t| (t.code, ())).collect();
    codes
        .into_keys()
        .map(|code| (code, Summary::of(trials.iter().filter(|t| t.code == code))))
        .collect()
}

fn table(options: &Options, trials: &[Trial]) {
    println!(
        "{:<22} {:>5} {:>7} {:>6} {:>7} {:>6} {:>6} {:>6}  failed",
        "code", "sites", "cleared", "steps", "effects", "p50 dB", "p95 dB", "2 dB"
    );
    let number = |v: Option<f64>| v.map_or("-".to_owned(), |v| format!("{v:.2}"));
    for (code, s) in by_code(trials) {
        println!(
            "{code:<22} {:>5} {:>7} {:>6} {:>7} {:>6} {:>6} {:>6}",
            s.judged,
            s.cleared,
            number(s.mean_steps()),
            s.errors_db.len(),
            number(s.error_db(0.5)),
            number(s.error_db(0.95)),
            number(s.within()),
        );
        for trial in trials.iter().filter(|t| t.code == code) {
            let works = trial.works.join(", ");
            match &trial.end {
                End::NotCleared(why) => println!("    {} {why}: {works}", trial.seed),
                End::Outside => println!("    {} outside the simulation: {works}", trial.seed),
                End::NotFound => println!("    {} not found, or gone", trial.seed),
                End::Cleared(_) if !trial.came.is_empty() => {
                    println!(
                        "    {} on the way came {}: {works}",
                        trial.seed,
                        trial.came.join(" ")
                    );
                }
                End::Cleared(_) => {}
            }
            for e in trial
                .effects
                .iter()
                .filter(|e| (e.predicted_db - e.realised_db).abs() > RIGHT_DB)
            {
                println!(
                    "    {} predicted {:+.1} dB, came {:+.1} dB: {works}",
                    trial.seed, e.predicted_db, e.realised_db
                );
            }
        }
    }
    let all = Summary::of(trials.iter());
    println!(
        "seed {}: {} sites, cleared {} (nothing else raised on the way {}, at the first step {}), steps {}, effects within 2 dB {} of {}, outside {}, not found {}",
        options.seed,
        all.judged,
        number(Summary::share(all.cleared, all.judged)),
        number(Summary::share(all.undisturbed, all.judged)),
        number(Summary::share(all.at_once, all.judged)),
        number(all.mean_steps()),
        number(all.within()),
        all.errors_db.len(),
        all.outside,
        all.not_found,
    );
}
