//! `simulate`: a simulated unit, as a recording or over the air.

use super::args::SimulateOptions;
use super::exit::Failure;
use super::source::{scenario, simulated_start};
use crate::analysis::Criteria;
use crate::event::SessionTime;
use crate::fold::Fold;
use crate::link::Pull;
use crate::link::simulator::SimulatorLink;
use crate::sequencer::Sequencer;
use crate::session::{Clock, DirectRecorder, Header, Overwrite};
use booster_simulator::{Scenario, Simulation, explain};
use std::io::{self, Write};
use std::path::Path;

pub(super) fn run(options: SimulateOptions) -> Result<(), Failure> {
    if options.list {
        return list();
    }
    if let Some(name) = &options.explain {
        writeln!(io::stdout(), "{}", explain(&scenario(Some(name))?))?;
        return Ok(());
    }
    let scenario = scenario(options.scenario.as_deref())?;
    match (&options.record, &options.air) {
        (Some(path), _) => {
            let Some(duration) = options.duration else {
                return Err(Failure::Usage("simulate --record: say how long with --for, such as --for 10m".to_owned()));
            };
            record(&scenario, options.seed, duration.into(), path, options.scenario.as_deref())
        }
        (None, Some(adapter)) => air(scenario, adapter.clone(), &options),
        (None, None) => Err(Failure::Usage(
            "simulate: say what to do: --record FILE --for D, --air [ADAPTER], --list or --explain S; to watch a \
             simulated unit: loopmargin watch --from sim"
                .to_owned(),
        )),
    }
}

/// Names and titles of the built-in scenarios, the default first.
fn list() -> Result<(), Failure> {
    let mut out = io::stdout().lock();
    for name in Scenario::names() {
        writeln!(out, "{name:16} {}", Scenario::named(name)?.title)?;
    }
    Ok(())
}

/// Writes a session file as fast as the simulator runs.
fn record(
    scenario: &Scenario,
    seed: u64,
    until: SessionTime,
    path: &Path,
    name: Option<&str>,
) -> Result<(), Failure> {
    let source = name.map_or_else(|| "sim".to_owned(), |n| format!("sim:{n}"));
    let mut header = Header::new(&source, simulated_start()?, Clock::Simulated);
    let criteria = Criteria::default();
    header.criteria = Some(toml::to_string(&criteria)?);
    let recorder = DirectRecorder::create(path, Overwrite::Refuse)?;
    let mut sequencer = Sequencer::new(Fold::new(criteria), recorder, header);
    let mut link = SimulatorLink::new(Simulation::new(scenario, seed));
    let mut updates = Vec::new();
    while let Some(event) = link.next_event().filter(|e| e.at <= until) {
        sequencer.push(event, &mut updates);
        updates.clear();
        for request in sequencer.take_requests() {
            link.request(request);
        }
    }
    let totals = sequencer.end(until, &mut updates);
    eprintln!(
        "{}: {} events, {} bytes",
        path.display(),
        totals.lines,
        totals.bytes
    );
    if totals.not_recorded > 0 {
        return Err(Failure::Failed(anyhow::anyhow!(
            "recording to {}: {} events were not recorded; check the space on the disk",
            path.display(),
            totals.not_recorded
        )));
    }
    Ok(())
}

/// Serves the unit over a real adapter, until a signal or for the time asked for.
#[cfg(target_os = "linux")]
fn air(scenario: Scenario, adapter: Option<String>, options: &SimulateOptions) -> Result<(), Failure> {
    use super::signals::Signals;
    use booster_simulator::air::{AirOptions, serve};

    let air = AirOptions {
        adapter,
        log: options.log.clone(),
        state: options.state.clone(),
        scenario,
        seed: options.seed,
        tell: Box::new(|what| eprintln!("{what}")),
    };
    let duration = options.duration;
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        .enable_all()
        .build()?;
    runtime.block_on(async move {
        let mut signals = Signals::listen()?;
        let mut signal = None;
        let shutdown = async {
            let time = async {
                match duration {
                    Some(duration) => tokio::time::sleep(duration).await,
                    None => std::future::pending().await,
                }
            };
            tokio::select! {
                number = signals.next() => signal = Some(number),
                () = time => {}
            }
        };
        serve(air, shutdown).await.map_err(anyhow::Error::from)?;
        signal.map_or(Ok(()), |number| Err(Failure::Signal(number)))
    })
}

#[cfg(not(target_os = "linux"))]
fn air(_: Scenario, _: Option<String>, _: &SimulateOptions) -> Result<(), Failure> {
    Err(Failure::Failed(anyhow::anyhow!(
        "simulate --air: serving a unit over Bluetooth needs Linux with BlueZ; use loopmargin watch --from sim here"
    )))
}
