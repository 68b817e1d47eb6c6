//! What a reading costs the analyser: `cargo bench --bench analysis -- --json [--seed N]`. One core, every detector on.
//!
//! A healthy unit of four bands at 10 Hz with every optional field, for ten minutes of simulated time: readings, cell
//! reports and statuses as they come out of the telemetry fold are analysed again and again. `--once` leaves it at the
//! one time while they are recorded, for counting instructions (`benches/analysis/instructions.sh`).

#[path = "analysis/recording.rs"]
mod recording;

use loopmargin::analysis::{Analyser, Criteria};
use recording::{Recording, What};
use serde_json::json;
use std::process::ExitCode;
use std::time::Instant;

const MINUTES: f64 = 10.0;
const RUNS: usize = 60;

/// Analyses everything; how many findings were raised or cleared.
fn analyse(recording: &Recording) -> usize {
    let mut analyser = Analyser::new(Criteria::default());
    let mut changes = Vec::new();
    for (at, what) in &recording.items {
        match what {
            What::Reading(reading, accounts) => analyser.reading(reading, &recording.identity, *accounts),
            What::Cell(cell) => analyser.cell(*at, cell, &recording.identity),
            What::Unit(status) => analyser.unit(*at, status, &recording.identity),
        }
    }
    analyser.drain_changes(&mut changes);
    changes.len()
}

/// Nanoseconds per reading, of the fastest run and of the median one.
fn ns_per_reading(recording: &Recording) -> (f64, f64) {
    let mut ns: Vec<f64> = (0..RUNS)
        .map(|_| {
            let begin = Instant::now();
            std::hint::black_box(analyse(std::hint::black_box(recording)));
            begin.elapsed().as_secs_f64() * 1e9 / recording.readings as f64
        })
        .collect();
    ns.sort_by(f64::total_cmp);
    (ns[0], ns[RUNS / 2])
}

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().collect();
    let has = |name: &str| arguments.iter().any(|a| a == name);
    if !has("--bench") {
        return ExitCode::SUCCESS;
    }
    let seed = arguments.iter().skip_while(|a| *a != "--seed").nth(1);
    let Ok(seed) = seed.map_or(Ok(1), |s| s.parse::<u64>()) else {
        eprintln!("analysis: --seed: give a whole number");
        return ExitCode::from(2);
    };
    let recording = Recording::healthy(seed, 4, MINUTES * 60.0);
    if has("--once") {
        println!("{}", json!({ "readings": recording.readings }));
        return ExitCode::SUCCESS;
    }
    let (fastest, median) = ns_per_reading(&recording);
    let figures = json!({
        "ns_per_reading": median,
        "ns_per_reading_fastest": fastest,
        "readings": recording.readings,
        "bands": 4,
        "seed": seed,
    });
    if has("--json") {
        println!("{figures}");
    } else {
        println!("{figures:#}");
    }
    ExitCode::SUCCESS
}
