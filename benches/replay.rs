//! How fast a recording is replayed: `cargo bench --bench replay -- [--json] [--seed N]`.
//!
//! Full replay (parse, checksum, hex, decode, account, analyse) against what serde_json alone needs for the same lines
//! into the same borrowed structure. One core, medians of alternating runs.

use anyhow::{Context, Result};
use booster_profile::*;
use loopmargin::analysis::Criteria;
use loopmargin::event::{Event, EventKind, LinkState, Origin, RawBytes, SessionTime};
use loopmargin::fold::Fold;
use loopmargin::session::{Clock, DirectRecorder, Header, Overwrite, Reader, Record};
use std::fs::File;
use std::io::{BufRead, BufReader};
use std::path::Path;
use std::time::Instant;

const BANDS: u8 = 6;
/// Readings of each band: an hour and a half at 10 Hz.
const READINGS: u32 = 54_000;
const RUNS: usize = 7;

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
    parse_s: f64,
}

fn main() -> Result<()> {
    let args: Vec<String> = std::env::args().collect();
    if !args.iter().any(|a| a == "--bench") {
        return Ok(());
    }
    let seed = args
        .iter()
        .skip_while(|a| *a != "--seed")
        .nth(1)
        .map_or(Ok(1), |s| s.parse())
        .context("--seed")?;
    let folder = tempfile::tempdir()?;
    let path = folder.path().join("bench.jsonl");
    let events = events(seed);
    let values = f64::from(BANDS) * f64::from(READINGS);

    let runs: Vec<Figures> = (0..RUNS)
        .map(|_| {
            Ok(Figures {
                write_s: timed(|| write(&path, &events))?,
                parse_s: timed(|| parse(&path))?,
                read_s: timed(|| read(&path))?,
                replay_s: timed(|| replay(&path))?,
            })
        })
        .collect::<Result<_>>()?;
    let median = |of: fn(&Figures) -> f64| {
        let mut all: Vec<f64> = runs.iter().map(of).collect();
        all.sort_by(f64::total_cmp);
        all[RUNS / 2]
    };
    let (replay_s, parse_s) = (median(|f| f.replay_s), median(|f| f.parse_s));
    let figures = serde_json::json!({
        "values_per_s": (values / replay_s).round(),
        "ratio_to_parse": replay_s / parse_s,
        "ratio_to_duckdb": null,
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
fn events(mut state: u64) -> Vec<Event> {
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
    for number in 0..READINGS {
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
    push(10_000 + u64::from(READINGS) * 100_000, EventKind::End);
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

fn replay(path: &Path) -> Result<u64> {
    let mut reader = Reader::open(File::open(path)?)?;
    let mut fold = Fold::new(Criteria::default());
    let (mut updates, mut count) = (Vec::new(), 0);
    while let Some(event) = reader.next_event() {
        fold.apply(&event, &mut updates);
        count += updates.drain(..).count() as u64;
    }
    anyhow::ensure!(reader.integrity().is_sound(), "{}", reader.integrity());
    anyhow::ensure!(
        count > u64::from(READINGS) * u64::from(BANDS),
        "only {count} updates"
    );
    Ok(count)
}
