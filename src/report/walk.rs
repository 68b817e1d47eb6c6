//! The walk list: what a handset had in each room, before the work and after it.

use crate::event::{Mark, SessionTime, Stage};

/// Rooms told of; further ones are counted.
const TOLD: usize = 300;

/// What was read and tried in a room at one stage.
#[derive(Clone, Debug, Default)]
pub(super) struct Visit {
    pub(super) at: Option<SessionTime>,
    pub(super) level_dbm: Option<f64>,
    pub(super) quality_db: Option<f64>,
    pub(super) call_ok: Option<bool>,
    pub(super) upload_ok: Option<bool>,
}

/// A room.
#[derive(Clone, Debug, Default)]
pub(super) struct Room {
    /// Its name; empty where none was given.
    pub(super) name: String,
    pub(super) before: Visit,
    pub(super) after: Visit,
    /// Entries that do not say whether they were made before the work or after it.
    pub(super) unsaid: Visit,
    pub(super) notes: Vec<String>,
}

/// Rooms in the order in which they were first walked.
#[derive(Clone, Debug, Default)]
pub(super) struct WalkList {
    pub(super) rooms: Vec<Room>,
    /// Entries left out.
    pub(super) more: u64,
}

impl WalkList {
    /// Takes in an entry; a value replaces an earlier one of the same room and stage.
    pub(super) fn push(&mut self, at: SessionTime, mark: &Mark) {
        let name = mark.room.clone().unwrap_or_default();
        let known = self.rooms.iter().position(|r| r.name == name);
        let index = match known {
            Some(index) => index,
            None if self.rooms.len() < TOLD => {
                self.rooms.push(Room {
                    name,
                    ..Room::default()
                });
                self.rooms.len() - 1
            }
            None => {
                self.more += 1;
                return;
            }
        };
        let Some(room) = self.rooms.get_mut(index) else {
            return;
        };
        let visit = match mark.stage {
            Some(Stage::Before) => &mut room.before,
            Some(Stage::After) => &mut room.after,
            None => &mut room.unsaid,
        };
        *visit = Visit {
            at: Some(at),
            level_dbm: mark.level_dbm.or(visit.level_dbm),
            quality_db: mark.quality_db.or(visit.quality_db),
            call_ok: mark.call_ok.or(visit.call_ok),
            upload_ok: mark.upload_ok.or(visit.upload_ok),
        };
        if room.notes.len() < TOLD {
            room.notes.extend(mark.note.clone());
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_room_is_one_row_with_both_stages() {
        let mark = |stage, level_dbm, call_ok| Mark {
            room: Some("archive".to_owned()),
            stage,
            level_dbm,
            call_ok,
            ..Mark::default()
        };
        let mut list = WalkList::default();
        list.push(SessionTime(1), &mark(Some(Stage::Before), Some(-118.0), None));
        list.push(SessionTime(2), &mark(Some(Stage::After), Some(-92.0), None));
        list.push(SessionTime(3), &mark(Some(Stage::After), None, Some(true)));
        let [room] = list.rooms.as_slice() else {
            panic!("{list:?}")
        };
        assert_eq!((room.before.level_dbm, room.before.call_ok), (Some(-118.0), None));
        assert_eq!(
            (room.after.level_dbm, room.after.call_ok),
            (Some(-92.0), Some(true))
        );
    }
}
