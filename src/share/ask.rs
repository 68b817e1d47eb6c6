//! What a page may ask for, where it may ask at all: the steps of an aim, marks, entries of the walk list, and
//! aim-safe, which only lowers what the unit sends. Everything a phone sends is checked here.

use serde::Deserialize;
use tokio::sync::oneshot;

/// Longest name of a room or note, in letters.
const LONGEST_TEXT: usize = 60;

/// What the pages of this session may do.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Permission {
    /// Steps of the aim, marks, walk list (`--share-aim`).
    pub steps: bool,
    /// Aim-safe on (`--share-aim` with `--allow-control`).
    pub aim_safe: bool,
}

/// Something asked for.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(tag = "do", rename_all = "kebab-case", deny_unknown_fields)]
pub enum Ask {
    /// The antenna rests at this bearing, degrees.
    Turned {
        /// 0 to below 360.
        bearing_deg: f64,
    },
    /// Hands are on the antenna.
    Moving,
    /// Hands are off again.
    Settled,
    /// Repeat the dwell.
    Repeat,
    /// Take the last dwell back.
    Undo,
    /// End the aim.
    Finish,
    /// Switch the uplink off and hold the gain down.
    AimSafe,
    /// Mark this moment.
    Mark {
        /// What was seen.
        #[serde(default)]
        note: Option<String>,
    },
    /// An entry of the walk list.
    Walk(Walk),
}

/// What a handset has in a room.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Walk {
    /// Which room.
    pub room: String,
    /// Before the work rather than after it.
    pub before: bool,
    /// Level that the handset shows, dBm.
    #[serde(default)]
    pub level_dbm: Option<f64>,
    /// Quality that it shows, dB.
    #[serde(default)]
    pub quality_db: Option<f64>,
    /// Whether a call succeeded.
    #[serde(default)]
    pub call_ok: Option<bool>,
    /// Whether an upload succeeded.
    #[serde(default)]
    pub upload_ok: Option<bool>,
}

impl Ask {
    /// Whether it makes sense and is allowed; else why not, for the person at the page.
    pub fn check(&self, permission: Permission) -> Result<(), &'static str> {
        let within =
            |value: &Option<f64>, low: f64, high: f64| value.is_none_or(|v| (low..=high).contains(&v));
        match self {
            _ if !permission.steps => {
                Err("This page may only look. Start the console with --share-aim to let it take steps.")
            }
            Self::AimSafe if !permission.aim_safe => Err(
                "The console may not change the unit (--allow-control). Switch the uplink off at the unit.",
            ),
            Self::Turned { bearing_deg } if !(0.0..360.0).contains(bearing_deg) => {
                Err("A bearing lies between 0 and 360 degrees.")
            }
            Self::Mark { note: Some(note) } if !is_plain(note) => {
                Err("The note is too long or holds odd characters.")
            }
            Self::Walk(walk) if walk.room.trim().is_empty() || !is_plain(&walk.room) => {
                Err("Name the room, shortly.")
            }
            Self::Walk(walk) if !within(&walk.level_dbm, -160.0, 0.0) => {
                Err("A level lies between -160 and 0 dBm.")
            }
            Self::Walk(walk) if !within(&walk.quality_db, -40.0, 60.0) => {
                Err("A quality lies between -40 and 60 dB.")
            }
            _ => Ok(()),
        }
    }
}

fn is_plain(text: &str) -> bool {
    text.chars().count() <= LONGEST_TEXT && !text.chars().any(char::is_control)
}

/// A request with its number: a page that got no answer sends the same again, and it is done once.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Numbered {
    /// Chosen by the page at random.
    pub(super) id: String,
    /// What is asked.
    pub(super) ask: Ask,
}

/// Something asked for that waits for the owner of the session.
#[derive(Debug)]
pub struct Asked {
    /// What.
    pub ask: Ask,
    /// Where the answer goes.
    pub answer: oneshot::Sender<Answer>,
}

/// What became of it: done, or why not, in words for the person at the page.
pub type Answer = Result<String, String>;

#[cfg(test)]
mod tests {
    use super::*;

    const ALL: Permission = Permission {
        steps: true,
        aim_safe: true,
    };

    fn read(text: &str) -> Option<Ask> {
        serde_json::from_str::<Numbered>(text).ok().map(|n| n.ask)
    }

    #[test]
    fn a_page_asks_in_a_few_words() {
        let turned = read(r#"{"id":"1","ask":{"do":"turned","bearing_deg":135}}"#);
        assert_eq!(turned, Some(Ask::Turned { bearing_deg: 135.0 }));
        let walk = read(
            r#"{"id":"1","ask":{"do":"walk","room":"archive","before":true,"level_dbm":-97.5,"call_ok":true}}"#,
        );
        assert!(walk.is_some_and(|w| w.check(ALL).is_ok()));
        for wrong in [
            r#"{"id":"1","ask":{"do":"restart"}}"#,
            r#"{"id":"1","ask":{"do":"turned"}}"#,
            r#"{"id":"1","ask":{"do":"turned","bearing_deg":"north"}}"#,
            r#"{"id":"1","ask":{"do":"walk","room":"a","before":true,"gain_db":3}}"#,
            r#"{"id":1,"ask":{"do":"undo"}}"#,
            "[]",
            "",
        ] {
            assert_eq!(read(wrong), None, "{wrong}");
        }
    }

    #[test]
    fn nothing_is_allowed_that_was_not_granted() {
        let steps = Permission {
            steps: true,
            aim_safe: false,
        };
        for ask in [Ask::Undo, Ask::AimSafe, Ask::Mark { note: None }] {
            assert!(ask.check(Permission::default()).is_err(), "{ask:?}");
            assert_eq!(ask.check(steps).is_ok(), ask != Ask::AimSafe);
            assert_eq!(ask.check(ALL), Ok(()));
        }
    }

    #[test]
    fn what_makes_no_sense_is_refused() {
        let walk = |room: &str, level| {
            Ask::Walk(Walk {
                room: room.into(),
                before: false,
                level_dbm: Some(level),
                quality_db: None,
                call_ok: None,
                upload_ok: None,
            })
        };
        assert_eq!(walk("hall", -90.0).check(ALL), Ok(()));
        for ask in [
            walk(" ", -90.0),
            walk("hall\n", -90.0),
            walk(&"x".repeat(61), -90.0),
            walk("hall", 3.0),
            walk("hall", f64::NAN),
            Ask::Turned { bearing_deg: 360.0 },
            Ask::Turned {
                bearing_deg: f64::NAN,
            },
            Ask::Mark {
                note: Some("\u{1b}[2J".into()),
            },
        ] {
            assert!(ask.check(ALL).is_err(), "{ask:?}");
        }
    }
}
