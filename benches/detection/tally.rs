//! Counts, percentiles, and how they are printed.

use crate::trial::{Trial, Verdict};
use hdrhistogram::Histogram;
use serde_json::{Map, Value, json};
use std::collections::BTreeMap;

/// What became of the faults of one code.
#[derive(Default)]
pub struct ByCode {
    pub found: u64,
    pub missed: u64,
    pub not_judged: u64,
    pub right: u64,
    delays_ms: Vec<u64>,
    misses: Vec<u64>,
    beside: BTreeMap<&'static str, u64>,
}

impl ByCode {
    fn add(&mut self, trial: &Trial, verdict: Verdict) {
        match verdict {
            Verdict::Found {
                delay_ms,
                right_cause,
            } => {
                self.found += 1;
                self.right += u64::from(right_cause);
                self.delays_ms.push(delay_ms);
            }
            Verdict::Missed => {
                self.missed += 1;
                self.misses.push(trial.seed);
            }
            Verdict::NotJudged => self.not_judged += 1,
        }
        for code in &trial.beside {
            *self.beside.entry(code).or_default() += 1;
        }
    }

    pub fn percentile_s(&self, quantile: f64) -> Option<f64> {
        let mut histogram = Histogram::<u64>::new(3).ok()?;
        for delay in &self.delays_ms {
            histogram.record(*delay).ok()?;
        }
        (!self.delays_ms.is_empty()).then(|| histogram.value_at_quantile(quantile) as f64 / 1e3)
    }
}

/// Units that cannot support a code: how many were asked, and how many said so.
pub struct Unjudgeable {
    pub missing: &'static str,
    pub sites: u64,
    pub said_so: u64,
}

/// All results of a run.
pub struct Tally {
    pub variant: String,
    pub seed: u64,
    pub hours: usize,
    pub codes: BTreeMap<&'static str, ByCode>,
    pub unjudgeable: BTreeMap<&'static str, Unjudgeable>,
    pub false_by_code: BTreeMap<&'static str, u64>,
}

/// Faults by code, judged with the criteria of this number.
pub fn by_code(trials: &[Trial], criteria: usize) -> BTreeMap<&'static str, ByCode> {
    let mut codes: BTreeMap<&str, ByCode> = BTreeMap::new();
    for trial in trials {
        if let Some(verdict) = trial.verdicts.get(criteria) {
            codes.entry(trial.code).or_default().add(trial, *verdict);
        }
    }
    codes
}

impl Tally {
    fn sum(&self, of: impl Fn(&ByCode) -> u64) -> u64 {
        self.codes.values().map(of).sum()
    }

    fn per_100h(&self) -> f64 {
        self.false_by_code.values().sum::<u64>() as f64 * 100.0 / self.hours.max(1) as f64
    }

    fn first_cause_right(&self) -> f64 {
        let found = self.sum(|c| c.found);
        if found > 0 {
            self.sum(|c| c.right) as f64 / found as f64
        } else {
            0.0
        }
    }

    /// For reading.
    pub fn print(&self) {
        println!(
            "{:<22} {:>5} {:>6} {:>7} {:>7} {:>7} {:>6}  beside",
            "code", "found", "missed", "p50 s", "p95 s", "max s", "cause"
        );
        for (code, c) in &self.codes {
            let at = |q| c.percentile_s(q).map_or("-".to_owned(), |s| format!("{s:.1}"));
            let beside: Vec<String> = c.beside.iter().map(|(code, n)| format!("{code} {n}")).collect();
            println!(
                "{code:<22} {:>5} {:>6} {:>7} {:>7} {:>7} {:>6}  {}",
                c.found,
                c.missed,
                at(0.5),
                at(0.95),
                at(1.0),
                c.right,
                beside.join(", "),
            );
            if !c.misses.is_empty() {
                println!("  missed with seeds {:?}", c.misses);
            }
        }
        for (code, u) in &self.unjudgeable {
            println!(
                "{code}: not judged, the unit does not report {}; {} of {} sites say so",
                u.missing, u.said_so, u.sites
            );
        }
        println!(
            "variant {}, seed {}, {} faults, {} missed, {} not judged",
            self.variant,
            self.seed,
            self.sum(|c| c.found + c.missed),
            self.sum(|c| c.missed),
            self.sum(|c| c.not_judged),
        );
        println!("first cause right: {:.3}", self.first_cause_right());
        println!(
            "false: {:.2} in 100 h over {} h {:?}",
            self.per_100h(),
            self.hours,
            self.false_by_code
        );
    }

    /// For programs: one object.
    pub fn json(&self) -> Value {
        let by_code = |value: &dyn Fn(&ByCode) -> Value| -> Value {
            let entry = |(code, c): (&&str, &ByCode)| ((*code).to_owned(), value(c));
            Value::Object(self.codes.iter().map(entry).collect())
        };
        let unjudgeable: Map<String, Value> = self
            .unjudgeable
            .iter()
            .map(|(code, u)| {
                let value = json!({ "missing": u.missing, "sites": u.sites, "said_so": u.said_so });
                ((*code).to_owned(), value)
            })
            .collect();
        json!({
            "faults": self.sum(|c| c.found + c.missed),
            "found": self.sum(|c| c.found),
            "missed": self.sum(|c| c.missed),
            "delay_p95_s": by_code(&|c| json!(c.percentile_s(0.95))),
            "false_per_100h": self.per_100h(),
            "healthy_hours": self.hours,
            "first_cause_right": self.first_cause_right(),
            "variant": self.variant,
            "seed": self.seed,
            "found_by_code": by_code(&|c| json!(c.found)),
            "missed_by_code": by_code(&|c| json!(c.missed)),
            "first_cause_by_code": by_code(&|c| json!(c.right)),
            "beside_by_code": by_code(&|c| json!(c.beside)),
            "not_judged": unjudgeable,
            "false_by_code": self.false_by_code,
        })
    }
}
