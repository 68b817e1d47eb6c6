//! Moving in the time of a recording that is played on the screen.

use crate::analysis::Criteria;
use crate::console::{Outline, Play};
use crate::event::{EventKind, SessionTime};
use crate::fold::{Fold, Update};
use crate::link::Pull;
use crate::link::pace::Speed;
use crate::link::recording::Recording;
use crate::sequencer::Sequencer;
use crate::session::{Header, NotRecording};
use std::path::{Path, PathBuf};
use std::sync::{Arc, OnceLock};
use std::time::Duration;

/// Findings that are marked at most.
const MOST_FINDINGS: usize = 10_000;
/// Speeds that keys step through.
const SPEEDS: &[f64] = &[0.25, 0.5, 1.0, 2.0, 4.0, 8.0, 16.0, 32.0, 64.0];

/// A recording that is played, and what is known of it.
pub(super) struct Player {
    path: PathBuf,
    outline: Arc<OnceLock<Arc<Outline>>>,
}

impl Player {
    /// Begins to look through the recording, on a thread of its own: how long it is and where findings were raised.
    pub(super) fn new(path: &Path, criteria: Criteria) -> Self {
        let outline = Arc::new(OnceLock::new());
        let (ready, file) = (Arc::clone(&outline), path.to_owned());
        // Nobody waits for it; without it the length stays unknown.
        std::thread::spawn(move || {
            if let Ok(recording) = Recording::open(&file) {
                let header = recording.header().clone();
                let _ = ready.set(Arc::new(look_through(recording, header, criteria)));
            }
        });
        Self {
            path: path.to_owned(),
            outline,
        }
    }

    /// What lies in the recording, once it was looked through.
    pub(super) fn outline(&self) -> Option<Arc<Outline>> {
        self.outline.get().cloned()
    }

    /// The recording from its beginning.
    pub(super) fn reopen(&self) -> Result<Box<dyn Pull>, String> {
        match Recording::open(&self.path) {
            Ok(recording) => Ok(Box::new(recording)),
            Err(error) => Err(format!("cannot read the recording again: {error}")),
        }
    }

    /// Where to go; an answer in words where there is nowhere.
    pub(super) fn target(&self, play: Play, now: SessionTime) -> Result<SessionTime, String> {
        let outline = || {
            self.outline()
                .ok_or_else(|| "the recording is still being looked through".to_owned())
        };
        let length = self.outline().map_or(SessionTime(u64::MAX), |o| o.length);
        match play {
            Play::Seek(seconds) => {
                let by = Duration::from_secs(u64::from(seconds.unsigned_abs()));
                let to = if seconds < 0 {
                    SessionTime::from(now.since(SessionTime::from(by)))
                } else {
                    now + by
                };
                Ok(to.min(length))
            }
            Play::Start => Ok(SessionTime::ZERO),
            Play::End => Ok(outline()?.length),
            Play::NextFinding => outline()?
                .finding_after(now)
                .ok_or_else(|| "no further finding in this recording".to_owned()),
            Play::PreviousFinding => outline()?
                .finding_before(now)
                .ok_or_else(|| "no finding before this one".to_owned()),
            Play::Pause | Play::Step | Play::Faster | Play::Slower => Ok(now),
        }
    }
}

fn look_through(mut recording: Recording, header: Header, criteria: Criteria) -> Outline {
    let mut sequencer = Sequencer::new(Fold::new(criteria), NotRecording, header);
    let mut outline = Outline::default();
    let mut updates = Vec::new();
    while let Some(event) = recording.next_event() {
        let last = event.kind == EventKind::End;
        sequencer.push(event, &mut updates);
        let now = sequencer.fold().now();
        for update in updates.drain(..) {
            if let Update::Finding(finding) = update
                && finding.is_open()
                && outline.findings.len() < MOST_FINDINGS
            {
                outline.findings.push((now, finding.severity));
            }
        }
        outline.length = now;
        if last {
            break;
        }
    }
    outline
}

/// The next speed up or down.
pub(super) fn other_speed(speed: Speed, faster: bool) -> Speed {
    let Speed::Times(here) = speed else {
        return Speed::Times(if faster { SPEEDS[SPEEDS.len() - 1] } else { 1.0 });
    };
    let next = if faster {
        SPEEDS.iter().find(|s| **s > here)
    } else {
        SPEEDS.iter().rev().find(|s| **s < here)
    };
    Speed::Times(next.copied().unwrap_or(here))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::analysis::Severity;

    fn player(outline: Option<Outline>) -> Player {
        let cell = OnceLock::new();
        if let Some(outline) = outline {
            let _ = cell.set(Arc::new(outline));
        }
        Player {
            path: PathBuf::new(),
            outline: Arc::new(cell),
        }
    }

    #[test]
    fn moves_within_the_recording_and_from_finding_to_finding() {
        let s = |s: u64| SessionTime(s * 1_000_000);
        let player = player(Some(Outline {
            length: s(100),
            findings: vec![(s(20), Severity::Info), (s(50), Severity::Critical)],
        }));
        let to = |play, now| player.target(play, s(now)).ok();
        assert_eq!(to(Play::Seek(10), 95), Some(s(100)));
        assert_eq!(to(Play::Seek(-10), 95), Some(s(85)));
        assert_eq!(to(Play::Seek(-60), 5), Some(s(0)));
        assert_eq!((to(Play::Start, 5), to(Play::End, 5)), (Some(s(0)), Some(s(100))));
        assert_eq!(to(Play::NextFinding, 20), Some(s(50)));
        assert_eq!(to(Play::NextFinding, 50), None);
        assert_eq!(to(Play::PreviousFinding, 50), Some(s(20)));
        assert_eq!(to(Play::PreviousFinding, 20), None);
    }

    #[test]
    fn what_is_not_known_yet_is_said() {
        let player = player(None);
        assert!(player.target(Play::NextFinding, SessionTime::ZERO).is_err());
        assert!(player.target(Play::Seek(10), SessionTime::ZERO).is_ok());
    }

    #[test]
    fn speeds_go_up_and_down_within_their_range() {
        assert_eq!(other_speed(Speed::Times(1.0), true), Speed::Times(2.0));
        assert_eq!(other_speed(Speed::Times(3.0), false), Speed::Times(2.0));
        assert_eq!(other_speed(Speed::Times(64.0), true), Speed::Times(64.0));
        assert_eq!(other_speed(Speed::Max, false), Speed::Times(1.0));
    }
}
