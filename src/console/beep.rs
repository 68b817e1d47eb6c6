//! Beeps through the terminal's bell: the better, the faster. For eyes that are on the antenna.

use super::aiming::aimed_band;
use super::condition::is_current;
use super::update::shown_band;
use super::{Quantity, State, View};
use crate::aiming::Objective;
use crate::event::SessionTime;
use crate::fold::Fold;
use std::time::Duration;

/// Time between beeps at the worst end of the scale and at the best.
const SLOW_S: f64 = 2.0;
const FAST_S: f64 = 0.15;
/// Below the best level heard in an aim by this much it is as bad as it gets, dB.
const AIM_SPAN_DB: f64 = 20.0;

/// Time from one beep to the next; `None`: silence, because nobody wants it, the view has no one value, or the value
/// is old or not known.
pub(super) fn beep_every(state: &State, fold: &Fold, now: SessionTime) -> Option<Duration> {
    if !state.beep {
        return None;
    }
    let (position, quantity, scale) = match state.view {
        View::Far => (shown_band(state, fold)?, state.quantity, state.quantity.scale()),
        View::Aim => {
            let quantity = match fold.aim().plan()?.objective {
                Objective::Quality => Quantity::Sinr,
                Objective::Service | Objective::Level => Quantity::Rsrp,
            };
            let position = aimed_band(state, fold)?;
            let heard = fold.aim().visits().iter().flat_map(|v| &v.heard);
            let best = heard
                .filter(|h| h.band == position)
                .filter_map(|h| h.level)
                .map(|(_, level)| level)
                .fold(f64::NEG_INFINITY, f64::max);
            let scale = if best.is_finite() {
                (best - AIM_SPAN_DB, best)
            } else {
                quantity.scale()
            };
            (position, quantity, scale)
        }
        _ => return None,
    };
    let reading = fold.bands().get(position)?.latest?;
    let value = quantity
        .of(&reading)
        .filter(|_| is_current(fold, position, now))?;
    Some(interval(value, scale))
}

/// Each part of the scale makes beeps faster by the same factor.
fn interval(value: f64, (low, high): (f64, f64)) -> Duration {
    let share = ((value - low) / (high - low)).clamp(0.0, 1.0);
    Duration::from_secs_f64(SLOW_S * libm::pow(FAST_S / SLOW_S, share))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::console::tests::support::Session;

    #[test]
    fn better_is_faster_within_limits() {
        let at = |value| interval(value, (-110.0, -90.0)).as_secs_f64();
        assert!((at(-130.0) - SLOW_S).abs() < 1e-9 && (at(-80.0) - FAST_S).abs() < 1e-9);
        assert!(at(-100.0) < at(-105.0) && at(-95.0) < at(-100.0));
    }

    #[test]
    fn silent_unless_asked_for_and_while_values_are_old() {
        let mut session = Session::troubled();
        let mut state = State::new(View::Far);
        state.quantity = Quantity::Rsrp;
        let every = |state: &State, session: &Session| beep_every(state, &session.fold, session.about.now);
        assert_eq!(every(&state, &session), None);
        state.beep = true;
        assert!(every(&state, &session).is_some());
        state.view = View::Bands;
        assert_eq!(every(&state, &session), None);
        state.view = View::Far;
        session.pass(60_000);
        assert_eq!(every(&state, &session), None);
    }
}
