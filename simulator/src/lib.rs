//! A simulated cellular signal booster in a simulated radio world, serving the Booster Telemetry Profile.
//!
//! Three layers, each a pure, seeded step function of simulated time: [`world`] → [`booster`] → [`gatt`], and the way
//! to the console ([`transport`]). [`Simulation`] puts them together in process; the feature `air` serves the same
//! server over a real Bluetooth adapter. The same seed and scenario give the same bytes.

#[cfg(all(feature = "air", target_os = "linux"))]
pub mod air;
pub mod booster;
mod explain;
pub mod gatt;
pub mod generate;
pub mod rng;
pub mod scenario;
mod simulation;
pub mod transport;
pub mod world;

pub use explain::explain;
pub use gatt::{AttError, LinkParameters, PushedBytes};
pub use scenario::{Action, Scenario, ScenarioError, Way};
pub use simulation::{Advertisement, Sent, Simulation, TICK_US, What};
