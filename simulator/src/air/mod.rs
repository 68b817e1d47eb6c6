//! The simulated unit over the air: the same server as a GATT peripheral on a real Bluetooth adapter (Linux, BlueZ).
//!
//! One task owns the [`Simulation`] and lets its time run with the clock on the wall; everything that BlueZ calls back
//! goes to that task as a message.

mod advertise;
mod application;
mod engine;
mod journal;
mod session;
mod state;

use crate::scenario::Scenario;
use crate::simulation::Simulation;
use std::future::Future;
use std::path::PathBuf;
use tokio::sync::mpsc;

/// What is served, where, and what is written down.
pub struct AirOptions {
    /// Adapter such as `hci0`; the system's default if not given.
    pub adapter: Option<String>,
    /// File for a line of JSON per attribute value sent; added to if it exists.
    pub log: Option<PathBuf>,
    /// File in which events, history and boot id survive, also a kill.
    pub state: Option<PathBuf>,
    /// The site.
    pub scenario: Scenario,
    /// Seed of the simulation.
    pub seed: u64,
    /// Told in words what happens: advertising, connections, what does not work.
    pub tell: Box<dyn Fn(&str) + Send>,
}

/// Why serving over the air failed.
#[derive(Debug, thiserror::Error)]
pub enum AirError {
    /// BlueZ refused something.
    #[error("{doing}: {source}. Is bluetoothd running, is an adapter present, and may this user use it?")]
    Bluetooth {
        /// What was being done.
        doing: &'static str,
        /// BlueZ's answer.
        source: bluer::Error,
    },
    /// The log or the state file.
    #[error("{doing} {}: {source}", path.display())]
    File {
        /// What was being done.
        doing: &'static str,
        /// Which file.
        path: PathBuf,
        /// Why it failed.
        source: std::io::Error,
    },
    /// The state file does not hold what it should.
    #[error("the state file {} is damaged ({what}); move it away to start with an empty memory", path.display())]
    State {
        /// Which file.
        path: PathBuf,
        /// What is wrong with it.
        what: String,
    },
}

fn bluetooth(doing: &'static str) -> impl Fn(bluer::Error) -> AirError {
    move |source| AirError::Bluetooth { doing, source }
}

/// Serves the scenario until `shutdown` is done.
///
/// # Errors
/// [`AirError`] when BlueZ, the log or the state file fails.
pub async fn serve(options: AirOptions, shutdown: impl Future<Output = ()>) -> Result<(), AirError> {
    // The radio has connection events and losses of its own.
    let mut scenario = options.scenario;
    scenario.transport.interval_ms = 0.0;
    scenario.transport.mtu = 517;
    let mut simulation = Simulation::new(&scenario, options.seed);
    let state = state::StateFile::open(options.state, &mut simulation)?;
    let journal = journal::Journal::open(options.log)?;
    journal.boot(simulation.unit().boot_id())?;

    let session = bluer::Session::new()
        .await
        .map_err(bluetooth("connecting to BlueZ"))?;
    let adapter = match &options.adapter {
        Some(name) => session.adapter(name),
        None => session.default_adapter().await,
    }
    .map_err(bluetooth("opening the Bluetooth adapter"))?;
    adapter
        .set_powered(true)
        .await
        .map_err(bluetooth("switching the Bluetooth adapter on"))?;
    // Without an agent that says yes, pairing with the unit fails (BlueZ asks the default agent).
    let _agent = session
        .register_agent(application::agent())
        .await
        .map_err(bluetooth("registering the pairing agent"))?;

    let (sender, receiver) = mpsc::channel(64);
    let _application = adapter
        .serve_gatt_application(application::application(&sender))
        .await
        .map_err(bluetooth("registering the GATT application"))?;
    let advertiser =
        advertise::Advertiser::start(&adapter, &simulation.advertisement(), &options.tell).await?;
    (options.tell)(&format!(
        "{} ({}) is on the air at {}",
        scenario.unit.short_name,
        scenario.title,
        adapter.name()
    ));
    let engine = engine::Engine::new(
        simulation,
        adapter,
        advertiser,
        journal,
        state,
        sender,
        options.tell,
    );
    engine.run(receiver, shutdown).await
}
