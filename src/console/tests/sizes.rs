//! Any size draws; too small a terminal says what it needs.

use super::support::{Aiming, Session, drawn, row_text, sixteen};
use crate::console::{State, View};

#[test]
fn every_view_draws_at_every_size() {
    let sessions = [
        Session::scanning(),
        Session::troubled(),
        Session::aiming(Aiming::Holding),
        Session::aiming(Aiming::Done),
    ];
    let look = sixteen();
    for session in &sessions {
        for view in View::ALL {
            let aims = session.fold.aim().plan().is_some();
            if aims && *view != View::Aim {
                continue;
            }
            for help in [false, true] {
                let state = State {
                    help,
                    scroll: 3,
                    history: session.history.clone(),
                    ..State::new(*view)
                };
                for width in (0..=130).step_by(9).chain([1, 2, 59, 60, 61]) {
                    for height in (0..=45).step_by(4).chain([1, 2, 15, 16, 17]) {
                        drawn(session, &state, &look, (width, height));
                    }
                }
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
