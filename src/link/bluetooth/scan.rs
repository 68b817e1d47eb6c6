//! One look round: which units are in range, with the health they advertise.

use super::queue::Queue;
use super::radio::Radio;
use super::receive::Clock;
use crate::event::LinkState;
use crate::link::command::{Answer, Command, Unit};
use crate::link::policy::{self, Decision, History};
use crate::link::reducer::CALL_LIMIT;
use crate::link::words::{System, explain};
use std::collections::BTreeMap;
use std::sync::Arc;
use std::time::{Duration, Instant};
use tokio::time::{sleep, timeout};

/// Why no unit can be looked for.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("cannot scan: {words}. {next_step}")]
pub struct Unavailable {
    /// The state that waits for a person, or [`LinkState::BackingOff`] for trouble that may pass.
    pub state: LinkState,
    /// What went wrong.
    pub words: String,
    /// What to do.
    pub next_step: &'static str,
}

/// Looks round for a time and returns every unit in range, by identifier.
///
/// # Errors
/// [`Unavailable`], with the state that says what is missing.
pub async fn scan(duration: Duration) -> Result<Vec<Unit>, Unavailable> {
    let ends = Instant::now() + duration;
    let clock = Clock {
        queue: Arc::new(Queue::new(1)),
        started_at: Instant::now(),
    };
    let mut radio = Radio::new(clock).hearing_all();
    carry_out(&mut radio, Command::Open { rebuild: false }).await?;
    let mut units = BTreeMap::new();
    let mut scanned = carry_out(&mut radio, Command::StartScan).await;
    while scanned.is_ok() && Instant::now() < ends {
        let left = ends.saturating_duration_since(Instant::now());
        sleep(left.min(Duration::from_millis(500))).await;
        match timeout(CALL_LIMIT, radio.look()).await {
            Ok(Ok(seen)) => units.extend(seen.into_iter().map(|u| (u.id.clone(), u))),
            // Opening again tells what is wrong.
            _ => scanned = carry_out(&mut radio, Command::Open { rebuild: false }).await,
        }
    }
    let stopped = carry_out(&mut radio, Command::StopScan).await;
    scanned.and(stopped).map(|()| units.into_values().collect())
}

pub(super) async fn carry_out(radio: &mut Radio, command: Command) -> Result<(), Unavailable> {
    let words = match timeout(CALL_LIMIT, radio.carry_out(command.clone())).await {
        Ok(Answer::Failed(failure)) => failure,
        Ok(_) => return Ok(()),
        Err(_) => crate::link::command::Failure {
            cause: policy::Cause::TimedOut,
            words: format!("{} was not answered", crate::link::reducer::describe(&command)),
        },
    };
    let state = match policy::decide(History::default(), words.cause) {
        Decision::WaitForPerson { state, .. } => state,
        Decision::Retry { .. } | Decision::AskPerson { .. } => LinkState::BackingOff,
    };
    Err(Unavailable {
        state,
        words: words.words,
        next_step: explain(state, System::current()).next_step,
    })
}
