//! How fast a recording is replayed: `cargo bench --bench replay -- [--json] [--seed N] [--hours H]`.
//!
//! Full replay (parse, checksum, hex, decode, account, analyse) against what serde_json alone needs for the same lines
//! into the same borrowed structure, and with count, mean and percentiles per band against DuckDB (one thread) that
//! answers the same from the reading lines. One core, medians of alternating runs. DuckDB is the Python package's, by the
//! interpreter that `LOOPMARGIN_PYTHON` names (`python3` if it does not).

use anyhow::{Context, Result};
use booster_profile::*;
use loopmargin::analysis::Criteria;
use loopmargin::event::{Event, EventKind, LinkState, Origin, RawBytes, SessionTime};
use loopmargin::fold::{Fold, Update};
use loopmargin::output::brief::Brief;
use loopmargin::output::json::Json;
use loopmargin::output::{Output, Summary};
use loopmargin::replay::Outcome;
use loopmargin::session::{Clock, DirectRecorder, Header, Overwrite, Reader, Record};
use std::fs::File;
use std::io::{self, BufRead, BufReader, BufWriter, Write};
use std::path::Path;
use std::process::Command;
use std::time::Instant;

const BANDS: u8 = 6;
const RUNS: usize = 7;

/// What is asked of DuckDB, with the median time of the runs, s.
const DUCKDB: &str = r#"
import statistics, sys, time
try:
    import duckdb
except ImportError:
    sys.exit(3)
base = duckdb.connect()
base.execute("SET threads = 1")
query = f"""SELECT band, count(*), avg(dl_input_dbm), quantile_disc(dl_input_dbm, 0.99)
    FROM read_json('{sys.argv[1]}', format = 'newline_delimited', columns = {{band: 'VARCHAR', dl_input_dbm: 'DOUBLE'}})
    GROUP BY band"""
times = []
for run in range(int(sys.argv[2])):
    begin = time.perf_counter()
    rows = base.execute(query).fetchall()
    times.append(time.perf_counter() - begin)
assert sum(row[1] for row in rows) == int(sys.argv[3]), rows
print(statistics.median(times))
"#;

/// A value line as serde_json sees it.
#[derive(serde::Deserialize)]
struct Line<'a> {
    t: u64,
    v: &'a str,
    x: &'a str,
}

struct Figures {
    write_s: f64,
    read_s: f64,
    replay_s: f64,
    statistics_s: f64,
    parse_s: f64,
}

fn main() -> Result<()> {
    let args: Vec<String> = std::env::args().collect();
    if !args.iter().any(|a| a == "--bench") {
        return Ok(());
    }
    let given = |name: &str| args.iter().skip_while(move |a| *a != name).nth(1);
    let seed = given("--seed").map_or(Ok(1), |s| s.parse()).context("--seed")?;
    let hours: f64 = given("--hours")
        .map_or(Ok(1.5), |s| s.parse())
        .context("--hours")?;
    let readings = (hours * 36_000.0) as u32;
    let folder = tempfile::tempdir()?;
    let path = folder.path().join("bench.jsonl");
    let events = events(seed, readings);
    let count = u64::from(BANDS) * u64::from(readings);
    let values = count as f64;

    let runs: Vec<Figures> = (0..RUNS)
        .map(|_| {
            Ok(Figures {
                write_s: timed(|| write(&path, &events))?,
                parse_s: timed(|| parse(&path))?,
                read_s: timed(|| read(&path))?,
                replay_s: timed(|| replay(&path, count, false))?,
                statistics_s: timed(|| replay(&path, count, true))?,
            })
        })
        .collect::<Result<_>>()?;
    let median = |of: fn(&Figures) -> f64| {
        let mut all: Vec<f64> = runs.iter().map(of).collect();
        all.sort_by(f64::total_cmp);
        all[RUNS / 2]
    };
    let (replay_s, parse_s) = (median(|f| f.replay_s), median(|f| f.parse_s));
    let statistics_s = median(|f| f.statistics_s);
    let duckdb_s = duckdb(&path, &folder.path().join("readings.jsonl"), count)?;
    let figures = serde_json::json!({
        "values_per_s": (values / replay_s).round(),
        "ratio_to_parse": replay_s / parse_s,
        "ratio_to_duckdb": duckdb_s.map(|s| statistics_s / s),
        "parse_ns_per_line": (parse_s / values * 1e9).round(),
        "read_values_per_s": (values / median(|f| f.read_s)).round(),
        "write_ns_per_line": (median(|f| f.write_s) / values * 1e9).round(),
        "seed": seed,
    });
    if args.iter().any(|a| a == "--json") {
        println!("{figures}");
    } else {
        println!("{figures:#}");
    }
    Ok(())
}

fn timed<T>(run: impl FnOnce() -> Result<T>) -> Result<f64> {
    let begin = Instant::now();
    std::hint::black_box(run()?);
    Ok(begin.elapsed().as_secs_f64())
}

/// A healthy unit with six bands, every optional field, at 10 Hz.
fn events(mut state: u64, readings: u32) -> Vec<Event> {
    let mut events = Vec::new();
    let mut push = |at: u64, kind| {
        events.push(Event {
            at: SessionTime(at),
            kind,
        })
    };
    let value = |characteristic, origin, bytes: &[u8]| EventKind::Value {
        characteristic,
        origin,
        bytes: RawBytes::from_slice(bytes),
    };
    push(
        0,
        EventKind::Link {
            state: LinkState::Connecting,
            detail: None,
        },
    );
    push(
        1_000,
        value(Characteristic::BoosterFeature, Origin::Read, &feature().encode()),
    );
    push(
        2_000,
        value(Characteristic::BandTable, Origin::Read, &table().encode()),
    );
    push(
        3_000,
        EventKind::Link {
            state: LinkState::Live,
            detail: None,
        },
    );
    for number in 0..readings {
        for band in 0..BANDS {
            // A fixed congruential generator: a tenth of a dB up or down is all that is needed.
            state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            let wander = (state >> 60) as i16;
            let at = 10_000 + u64::from(number) * 100_000 + u64::from(band) * 1_000;
            for part in reading(band, number, wander).encode(244) {
                push(at, value(Characteristic::BandTelemetry, Origin::Pushed, &part));
            }
        }
    }
    push(10_000 + u64::from(readings) * 100_000, EventKind::End);
    events
}

fn feature() -> BoosterFeature {
    BoosterFeature {
        version: PROFILE_VERSION,
        features: Features::default(),
        bands: BANDS,
        regulation: Regulation::from_raw(0),
        min_interval_ms: 100,
        max_interval_ms: 10_000,
        default_interval_ms: 100,
        boot_id: 1,
        event_capacity: 100,
        history_capacity: 1_000,
    }
}

fn table() -> BandTable {
    let band = |index: u8| Band {
        index,
        technology: Technology::Lte,
        duplex: Duplex::Fdd,
        number: 1 + u16::from(index),
        dl_centre_khz: 2_140_000,
        ul_centre_khz: 1_950_000,
        bandwidth_khz: 60_000,
        max_dl_gain: Some(TenthDb(700)),
        max_ul_gain: Some(TenthDb(700)),
        rated_dl_output: Some(TenthDbm(100)),
        rated_ul_output: Some(TenthDbm(200)),
        overload_level: Some(TenthDbm(-250)),
        damage_level: Some(TenthDbm(0)),
        dl_noise_figure: Some(TenthDb(50)),
        ul_noise_figure: Some(TenthDb(50)),
        accuracy: Some(TenthDb(20)),
    };
    BandTable {
        bands: (0..BANDS).map(band).collect(),
    }
}

fn reading(band: u8, number: u32, wander: i16) -> BandTelemetry {
    BandTelemetry {
        boot: 1,
        band,
        sequence: number as u16,
        time_ms: number * 100,
        dl_input: Some(TenthDbm(-600 + wander)),
        dl_gain: Some(TenthDb(650)),
        ul_gain: Some(TenthDb(650)),
        ul_output: Some(TenthDbm(-100 + wander)),
        dl_state: DirectionState::Normal,
        ul_state: DirectionState::Normal,
        dl_reasons: Reasons::default(),
        ul_reasons: Reasons::default(),
        extra: Extra {
            fields: Fields::ALL,
            dl_isolation: Some(TenthDb(900 - wander)),
            ul_isolation: Some(TenthDb(910 - wander)),
            dl_output: Some(TenthDbm(50 + wander)),
            ul_input: Some(TenthDbm(-750 + wander)),
            cell: WantedCell {
                rsrp: Some(TenthDbm(-850 + wander)),
                rsrq: Some(TenthDb(-90)),
                sinr: Some(TenthDb(150 + wander)),
                identity: Some(101),
                age_tenths_s: Some((number % 20) as u16),
            },
            dl_gain_set: Some(TenthDb(650)),
            ul_gain_set: Some(TenthDb(650)),
            dl_gain_allowed: Some(TenthDb(700)),
            ul_gain_allowed: Some(TenthDb(700)),
        },
    }
}

fn write(path: &Path, events: &[Event]) -> Result<u64> {
    let mut recorder = DirectRecorder::create(path, Overwrite::Allow)?;
    recorder.begin(&Header::new(
        "bench",
        "2026-03-01T08:00:00Z".parse()?,
        Clock::Simulated,
    ));
    events.iter().for_each(|event| recorder.event(event));
    let totals = recorder.finish();
    anyhow::ensure!(totals.not_recorded == 0, "{:?}", recorder.status());
    Ok(totals.lines)
}

fn parse(path: &Path) -> Result<u64> {
    let mut file = BufReader::with_capacity(256 * 1024, File::open(path)?);
    let (mut line, mut sum) = (Vec::new(), 0);
    while file.read_until(b'\n', &mut line)? > 0 {
        if let Ok(line) = serde_json::from_slice::<Line>(&line) {
            sum += line.t + (line.v.len() + line.x.len()) as u64;
        }
        line.clear();
    }
    Ok(sum)
}

fn read(path: &Path) -> Result<u64> {
    let mut reader = Reader::open(File::open(path)?)?;
    let mut sum = 0;
    while let Some(event) = reader.next_event() {
        sum += event.at.0;
    }
    Ok(sum)
}

/// The whole way of `replay FILE`, with one line as its output; `in_detail` with statistics of every quantity too.
fn replay(path: &Path, values: u64, in_detail: bool) -> Result<Outcome> {
    run(path, values, in_detail, &mut Brief::new(io::sink(), "bench"))
}

fn run(path: &Path, values: u64, in_detail: bool, output: &mut dyn Output) -> Result<Outcome> {
    let session = loopmargin::replay::replay(File::open(path)?, Some(&Criteria::default()))?;
    let outcome = session.run(output, in_detail, || false, |_| Vec::new())?;
    anyhow::ensure!(outcome.integrity.is_sound(), "{}", outcome.integrity);
    anyhow::ensure!(outcome.accounts.readings == values, "{:?}", outcome.accounts);
    Ok(outcome)
}

/// Prints the reading lines only.
struct Readings<W>(Json<W>);

impl<W: Write> Output for Readings<W> {
    fn update(&mut self, update: &Update, fold: &Fold) -> io::Result<()> {
        match update {
            Update::Reading { .. } => self.0.update(update, fold),
            _ => Ok(()),
        }
    }

    fn difference(&mut self, _: &str) -> io::Result<()> {
        Ok(())
    }

    fn summary(&mut self, _: &Summary<'_>) -> io::Result<()> {
        Ok(())
    }
}

/// Time that DuckDB needs for the reading lines of the same session, s; `None` where it is not installed.
fn duckdb(path: &Path, lines: &Path, values: u64) -> Result<Option<f64>> {
    let python = std::env::var("LOOPMARGIN_PYTHON").unwrap_or_else(|_| "python3".to_owned());
    let has_it = Command::new(&python).args(["-c", "import duckdb"]).output();
    if !has_it.is_ok_and(|o| o.status.success()) {
        return Ok(None);
    }
    let mut readings = Readings(Json::new(BufWriter::new(File::create(lines)?), "bench", None));
    run(path, values, false, &mut readings)?;
    drop(readings);
    let output = Command::new(&python)
        .args(["-c", DUCKDB])
        .arg(lines)
        .args([RUNS.to_string(), values.to_string()])
        .output()?;
    anyhow::ensure!(
        output.status.success(),
        "DuckDB: {}",
        String::from_utf8_lossy(&output.stderr)
    );
    Ok(Some(String::from_utf8_lossy(&output.stdout).trim().parse()?))
}
