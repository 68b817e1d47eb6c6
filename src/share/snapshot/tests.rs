use super::*;
use crate::console::tests::support::Session;

fn picture(session: &Session) -> Snapshot {
    let about = About {
        now: session.about.now,
        ..About::default()
    };
    Snapshot::of(&session.fold, &about)
}

#[test]
fn before_the_first_reading_there_is_a_state_but_no_value() {
    let snapshot = picture(&Session::scanning());
    assert_eq!(snapshot.data.state, "none");
    assert!(snapshot.bands.is_empty() && snapshot.finding.is_none() && snapshot.alarm.is_none());
    assert_eq!(snapshot.aim_safe.state, "unknown");
    assert!(!snapshot.may_step && snapshot.aim_safe.confirm.is_empty());
}

#[test]
fn the_page_shows_what_the_console_shows() {
    let session = Session::troubled();
    let snapshot = picture(&session);
    let worst = session.fold.findings().first().unwrap();
    let finding = snapshot.finding.clone().unwrap();
    assert_eq!(finding.title, worst.code.name().replace('-', " "));
    assert_eq!(finding.action.as_ref(), worst.remedies.first().map(|r| &r.action));
    assert_eq!(finding.others, session.fold.findings().len() - 1);
    assert_eq!(snapshot.bands.len(), session.fold.bands().len());
    assert!(snapshot.alarm.is_some());
    for band in &snapshot.bands {
        assert_eq!(band.values.len(), 4);
    }
    insta::assert_snapshot!(serde_json::to_string_pretty(&snapshot.bands[0]).unwrap());
}

#[test]
fn values_that_are_old_are_not_current_and_sound_no_alarm() {
    let mut session = Session::troubled();
    session.about.now = session.about.now + std::time::Duration::from_secs(20);
    let snapshot = picture(&session);
    assert!(snapshot.bands.iter().all(|b| !b.current && b.age_s > 19.0));
    assert_eq!(snapshot.data.state, "bad");
}
