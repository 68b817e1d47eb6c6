//! The document as a whole: a golden one, and what no note may do to it.

use super::*;
use crate::event::{Event, EventKind, LinkState, Mark, SessionTime, Stage};
use crate::link::Pull;
use crate::link::simulator::SimulatorLink;
use crate::session::{Clock, Encoder, Header};
use booster_simulator::{Scenario, Simulation};
use proptest::prelude::*;
use std::sync::LazyLock;

/// Seconds of the session under test.
const SECONDS: u64 = 100;

/// Events of a simulated site in virtual time: something is found, and clears; the link is lost for some seconds.
static EVENTS: LazyLock<Vec<Event>> = LazyLock::new(|| {
    let scenario = Scenario::named(Scenario::DEFAULT).unwrap();
    let mut link = SimulatorLink::new(Simulation::new(&scenario, 1));
    let events = std::iter::from_fn(|| link.next_event());
    let lost = |at: SessionTime| (70.0..80.0).contains(&at.seconds());
    events
        .take_while(|e| e.at < SessionTime::from_millis(1_000 * SECONDS))
        .filter(|e| !lost(e.at))
        .collect()
});

fn header(site: &str) -> Header {
    let mut header = Header::new("sim", "2026-03-01T08:00:00Z".parse().unwrap(), Clock::Simulated);
    header.software = Some("loopmargin test".to_owned());
    header.site = Some(site.to_owned());
    header
}

/// A walk with a note, and a mark of the antenna.
fn marks(room: &str, note: &str) -> Vec<Event> {
    let mark = |s: u64, mark| Event {
        at: SessionTime::from_millis(1_000 * s),
        kind: EventKind::Mark(Box::new(mark)),
    };
    let walk = |stage, level_dbm, call_ok| Mark {
        room: Some(room.to_owned()),
        stage: Some(stage),
        level_dbm: Some(level_dbm),
        quality_db: Some(4.0),
        call_ok: Some(call_ok),
        ..Mark::default()
    };
    vec![
        mark(5, walk(Stage::Before, -118.0, false)),
        mark(
            20,
            Mark {
                bearing_deg: Some(135.0),
                spot: Some(note.to_owned()),
                ..Mark::default()
            },
        ),
        mark(
            50,
            Mark {
                note: Some(note.to_owned()),
                ..Mark::default()
            },
        ),
        mark(90, walk(Stage::After, -92.5, true)),
    ]
}

/// A recording of the site with these words in it.
fn recording(site: &str, room: &str, note: &str) -> Vec<u8> {
    let mut events = EVENTS.clone();
    events.extend(marks(room, note));
    events.extend([70, 80].map(|s| Event {
        at: SessionTime::from_millis(1_000 * s),
        kind: EventKind::Link {
            state: if s == 70 {
                LinkState::BackingOff
            } else {
                LinkState::Live
            },
            detail: None,
        },
    }));
    events.sort_by_key(|e| e.at);
    let mut encoder = Encoder::new();
    encoder.header(&header(site)).unwrap();
    for event in &events {
        encoder.event(event).unwrap();
    }
    encoder
        .event(&Event {
            at: SessionTime::from_millis(1_000 * SECONDS),
            kind: EventKind::End,
        })
        .unwrap();
    encoder.close(0);
    encoder.pending().to_vec()
}

fn page(site: &str, room: &str, note: &str) -> String {
    let bytes = recording(site, room, note);
    render(&read(bytes.as_slice(), "visit.jsonl", None).unwrap(), None)
}

#[test]
fn the_document_has_not_changed() {
    let page = page("Weaver's Yard, loom hall", "archive", "connector remade");
    // A line for each element, so that a difference can be read; without the style, which is a file of its own.
    let (start, end) = (page.find("<style>").unwrap(), page.find("</style>").unwrap());
    let lines = format!("{}{}", &page[..start], &page[end..]).replace("><", ">\n<");
    // Of the curves their beginning: how they are drawn is tested where they are drawn.
    let short = |line: &str| match line.split_once(" d=\"") {
        Some((head, path)) if path.len() > 60 => {
            format!("{head} d=\"{}…", path.chars().take(40).collect::<String>())
        }
        _ => line.to_owned(),
    };
    let lines: Vec<String> = lines.lines().map(short).collect();
    let lines = lines.join("\n");
    insta::with_settings!({ prepend_module_to_snapshot => false, omit_expression => true }, {
        insta::assert_snapshot!("report", lines);
    });
}

#[test]
fn the_same_recording_gives_the_same_bytes_compressed_or_not() {
    let bytes = recording("a", "b", "c");
    let once = |bytes: &[u8]| render(&read(bytes, "visit.jsonl", None).unwrap(), None);
    assert_eq!(once(&bytes), once(&bytes));
    let packed = zstd::encode_all(bytes.as_slice(), 1).unwrap();
    // Only the digest of the file differs.
    let lines = |page: String| {
        page.replace("><", ">\n<")
            .lines()
            .map(str::to_owned)
            .collect::<Vec<_>>()
    };
    let (a, b) = (lines(once(&bytes)), lines(once(&packed)));
    assert_eq!(a.iter().zip(&b).filter(|(x, y)| x != y).count(), 1);
}

#[test]
fn two_visits_are_compared_and_the_same_one_has_not_changed() {
    let bytes = recording("a", "b", "c");
    let visit = || read(bytes.as_slice(), "visit.jsonl", None).unwrap();
    let page = render(&visit(), Some(&visit()));
    assert!(page.contains("Compared with the earlier visit"));
    assert!(page.contains("within uncertainty") && !page.contains("<strong>changed</strong>"));
}

#[test]
fn the_page_loads_and_runs_nothing() {
    let page = page("a", "b", "c");
    for word in [
        "<script", "http://", "https://", "url(", "@import", "src=", "href=", "onload",
    ] {
        assert!(!page.contains(word), "{word}");
    }
}

#[test]
fn a_session_in_which_nothing_came_still_gives_a_document() {
    let mut encoder = Encoder::new();
    encoder.header(&header("nowhere")).unwrap();
    encoder.close(0);
    let page = render(&read(encoder.pending(), "empty.jsonl", None).unwrap(), None);
    assert!(
        page.contains("Not judged") && page.contains("did not say which bands"),
        "{page}"
    );
}

#[test]
fn a_recording_that_was_cut_off_gives_a_document_that_says_so() {
    let bytes = recording("a", "b", "c");
    let page = render(&read(&bytes[..bytes.len() / 2], "cut.jsonl", None).unwrap(), None);
    assert!(page.contains("not closed"));
}

/// What the page is made of, other people's words aside.
fn skeleton(page: &str) -> Vec<&str> {
    let mut rest = page;
    let mut all = Vec::new();
    while let Some((_, tag)) = rest.split_once('<') {
        let (tag, after) = tag.split_once('>').unwrap_or((tag, ""));
        all.push(tag);
        rest = after;
    }
    all
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(16))]

    /// Whatever is said, the page is made of the same elements with the same attributes.
    #[test]
    fn no_words_become_markup(
        site in "[ -~]{1,40}|.{1,40}|(</td>|<script>|--><!--|]]>|\" onclick=\"|&lt;|\u{202E}|\u{0}){1,6}",
        note in "[ -~]{1,40}|.{1,40}|(</title>|<svg/onload=x>|'|\"|<!--|&#x3c;){1,6}",
    ) {
        prop_assume!(!site.trim().is_empty() && !note.trim().is_empty());
        let plain = page("plain", "plain", "plain");
        let page = page(&site, &site, &note);
        prop_assert_eq!(skeleton(&page), skeleton(&plain));
        prop_assert!(!page.chars().any(|c| c.is_control() && c != '\n'));
    }
}
