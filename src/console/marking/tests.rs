use super::*;
use proptest::prelude::*;

fn press(marking: &mut Marking, code: KeyCode) -> Option<Entered> {
    marking.key(&KeyEvent::new(code, KeyModifiers::NONE))
}

fn type_text(marking: &mut Marking, text: &str) {
    for c in text.chars() {
        press(marking, KeyCode::Char(c));
    }
}

fn opened() -> Marking {
    let mut marking = Marking::default();
    marking.open();
    marking
}

#[test]
fn enter_at_once_is_a_bare_mark() {
    let mut marking = opened();
    assert_eq!(
        press(&mut marking, KeyCode::Enter),
        Some(Entered::Saved(Mark::default()))
    );
    assert!(!marking.is_open());
}

/// Presses keys and saves.
fn saved(marking: &mut Marking, keys: &[KeyCode]) -> Mark {
    for code in keys {
        assert_eq!(press(marking, *code), Some(Entered::Stays));
    }
    match press(marking, KeyCode::Enter) {
        Some(Entered::Saved(mark)) => mark,
        other => panic!("{other:?}"),
    }
}

#[test]
fn a_room_with_arrows_and_enter_alone() {
    use KeyCode::{Down, Left, Right, Up};
    let keys = [
        Right, Down, Right, Left, Down, Right, Down, Right, Down, Left, Up, Up, Up, Up, Up, Right, Right,
    ];
    assert_eq!(
        saved(&mut opened(), &keys).to_string(),
        "room room 1, after the work, level -101 dBm, quality 5 dB, call succeeded, upload failed"
    );
}

#[test]
fn the_next_entry_keeps_stage_and_room_and_nothing_else() {
    let mut marking = opened();
    type_text(&mut marking, "archive q");
    press(&mut marking, KeyCode::Up);
    press(&mut marking, KeyCode::Right);
    // From the stage two down is the level.
    press(&mut marking, KeyCode::Down);
    press(&mut marking, KeyCode::Down);
    type_text(&mut marking, "-97.5");
    press(&mut marking, KeyCode::Enter);
    marking.open();
    assert_eq!(marking.text(Field::Room).as_deref(), Some("archive q"));
    assert_eq!(marking.text(Field::Stage).as_deref(), Some("before"));
    for field in [
        Field::Level,
        Field::Quality,
        Field::Call,
        Field::Upload,
        Field::Note,
    ] {
        assert_eq!(marking.text(field), None);
    }
    // The next room without typing, and back to the one before.
    press(&mut marking, KeyCode::Right);
    assert_eq!(marking.text(Field::Room).as_deref(), Some("room 2"));
    press(&mut marking, KeyCode::Right);
    assert_eq!(marking.text(Field::Room).as_deref(), Some("archive q"));
}

#[test]
fn a_note_alone_is_no_entry_of_the_walk_list() {
    let mut marking = opened();
    press(&mut marking, KeyCode::Up);
    press(&mut marking, KeyCode::Right);
    press(&mut marking, KeyCode::Up);
    type_text(&mut marking, " connector remade ");
    assert_eq!(
        saved(&mut marking, &[]),
        Mark {
            note: Some("connector remade".to_owned()),
            ..Mark::default()
        }
    );
}

#[test]
fn keys_with_control_pass_and_escape_leaves_everything_as_it_was() {
    let mut marking = opened();
    let interrupt = KeyEvent::new(KeyCode::Char('c'), KeyModifiers::CONTROL);
    assert_eq!(marking.key(&interrupt), None);
    type_text(&mut marking, "hall");
    assert_eq!(press(&mut marking, KeyCode::Esc), Some(Entered::Left));
    assert_eq!(press(&mut marking, KeyCode::Char('q')), None);
    marking.open();
    assert_eq!(marking.text(Field::Room).as_deref(), Some("hall"));
}

#[test]
fn what_is_no_number_is_not_known() {
    let mut marking = opened();
    press(&mut marking, KeyCode::Down);
    type_text(&mut marking, "x-9.-");
    assert_eq!(marking.text(Field::Level).as_deref(), Some("-9.- dBm"));
    assert_eq!(saved(&mut marking, &[]).level_dbm, None);
}

fn any_key() -> impl Strategy<Value = KeyCode> {
    use KeyCode::*;
    prop_oneof![
        any::<char>().prop_map(Char),
        prop::sample::select(vec![
            Up,
            Down,
            Left,
            Right,
            Tab,
            BackTab,
            Backspace,
            Delete,
            Home,
            F(1)
        ]),
    ]
}

proptest! {
    #[test]
    fn any_keys_make_a_mark_that_can_be_recorded(keys in prop::collection::vec(any_key(), 0..300)) {
        let mut marking = opened();
        for code in keys {
            prop_assert_eq!(press(&mut marking, code), Some(Entered::Stays));
        }
        let Some(Entered::Saved(mark)) = press(&mut marking, KeyCode::Enter) else {
            return Err(TestCaseError::fail("not saved"));
        };
        prop_assert!(mark.to_string().chars().count() < 3 * LONGEST);
        prop_assert!(mark.level_dbm.is_none_or(f64::is_finite));
    }
}
