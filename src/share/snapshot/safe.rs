//! Aim-safe on the page: what the unit reports, what it would do, what became of asking for it.

use super::About;
/// The only thing that a page may ask of a unit: it lowers what the unit sends, and ends by itself.
pub use crate::aiming::ASK as AIM_SAFE;
use crate::control::{Standing, reply};
use crate::event::{LinkState, SessionTime};
use crate::fold::Fold;
use crate::link::words::System;
use booster_profile::OperatingState;
use serde::Serialize;
use std::time::Duration;

/// How long the answer of the unit stands.
const SAID: Duration = Duration::from_secs(20);

/// Aim-safe.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct AimSafe {
    /// `on`, `off`, or `unknown` where the unit has not said.
    pub state: &'static str,
    /// Seconds until it ends by itself.
    pub left_s: Option<u16>,
    /// What to tell a person before asking for it; empty where a page may not.
    pub confirm: Vec<String>,
    /// What became of asking for it, for a while.
    pub said: Option<String>,
}

impl AimSafe {
    pub(super) fn of(fold: &Fold, about: &About) -> Self {
        let (state, left_s) = reported(fold, about.now);
        let confirm = if about.permission.aim_safe && state != "on" {
            let told = AIM_SAFE.confirmation(fold.telemetry().identity());
            let ways = [
                format!("Downlink: {}.", told.downlink),
                format!("Uplink: {}.", told.uplink),
            ];
            ways.into_iter()
                .chain(told.cautions.iter().map(|c| (*c).to_owned()))
                .collect()
        } else {
            Vec::new()
        };
        Self {
            state,
            left_s,
            confirm,
            said: about
                .aim_safe_asked
                .and_then(|asked| said(fold, asked, about.now)),
        }
    }
}

fn reported(fold: &Fold, now: SessionTime) -> (&'static str, Option<u16>) {
    let live = fold.link().state == LinkState::Live;
    match fold.unit().filter(|_| live) {
        None => ("unknown", None),
        Some((_, unit)) if unit.state != OperatingState::AimSafe => ("off", None),
        Some((at, unit)) => {
            // The unit reports now and then; in between the time goes on.
            let since = u16::try_from((now - *at).as_secs()).unwrap_or(u16::MAX);
            ("on", unit.aim_safe_left_s.map(|left| left.saturating_sub(since)))
        }
    }
}

fn said(fold: &Fold, asked: SessionTime, now: SessionTime) -> Option<String> {
    if now - asked > SAID {
        return None;
    }
    let outcome = match fold.control().standing(AIM_SAFE, asked, now) {
        Standing::Asking | Standing::Written => return Some("Asked the unit; no answer yet.".to_owned()),
        Standing::Over(outcome) => Some(outcome),
        Standing::NoAnswer => None,
    };
    let reply = reply(AIM_SAFE, outcome, System::current());
    Some(format!("{} {}", reply.meaning, reply.next_step).trim().to_owned())
}
