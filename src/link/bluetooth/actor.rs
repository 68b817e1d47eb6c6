//! The one task that uses the adapter: it carries out one command at a time and abandons it for a newer one.

use super::queue::Item;
use super::radio::Radio;
use super::receive::Clock;
use crate::link::command::{Answer, Command, Observation, Ticket};
use std::future::pending;
use std::time::Duration;
use tokio::sync::mpsc;
use tokio::time::{sleep, timeout};

/// How often to look for units while scanning, should no event tell.
const LOOK_EVERY: Duration = Duration::from_secs(1);
/// Shortest time between two looks: in a crowded place advertisements arrive by the hundred.
const LOOK_PAUSE: Duration = Duration::from_millis(250);
/// How long to try to leave the adapter as it was found when the link is dropped without having been shut down.
const LEAVE_LIMIT: Duration = Duration::from_secs(3);

/// Runs until the other end of `commands` is dropped.
pub(super) async fn run(
    mut radio: Radio,
    clock: Clock,
    mut commands: mpsc::UnboundedReceiver<(Ticket, Command)>,
) {
    let mut current = None;
    loop {
        tokio::select! {
            biased;
            newer = commands.recv() => match newer {
                Some(newer) => current = Some(newer),
                None => break,
            },
            answered = work(&mut radio, &clock, current.clone()) => {
                if let Some((ticket, answer)) = answered {
                    clock.push(Item::Seen(Observation::Answer(ticket, answer)));
                }
                current = None;
            }
        }
    }
    // The process may be about to end; nobody can be told if this fails.
    let _ = timeout(LEAVE_LIMIT, leave(&mut radio)).await;
}

async fn work(
    radio: &mut Radio,
    clock: &Clock,
    current: Option<(Ticket, Command)>,
) -> Option<(Ticket, Answer)> {
    match current {
        Some((ticket, command)) => Some((ticket, radio.carry_out(command).await)),
        None if radio.is_scanning() => {
            let advertised = radio.advertised();
            // Either way it is time to look.
            let _ = timeout(LOOK_EVERY, advertised.notified()).await;
            // A look that fails is repeated; the reducer restarts the scan and learns what is wrong.
            for unit in radio.look().await.unwrap_or_default() {
                clock.push(Item::Seen(Observation::UnitSeen(unit)));
            }
            sleep(LOOK_PAUSE).await;
            None
        }
        None => pending().await,
    }
}

async fn leave(radio: &mut Radio) {
    if radio.is_scanning() {
        radio.carry_out(Command::StopScan).await;
    }
    radio.carry_out(Command::Disconnect).await;
}
