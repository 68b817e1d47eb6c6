//! Any size draws; too small a terminal says what it needs.

use super::support::{Aiming, Session, drawn, row_text, sixteen};
use crate::console::{Desk, Stage, State, View};

/// Sizes from nothing to 130 × 45, those around the least one in full.
fn every_size(session: &Session, state: &State) {
    let look = sixteen();
    for width in (0..=130).step_by(9).chain([1, 2, 59, 60, 61, 129, 130]) {
        for height in (0..=45).step_by(4).chain([1, 2, 15, 16, 17, 45]) {
            drawn(session, state, &look, (width, height));
        }
    }
}

#[test]
fn every_view_draws_at_every_size() {
    let sessions = [
        Session::scanning(),
        Session::troubled(),
        Session::aiming(Aiming::Holding),
        Session::aiming(Aiming::Done),
    ];
    let ask = crate::control::Ask::AimSafeOn { restore_s: 600 };
    for session in &sessions {
        for stage in [Stage::Menu, Stage::Confirm, Stage::Asked(ask, session.about.now)] {
            let state = State {
                desk: Some(Desk::at(stage)),
                ..State::default()
            };
            every_size(session, &state);
        }
        for view in View::ALL {
            let aims = session.fold.aim().plan().is_some();
            if aims && *view != View::Aim {
                continue;
            }
            for (help, roof) in [(false, false), (true, false), (false, true)] {
                let state = State {
                    help,
                    roof,
                    scroll: 3,
                    history: session.history.clone(),
                    ..State::new(*view)
                };
                every_size(session, &state);
            }
        }
    }
}

#[test]
fn too_small_a_terminal_says_what_it_needs() {
    let buffer = drawn(&Session::troubled(), &State::default(), &sixteen(), (40, 10));
    let text: String = (0..10)
        .map(|y| row_text(&buffer, y).trim_end().to_owned() + " ")
        .collect();
    assert!(
        text.contains("needs 60 columns and 16 rows; this terminal has 40 and 10"),
        "{text}"
    );
}
