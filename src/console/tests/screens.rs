//! Snapshots of the screens, styles included.

use super::support::{Aiming, Session, band, drawn, dump, row_text, screen, sixteen, status};
use crate::analysis::Severity;
use crate::console::{
    Action, BINDINGS, ColorDepth, Command, Desk, Heard, Look, Outline, Play, Position, Quantity, RoofPage,
    SourceKind, Stage, State, ThemeName, View, update,
};
use crate::event::{LinkState, SessionTime};
use crate::link::command::Unit;
use crate::session::{RecorderState, RecorderStatus};
use crate::share::{Link, Permission};
use booster_profile::advertising::{Attention, ServiceData};
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
            crate::console::press(&mut state, &key, &s.fold, &s.about)
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

fn presses(session: &Session, state: &mut State, commands: &[Command]) -> Option<Action> {
    let mut last = None;
    for command in commands {
        last = update(state, *command, &session.fold, &session.about);
    }
    last
}

use Command as C;

#[test]
fn control_is_off_unless_allowed() {
    let s = Session::troubled();
    let mut state = State::default();
    assert_eq!(presses(&s, &mut state, &[C::Control, C::Enter, C::Confirm]), None);
    let text = dump(&drawn(&s, &state, &sixteen(), SMALL));
    assert!(text.contains("start again with --allow-control"), "{text}");
    snapshot!("control-off-80x24", text);
}

#[test]
fn control_says_what_it_does_before_it_asks() {
    let mut s = Session::troubled();
    s.about.allow_control = true;
    let mut state = State::default();
    presses(
        &s,
        &mut state,
        &[
            C::Control,
            C::Down,
            C::Down,
            C::Down,
            C::Right,
            C::Right,
            C::Right,
        ],
    );
    snapshot!("control-menu-80x24", dump(&drawn(&s, &state, &sixteen(), SMALL)));
    // Neither Enter twice nor anything but the one key asks the unit.
    assert_eq!(
        presses(
            &s,
            &mut state,
            &[C::Up, C::Up, C::Up, C::Enter, C::Enter, C::Enter]
        ),
        None
    );
    snapshot!(
        "control-confirm-80x24",
        dump(&drawn(&s, &state, &sixteen(), SMALL))
    );
    let text = dump(&drawn(&s, &state, &mono(), (60, 16)));
    assert!(text.is_ascii(), "{text}");
    snapshot!("control-confirm-mono-ascii-60x16", text);
    let ask = crate::control::Ask::AimSafeOn { restore_s: 600 };
    // The clock on the wall is ahead of the source's events.
    let events = s.about.now;
    s.pass(50);
    assert_eq!(presses(&s, &mut state, &[C::Confirm]), Some(Action::Ask(ask)));
    s.about.now = events;
    // The unit refuses.
    let characteristic = booster_profile::Characteristic::UnitControl;
    s.event(crate::event::EventKind::Written {
        characteristic,
        bytes: ask.bytes(),
    });
    s.pass(100);
    let text = dump(&drawn(&s, &state, &sixteen(), SMALL));
    assert!(text.contains("waiting for the unit's answer"), "{text}");
    s.value(characteristic, crate::event::Origin::Pushed, &[0x80, 1, 5]);
    snapshot!(
        "control-refused-80x24",
        dump(&drawn(&s, &state, &sixteen(), SMALL))
    );
    assert_eq!(presses(&s, &mut state, &[C::Back, C::Back]), None);
    assert_eq!(state.desk, None);
}

#[test]
fn nothing_is_asked_of_a_unit_that_is_not_there() {
    let mut s = Session::troubled();
    s.about.allow_control = true;
    let mut state = State::default();
    presses(&s, &mut state, &[C::Control, C::Enter]);
    s.link(LinkState::BackingOff, None);
    assert_eq!(presses(&s, &mut state, &[C::Confirm]), None);
    let text = dump(&drawn(&s, &state, &sixteen(), (80, 30)));
    assert!(text.contains("the link is backing-off"), "{text}");
}

#[test]
fn the_results_of_an_isolation_test_are_shown_where_it_was_asked_for() {
    let mut s = Session::troubled();
    s.about.allow_control = true;
    let ask = crate::control::Ask::IsolationTest { band: None };
    let mut state = State {
        desk: Some(Desk::at(Stage::Asked(ask, s.about.now))),
        ..State::default()
    };
    let characteristic = booster_profile::Characteristic::UnitControl;
    s.event(crate::event::EventKind::Written {
        characteristic,
        bytes: ask.bytes(),
    });
    s.value(characteristic, crate::event::Origin::Pushed, &[0x80, 3, 1]);
    s.pass(2_000);
    for (sequence, direction) in [(7, Direction::Downlink), (8, Direction::Uplink)] {
        s.unit_event(UnitEvent {
            sequence,
            boot_id: 1,
            time_ms: 19_000,
            code: EventCode::IsolationTested,
            band: Some(2),
            direction,
            value: Some(783),
        });
    }
    snapshot!(
        "control-isolation-80x24",
        dump(&drawn(&s, &state, &sixteen(), SMALL))
    );
    assert_eq!(presses(&s, &mut state, &[C::Right]), None);
}

fn in_range(s: &mut Session) {
    let unit = |id: &str, name: &str, rssi_dbm, attention, worst_state, loop_margin_db| Heard {
        unit: Unit {
            id: id.into(),
            name: Some(name.into()),
            rssi_dbm: Some(rssi_dbm),
            health: Some(ServiceData {
                major: 1,
                attention,
                worst_state,
                loop_margin_db,
            }),
        },
        at: s.about.now,
    };
    use booster_profile::DirectionState as D;
    s.about.units = vec![
        unit(
            "hci0/dev_00_AA_01_00_00_42",
            "LM-East",
            -48,
            Attention::None,
            D::Normal,
            Some(24),
        ),
        unit(
            "hci0/dev_00_AA_01_00_00_43",
            "LM-West",
            -81,
            Attention::Urgent,
            D::LatchedOff,
            None,
        ),
        unit(
            "hci0/dev_00_AA_01_00_00_44",
            "LM-West",
            -60,
            Attention::Wanted,
            D::Limited,
            Some(11),
        ),
    ];
    s.about.choosing = true;
}

#[test]
fn several_units_in_range_are_chosen_from_by_health() {
    let mut s = Session::scanning();
    in_range(&mut s);
    s.pass(2_000);
    s.about.units[0].at = SessionTime::ZERO;
    s.pass(20_000);
    s.about.units[1].at = s.about.now;
    let mut state = State::default();
    snapshot!("choice-80x24", dump(&drawn(&s, &state, &sixteen(), SMALL)));
    // The worst is the first.
    let first = presses(&s, &mut state, &[C::Enter]);
    assert_eq!(
        first,
        Some(Action::Choose(Some("hci0/dev_00_AA_01_00_00_43".into())))
    );
    let last = presses(&s, &mut state, &[C::Down, C::Down, C::Down, C::Enter]);
    assert_eq!(
        last,
        Some(Action::Choose(Some("hci0/dev_00_AA_01_00_00_42".into())))
    );
    // What was selected stays selected when another one is heard.
    s.about.units.remove(1);
    assert_eq!(presses(&s, &mut state, &[C::Enter]), last);
}

#[test]
fn a_recording_shows_where_it_stands() {
    let mut s = Session::troubled();
    let at = |s: u64| SessionTime(s * 1_000_000);
    s.about.kind = SourceKind::Recording;
    s.about.source = "visit.jsonl".to_owned();
    s.about.paused = true;
    s.about.position = Some(Position {
        outline: Some(std::sync::Arc::new(Outline {
            length: at(60),
            findings: vec![
                (at(3), Severity::Warning),
                (at(13), Severity::Critical),
                (at(47), Severity::Info),
            ],
        })),
        seeking: None,
    });
    snapshot!("recording-80x24", screen(&s, View::Findings, &sixteen(), SMALL));
    // Nothing can be asked of a recording.
    let mut state = State::default();
    assert_eq!(presses(&s, &mut state, &[C::Control, C::Enter]), None);
    assert_eq!(state.desk, None);
    assert_eq!(
        presses(&s, &mut state, &[C::NextFinding]),
        Some(Action::Play(Play::NextFinding))
    );
    s.about.position = Some(Position::default());
    let text = screen(&s, View::Findings, &mono(), SMALL);
    assert!(text.contains("looking through the recording"), "{text}");
}

#[test]
fn another_unit_is_asked_for_in_the_link_view_only() {
    let s = Session::troubled();
    let mut state = State::default();
    assert_eq!(presses(&s, &mut state, &[C::Units]), None);
    assert_eq!(
        presses(&s, &mut state, &[C::Show(View::Link), C::Units]),
        Some(Action::Choose(None))
    );
}

#[test]
fn keys_without_a_meaning_for_the_source_say_so() {
    let s = Session::troubled();
    let mut state = State::default();
    assert_eq!(presses(&s, &mut state, &[C::Seek(10)]), None);
    assert_eq!(
        state.notice.map(|(_, text)| text).as_deref(),
        Some("no forward-10 here: only in a recording")
    );
}

#[test]
fn every_state_that_keeps_a_person_waiting_has_its_screen() {
    let mut all = String::new();
    for &state in LinkState::ALL {
        if state == LinkState::Live {
            continue;
        }
        let mut s = Session::scanning();
        s.link(state, Some("what the system said"));
        s.pass(5_000);
        let text = screen(&s, View::Bands, &sixteen(), SMALL);
        let rows: Vec<&str> = text.lines().take(22).filter(|r| !r.is_empty()).collect();
        assert!(rows.iter().any(|r| r.contains("what the system said")), "{text}");
        all.push_str(&format!("== {state}\n{}\n", rows[2..].join("\n").trim_end()));
    }
    snapshot!("waiting-all", all);
}

#[test]
fn the_help_screen_and_the_help_line_name_keys_of_the_table() {
    let state = State {
        help: true,
        ..State::default()
    };
    let text = dump(&drawn(&Session::scanning(), &state, &sixteen(), (160, 80)));
    let line = text.lines().nth(79).unwrap();
    for binding in BINDINGS {
        let row = text.lines().find(|l| l.contains(binding.help)).unwrap();
        for key in binding.keys {
            assert!(row.contains(&key.label(false)), "{row}");
        }
        if binding.short.is_empty() {
            continue;
        }
    }
    for (key, short) in state.keys.help_line(View::Bands, SourceKind::Radio) {
        assert!(line.contains(&format!("{} {short}", key.label(false))), "{short}");
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

/// Shared, with a phone that looks.
fn shared() -> Session {
    let mut s = Session::troubled();
    s.about.roof = Some(RoofPage {
        link: Link {
            url: "http://192.168.4.1:4780/0123456789ABCDEFGHJKMNPQRS/".into(),
            fingerprint: None,
            permission: Permission::default(),
        },
        viewers: vec![([192, 168, 4, 7].into(), std::time::Duration::from_secs(75))],
    });
    s
}

fn roof_page(session: &Session, look: &Look) -> String {
    let state = State {
        roof: true,
        ..State::default()
    };
    dump(&drawn(session, &state, look, SMALL))
}

#[test]
fn the_roof_page_as_a_code_and_in_letters() {
    snapshot!("roof-80x24", roof_page(&shared(), &sixteen()));
    let unshared = roof_page(&Session::troubled(), &sixteen());
    assert!(unshared.contains("Start with --share"), "{unshared}");
}

#[test]
fn where_a_code_has_no_room_the_link_has() {
    let text = roof_page(&shared(), &mono());
    assert!(
        text.is_ascii() && text.contains("0123456789ABCDEFGHJKMNPQRS"),
        "{text}"
    );
}

#[test]
fn who_looks_stands_in_link() {
    let text = screen(&shared(), View::Link, &sixteen(), LARGE);
    assert!(
        text.contains("192.168.4.7") && !text.contains("0123456789ABCDEFGHJKMNPQRS"),
        "{text}"
    );
}
