//! Aiming the donor antenna: which bearing to choose, how sure that is, where to turn next.
//!
//! Real levels wander slowly, so a long dwell is hardly better than a short one (facts G.3). The procedure therefore
//! dwells for seconds, comes back to contenders, and keeps the exact posterior of every cell's long-term level at
//! every stop under the known wander, the beam's shape and the multipath that each bearing adds ([`posterior`]). It
//! ends when the probability that the chosen stop is within 1 dB of the best reaches the target ([`Procedure`]).
//!
//! Pure and free of clocks: time comes with the readings, random numbers come from a fixed seed, so a replay gives the
//! same result.

mod belief;
mod dwell;
mod linear;
mod model;
mod normals;
mod objective;
mod outcome;
mod peak;
mod plan;
pub mod posterior;
mod procedure;
mod running;
mod safety;
mod session;
mod step;
mod unseen;
mod visit;

pub use belief::{Belief, CellKey, GOOD_WITHIN_DB, Judgement};
pub use dwell::Dwell;
pub use model::{Beam, Model};
pub use objective::{Chain, Objective};
pub use outcome::{Outcome, StopOutcome};
pub use peak::FittedPeak;
pub use plan::{PLAN_SETTING, Plan};
pub use procedure::{Advice, Effort, Procedure};
pub use running::Around;
pub use safety::{ASK, Keeper, Safety, refusal};
pub use session::{Prompt, Session};
pub use step::{FINISH_KEY, MOVING_KEY, REPEAT_KEY, SETTLED_KEY, Step, UNDO_KEY};
pub use visit::{Heard, Mean, Visit};

#[cfg(test)]
mod tests;
