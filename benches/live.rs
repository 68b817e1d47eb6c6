//! How long a value takes from its arrival to the state that views draw, how long a frame takes, and whether memory
//! stays flat over a day. `cargo bench --bench live -- --json`; reported, never asserted.
//!
//! Part 1, real time: a thread plays a six-band unit at 10 Hz as a receiving task would (stamp, push into the bounded
//! queue); the consumer pops, folds and draws at 10 frames a second in the same task, so that a frame holds values up.
//! Part 2, virtual time: the same unit for a simulated day; resident memory after the first ten minutes and at the end.

use anyhow::Context;
use booster_simulator::{Scenario, Simulation};
use hdrhistogram::Histogram;
use loopmargin::analysis::Criteria;
use loopmargin::console::{ColorDepth, Look, State, Surroundings, ThemeName, View, draw};
use loopmargin::event::{Event, EventKind, Origin, SessionTime};
use loopmargin::fold::Fold;
use loopmargin::link::Pull;
use loopmargin::link::bluetooth::queue::{CAPACITY, Item, Queue};
use loopmargin::link::simulator::SimulatorLink;
use loopmargin::sequencer::Sequencer;
use loopmargin::session::{Header, NotRecording};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use serde::Serialize;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

/// Six bands at 10 Hz.
const SITE: &str = "long-exchange";
const REAL_TIME: Duration = Duration::from_secs(20);
const FRAME: Duration = Duration::from_millis(100);
const WARM: SessionTime = SessionTime(600 * 1_000_000);
const DAY: SessionTime = SessionTime(86_400 * 1_000_000);

#[derive(Serialize)]
struct Report {
    state_p50_us: u64,
    state_p99_us: u64,
    frame_p99_us: u64,
    resident_mb_start: Option<f64>,
    resident_mb_end: Option<f64>,
    values: u64,
    frames: u64,
    readings_in_a_day: u64,
}

fn main() -> anyhow::Result<()> {
    let args: Vec<String> = std::env::args().collect();
    if !args.iter().any(|a| a == "--bench") {
        // Run by `cargo test`: nothing to measure.
        return Ok(());
    }
    let mut report = real_time()?;
    let (start, end, readings) = day()?;
    (
        report.resident_mb_start,
        report.resident_mb_end,
        report.readings_in_a_day,
    ) = (start, end, readings);
    if args.iter().any(|a| a == "--json") {
        println!("{}", serde_json::to_string(&report)?);
    } else {
        let mb = |v: Option<f64>| v.map_or("not known".to_owned(), |v| format!("{v:.1} MB"));
        println!(
            "arrival to state: p50 {} µs, p99 {} µs over {} values",
            report.state_p50_us, report.state_p99_us, report.values
        );
        println!(
            "frame 120×40: p99 {} µs over {} frames",
            report.frame_p99_us, report.frames
        );
        println!(
            "resident: {} after ten simulated minutes, {} after a day",
            mb(start),
            mb(end)
        );
    }
    Ok(())
}

fn sequencer() -> Sequencer<NotRecording> {
    Sequencer::new(Fold::new(Criteria::default()), NotRecording, Header::empty())
}

fn unit() -> anyhow::Result<SimulatorLink> {
    let scenario = Scenario::named(SITE).context("the bench's site")?;
    Ok(SimulatorLink::new(Simulation::new(&scenario, 1)))
}

fn real_time() -> anyhow::Result<Report> {
    let queue = Arc::new(Queue::new(CAPACITY));
    let over = Arc::new(AtomicBool::new(false));
    let started = Instant::now();
    let producer = {
        let (queue, over, mut unit) = (Arc::clone(&queue), Arc::clone(&over), unit()?);
        std::thread::spawn(move || {
            while let Some(event) = unit.next_event().filter(|_| started.elapsed() < REAL_TIME) {
                std::thread::sleep(
                    (started + Duration::from_micros(event.at.0)).saturating_duration_since(Instant::now()),
                );
                let EventKind::Value {
                    characteristic,
                    bytes,
                    ..
                } = event.kind
                else {
                    continue;
                };
                let at = SessionTime::from(started.elapsed());
                queue.push(at, Item::Value(characteristic, bytes));
            }
            over.store(true, Ordering::Release);
        })
    };
    let mut latency = Histogram::<u64>::new_with_bounds(1, 60_000_000, 3)?;
    let mut frame = latency.clone();
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()?;
    runtime.block_on(async {
        let mut sequencer = sequencer();
        let mut updates = Vec::new();
        let mut ticks = tokio::time::interval(FRAME);
        while !over.load(Ordering::Acquire) {
            tokio::select! {
                biased;
                _ = ticks.tick() => record(&mut frame, draw_once(sequencer.fold())),
                (at, item) = queue.pop() => {
                    if let Item::Value(characteristic, bytes) = item {
                        sequencer.push(Event { at, kind: EventKind::Value { characteristic, origin: Origin::Pushed, bytes } }, &mut updates);
                        updates.clear();
                        record(&mut latency, started.elapsed().saturating_sub(Duration::from_micros(at.0)));
                    }
                }
            }
        }
    });
    producer
        .join()
        .map_err(|_| anyhow::anyhow!("the producer failed"))?;
    Ok(Report {
        state_p50_us: latency.value_at_quantile(0.5),
        state_p99_us: latency.value_at_quantile(0.99),
        frame_p99_us: frame.value_at_quantile(0.99),
        resident_mb_start: None,
        resident_mb_end: None,
        values: latency.len(),
        frames: frame.len(),
        readings_in_a_day: 0,
    })
}

fn day() -> anyhow::Result<(Option<f64>, Option<f64>, u64)> {
    let (mut unit, mut sequencer, mut updates) = (unit()?, sequencer(), Vec::new());
    let mut start = None;
    while let Some(event) = unit.next_event().filter(|e| e.at <= DAY) {
        if start.is_none() && event.at >= WARM {
            start = Some(resident_mb());
        }
        sequencer.push(event, &mut updates);
        updates.clear();
        for request in sequencer.take_requests() {
            unit.request(request);
        }
    }
    let readings = sequencer.fold().telemetry().total().readings;
    Ok((start.flatten(), resident_mb(), readings))
}

/// Draws a frame of the first view and gives the time that it took.
fn draw_once(fold: &Fold) -> Duration {
    let began = Instant::now();
    let area = Rect::new(0, 0, 120, 40);
    let mut buffer = Buffer::empty(area);
    let look = Look::new(ThemeName::default(), ColorDepth::Full, false);
    let about = Surroundings {
        now: fold.now(),
        source: "sim".to_owned(),
        ..Surroundings::default()
    };
    draw(
        fold,
        &about,
        &State::new(View::default()),
        &look,
        area,
        &mut buffer,
    );
    std::hint::black_box(&buffer);
    began.elapsed()
}

fn record(histogram: &mut Histogram<u64>, took: Duration) {
    histogram.saturating_record(u64::try_from(took.as_micros()).unwrap_or(u64::MAX).max(1));
}

/// Resident memory of this process (Linux: `VmRSS` of proc(5)).
fn resident_mb() -> Option<f64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find(|l| l.starts_with("VmRSS:"))?;
    let kb: f64 = line.split_whitespace().nth(1)?.parse().ok()?;
    Some(kb / 1024.0)
}
