//! Snapshots of the screens, styles included.

use super::support::{Aiming, Session, band, drawn, dump, row_text, screen, sixteen, status};
use crate::console::{BINDINGS, ColorDepth, Look, Quantity, State, ThemeName, View};
use crate::event::LinkState;
use crate::session::{RecorderState, RecorderStatus};
use booster_profile::{Direction, EventCode, Fields, OperatingState, UnitEvent};
use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use ratatui::style::Modifier;

macro_rules! snapshot {
    ($name:expr, $screen:expr) => {
        insta::with_settings!({ snapshot_path => "../snapshots", prepend_module_to_snapshot => false, omit_expression => true }, {
            insta::assert_snapshot!($name, $screen);
        });
    };
}

const SMALL: (u16, u16) = (80, 24);
const MIDDLE: (u16, u16) = (120, 40);
const LARGE: (u16, u16) = (200, 60);

fn mono() -> Look {
    Look::new(ThemeName::Dark, ColorDepth::None, true)
}

/// Troubled, with a past finding, lost readings, events and something malformed.
fn eventful() -> Session {
    let mut s = Session::troubled();
    s.lose(7);
    s.unit_event(UnitEvent {
        sequence: 12,
        boot_id: 1,
        time_ms: 17_000,
        code: EventCode::LatchedOff,
        band: Some(3),
        direction: Direction::Uplink,
        value: Some(5),
    });
    s.value(
        booster_profile::Characteristic::UnitStatus,
        crate::event::Origin::Pushed,
        &[1, 2, 3],
    );
    s.readings(15_000, |position, t| {
        if position == 2 {
            t.extra.fields = Fields::GAIN_SET;
            t.extra.dl_isolation = None;
            t.extra.ul_isolation = None;
        }
    });
    s
}

#[test]
fn bands() {
    let s = Session::troubled();
    snapshot!("bands-80x24", screen(&s, View::Bands, &sixteen(), SMALL));
    snapshot!("bands-120x40", screen(&s, View::Bands, &sixteen(), MIDDLE));
    snapshot!("bands-200x60", screen(&s, View::Bands, &sixteen(), LARGE));
}

#[test]
fn bands_without_colour_in_ascii() {
    let text = screen(&Session::troubled(), View::Bands, &mono(), SMALL);
    assert!(text.is_ascii());
    snapshot!("bands-mono-ascii-80x24", text);
}

#[test]
fn bands_when_all_is_well() {
    let mut s = Session::live(&[band(0, 2, 20_000), band(1, 12, 10_000)]);
    s.readings(6_000, |_, _| {});
    snapshot!("bands-healthy-80x24", screen(&s, View::Bands, &sixteen(), SMALL));
}

#[test]
fn bands_whose_values_are_old() {
    let mut s = Session::troubled();
    s.pass(1_500);
    s.deadline();
    s.link(LinkState::Stalled, None);
    s.pass(20_000);
    snapshot!("bands-stale-80x24", screen(&s, View::Bands, &sixteen(), SMALL));
}

#[test]
fn bands_while_hands_are_on_the_antenna() {
    let mut s = Session::live(&[band(0, 2, 20_000)]);
    s.readings(1_000, |_, _| {});
    let mut unit = status();
    unit.state = OperatingState::AimSafe;
    unit.aim_safe_left_s = Some(540);
    s.value(
        booster_profile::Characteristic::UnitStatus,
        crate::event::Origin::Pushed,
        &unit.encode(244),
    );
    let text = screen(&s, View::Bands, &sixteen(), SMALL);
    assert!(text.contains("uplink off, gain held down, 540 s left"), "{text}");
}

#[test]
fn waiting_for_a_person() {
    let mut s = Session::scanning();
    s.link(LinkState::AdapterOff, None);
    s.pass(65_000);
    snapshot!("waiting-80x24", screen(&s, View::Bands, &sixteen(), SMALL));
}

#[test]
fn findings() {
    let s = eventful();
    snapshot!("findings-80x24", screen(&s, View::Findings, &sixteen(), SMALL));
    snapshot!("findings-120x40", screen(&s, View::Findings, &sixteen(), MIDDLE));
    let text = screen(&s, View::Findings, &mono(), SMALL);
    assert!(text.is_ascii());
    snapshot!("findings-mono-ascii-80x24", text);
}

#[test]
fn link() {
    let s = eventful();
    snapshot!("link-80x24", screen(&s, View::Link, &sixteen(), SMALL));
    snapshot!("link-120x40", screen(&s, View::Link, &sixteen(), MIDDLE));
}

#[test]
fn far() {
    let s = Session::troubled();
    let state = State {
        band: Some(2),
        ..State::new(View::Far)
    };
    snapshot!("far-80x24", dump(&drawn(&s, &state, &sixteen(), SMALL)));
    let state = State {
        quantity: Quantity::Input,
        ..state
    };
    let buffer = drawn(&s, &state, &mono(), MIDDLE);
    snapshot!("far-mono-ascii-120x40", dump(&buffer));
}

#[test]
fn trace() {
    let s = eventful();
    let state = State {
        band: Some(2),
        history: s.history.clone(),
        ..State::new(View::Trace)
    };
    snapshot!("trace-80x24", dump(&drawn(&s, &state, &sixteen(), SMALL)));
    let state = State {
        band: Some(1),
        quantity: Quantity::Input,
        ..state
    };
    snapshot!(
        "trace-mono-ascii-120x40",
        dump(&drawn(&s, &state, &mono(), MIDDLE))
    );
}

/// The values of every view go on above the entry line.
#[test]
fn a_mark_is_entered_under_the_values() {
    let s = Session::troubled();
    for (name, look) in [("mark-80x24", sixteen()), ("mark-mono-ascii-80x24", mono())] {
        let mut state = State::new(View::Bands);
        let mut press = |code| {
            let key = KeyEvent::new(code, KeyModifiers::NONE);
            crate::console::press(&mut state, &key, &s.fold, s.about.now)
        };
        let keys = [
            KeyCode::Up,
            KeyCode::Right,
            KeyCode::Down,
            KeyCode::Right,
            KeyCode::Down,
        ];
        for code in [KeyCode::Char('m')].into_iter().chain(keys) {
            assert_eq!(press(code), None);
        }
        "-97"
            .chars()
            .for_each(|c| assert_eq!(press(KeyCode::Char(c)), None));
        let text = dump(&drawn(&s, &state, &look, SMALL));
        assert!(text.contains("B66"), "{text}");
        snapshot!(name, text);
    }
}

#[test]
fn aim() {
    let turning = Session::aiming(Aiming::Turning);
    let view = |s: &Session, look: &Look, size| screen(s, View::Aim, look, size);
    snapshot!("aim-turn-80x24", view(&turning, &sixteen(), SMALL));
    snapshot!("aim-turn-120x40", view(&turning, &sixteen(), MIDDLE));
    snapshot!("aim-turn-200x60", view(&turning, &sixteen(), LARGE));
    let text = view(&turning, &mono(), SMALL);
    assert!(text.is_ascii(), "{text}");
    snapshot!("aim-turn-mono-ascii-80x24", text);
    let holding = Session::aiming(Aiming::Holding);
    snapshot!("aim-hold-80x24", view(&holding, &sixteen(), SMALL));
    let done = Session::aiming(Aiming::Done);
    snapshot!("aim-done-80x24", view(&done, &sixteen(), SMALL));
    snapshot!("aim-none-80x24", view(&Session::troubled(), &sixteen(), SMALL));
}

#[test]
fn whether_the_unit_is_held_down_is_always_on_the_aim_screen() {
    for at in [Aiming::Turning, Aiming::Holding, Aiming::Done] {
        let mut s = Session::aiming(at);
        for (safe, words) in [(true, "aim-safe on:"), (false, "aim-safe OFF:")] {
            s.aim_safe(safe);
            for size in [(60, 16), SMALL, MIDDLE, LARGE] {
                let text = screen(&s, View::Aim, &mono(), size);
                assert!(text.contains(words), "{size:?} {text}");
            }
        }
        s.link(LinkState::BackingOff, None);
        assert!(screen(&s, View::Aim, &mono(), (60, 16)).contains("can't see it"));
    }
}

#[test]
fn help() {
    let state = State {
        help: true,
        ..State::default()
    };
    let buffer = drawn(&Session::scanning(), &state, &sixteen(), SMALL);
    snapshot!("help-80x24", dump(&buffer));
}

#[test]
fn the_help_screen_and_the_help_line_name_keys_of_the_table() {
    let state = State {
        help: true,
        ..State::default()
    };
    let text = dump(&drawn(&Session::scanning(), &state, &sixteen(), (80, 40)));
    let line = text.lines().nth(39).unwrap();
    for binding in BINDINGS {
        let row = text.lines().find(|l| l.contains(binding.help)).unwrap();
        for key in binding.keys {
            assert!(row.contains(&key.label(false)), "{row}");
        }
        if binding.short.is_empty() {
            continue;
        }
        let in_line = format!("{} {}", binding.keys[0].label(false), binding.short);
        assert!(
            line.contains(&in_line) == binding.in_help_line(View::Bands),
            "{in_line}"
        );
    }
}

#[test]
fn a_recording_that_stopped_is_said_in_every_view() {
    let mut s = Session::troubled();
    s.about.recorder = Some(RecorderStatus {
        path: "roof.lmgn".into(),
        bytes: 1_200_000,
        state: RecorderState::NotRecording {
            reason: "the disk is full; free some space and start again".to_owned(),
        },
        not_recorded: 17,
    });
    for view in View::ALL {
        let text = screen(&s, *view, &sixteen(), SMALL);
        assert!(text.contains("✗ recording stopped"), "{text}");
        assert!(text.contains("the disk is full"), "{text}");
    }
}

#[test]
fn nothing_old_looks_current() {
    let mut s = Session::troubled();
    s.pass(60_000);
    let look = sixteen();
    let buffer = drawn(&s, &State::default(), &look, SMALL);
    for y in 0..SMALL.1 {
        // Every row with an input level, in the colour of its level.
        if row_text(&buffer, y).contains("dBm") || !row_text(&buffer, y).contains("▕") {
            continue;
        }
        assert!(
            (9..18).all(|x| buffer[(x, y)].modifier.contains(Modifier::DIM)),
            "row {y}"
        );
        assert!(row_text(&buffer, y + 1).contains("1 min 00 s old"), "row {y}");
    }
}
