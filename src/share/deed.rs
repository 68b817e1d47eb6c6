//! From what a page asks for to what the owner of the session does.

use super::ask::{Ask, Walk};
use super::snapshot::AIM_SAFE;
use crate::aiming::{Prompt, Step};
use crate::event::{Mark, Stage};
use crate::fold::Fold;

/// What to do.
#[derive(Clone, Debug, PartialEq)]
pub enum Deed {
    /// A step of the aim.
    Step(Step),
    /// A mark, or an entry of the walk list.
    Mark(Box<Mark>),
    /// Ask the unit for aim-safe.
    AimSafe,
}

impl Deed {
    /// What an [`Ask`] that was checked means at this point of the session; else why it cannot be done now, for the
    /// person at the page.
    pub fn of(ask: Ask, fold: &Fold) -> Result<Self, String> {
        let prompt = fold.aim().prompt();
        let running = || match prompt {
            None => Err("No aim is running: start one with loopmargin aim.".to_owned()),
            Some(Prompt::Done) => Err("The aim is done.".to_owned()),
            Some(_) => Ok(()),
        };
        let visited = || match fold.aim().visits().is_empty() {
            true => Err("Nothing has been measured yet.".to_owned()),
            false => Ok(()),
        };
        let step = match ask {
            Ask::Turned { bearing_deg } => Step::turned(bearing_deg),
            Ask::Moving => Step::Moving,
            Ask::Settled => Step::Settled,
            Ask::Repeat => visited().map(|()| Step::Repeat)?,
            Ask::Undo => visited().map(|()| Step::Undo)?,
            Ask::Finish => visited().map(|()| Step::Finish)?,
            Ask::AimSafe => {
                return match AIM_SAFE.check(fold) {
                    Ok(()) => Ok(Self::AimSafe),
                    Err(reply) => Err(format!("{} {}", reply.meaning, reply.next_step)),
                };
            }
            Ask::Mark { note } => {
                return Ok(Self::Mark(Box::new(Mark {
                    note: note.filter(|n| !n.trim().is_empty()),
                    ..Mark::default()
                })));
            }
            Ask::Walk(walk) => return Ok(Self::Mark(Box::new(entry(walk)))),
        };
        running().map(|()| Self::Step(step))
    }

    /// What was done, in words for the person at the page.
    pub fn done(&self) -> String {
        match self {
            Self::Step(Step::Turned(_)) => "Noted: the antenna rests.".to_owned(),
            Self::Step(Step::Moving) => "Noted: hands on the antenna.".to_owned(),
            Self::Step(Step::Settled) => "Noted: hands off.".to_owned(),
            Self::Step(Step::Repeat) => "This dwell begins anew.".to_owned(),
            Self::Step(Step::Undo) => "The last dwell is taken back.".to_owned(),
            Self::Step(Step::Finish) => "The aim is ended.".to_owned(),
            Self::Mark(mark) => match mark.to_string().as_str() {
                "" => "Marked.".to_owned(),
                said => format!("Marked: {said}."),
            },
            Self::AimSafe => "Asked the unit for aim-safe: its answer will stand here.".to_owned(),
        }
    }
}

fn entry(walk: Walk) -> Mark {
    Mark {
        room: Some(walk.room.trim().to_owned()),
        stage: Some(if walk.before { Stage::Before } else { Stage::After }),
        level_dbm: walk.level_dbm,
        quality_db: walk.quality_db,
        call_ok: walk.call_ok,
        upload_ok: walk.upload_ok,
        ..Mark::default()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::analysis::Criteria;

    #[test]
    fn steps_need_an_aim_and_marks_do_not() {
        let fold = Fold::new(Criteria::default());
        for ask in [
            Ask::Turned { bearing_deg: 5.0 },
            Ask::Moving,
            Ask::Undo,
            Ask::Finish,
        ] {
            assert!(Deed::of(ask, &fold).is_err());
        }
        let mark = Deed::of(
            Ask::Mark {
                note: Some(" ".into()),
            },
            &fold,
        )
        .unwrap();
        assert_eq!(mark.done(), "Marked.");
        // The link is not live: the unit cannot be asked.
        assert!(Deed::of(Ask::AimSafe, &fold).is_err());
    }

    #[test]
    fn an_entry_of_the_walk_list_is_a_mark() {
        let walk = Walk {
            room: " archive ".into(),
            before: false,
            level_dbm: Some(-97.5),
            quality_db: None,
            call_ok: Some(true),
            upload_ok: Some(false),
        };
        let deed = Deed::of(Ask::Walk(walk), &Fold::new(Criteria::default())).unwrap();
        assert_eq!(
            deed.done(),
            "Marked: room archive, after the work, level -97.5 dBm, call succeeded, upload failed."
        );
        assert!(matches!(deed, Deed::Mark(mark) if mark.is_walk_entry()));
    }
}
