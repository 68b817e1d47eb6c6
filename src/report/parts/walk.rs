//! The walk list.

use super::{section as framed, wide};
use crate::report::Visit;
use crate::report::text::{change, count, number, or_unknown, said};
use crate::report::walk::{Room, Visit as Walked};
use maud::{Markup, html};

pub(in crate::report) fn section(visit: &Visit) -> Markup {
    let list = &visit.work.walk;
    let body = if list.rooms.is_empty() {
        html! {
            p { "No room was entered while recording (key m in the console). Fill in by hand:" }
            (wide("Walk list", table(&[], BLANK)))
        }
    } else {
        html! {
            (wide("Walk list", table(&list.rooms, 0)))
            @if list.more > 0 { p { (count(list.more, "further entry")) " left out." } }
            p.note { "Level and quality as a handset shows them: RSRP and SINR where it shows those. A handset's level is \
                good to about 6 dB. Ordinary calls only: no test calls to emergency numbers." }
        }
    };
    framed("walk", "Walk list", body)
}

/// Rows to be filled in by hand.
const BLANK: usize = 5;

fn table(rooms: &[Room], blank: usize) -> Markup {
    html! {
        table.figures.walk {
            caption { "Rooms, before and after the work" }
            thead {
                tr {
                    th rowspan="2" scope="col" { "Room" }
                    th colspan="3" scope="colgroup" { "Level, dBm" }
                    th colspan="2" scope="colgroup" { "Quality, dB" }
                    th colspan="2" scope="colgroup" { "Call" }
                    th colspan="2" scope="colgroup" { "Upload" }
                    th rowspan="2" scope="col" { "Notes" }
                }
                tr {
                    th scope="col" { "before" } th scope="col" { "after" } th scope="col" { "change" }
                    @for _ in 0..3 { th scope="col" { "before" } th scope="col" { "after" } }
                }
            }
            tbody {
                @for room in rooms { (row(room)) }
                @for _ in 0..blank { tr.blank { @for _ in 0..11 { td {} } } }
            }
        }
    }
}

fn row(room: &Room) -> Markup {
    // An entry without a stage is what is there now.
    let now = |a: &Walked| Walked {
        at: a.at.or(room.unsaid.at),
        level_dbm: a.level_dbm.or(room.unsaid.level_dbm),
        quality_db: a.quality_db.or(room.unsaid.quality_db),
        call_ok: a.call_ok.or(room.unsaid.call_ok),
        upload_ok: a.upload_ok.or(room.unsaid.upload_ok),
    };
    let (before, after) = (&room.before, now(&room.after));
    let difference = match (before.level_dbm, after.level_dbm) {
        (Some(b), Some(a)) => Some(format!("{} dB", change(a - b))),
        _ => None,
    };
    let cell = |value: Option<f64>, walked: bool| match (value, walked) {
        (None, false) => html! {},
        (value, _) => or_unknown(value.map(number)),
    };
    let (walked_before, walked_after) = (before.at.is_some(), after.at.is_some());
    html! {
        tr {
            th scope="row" { @if room.name.is_empty() { span.none { "not named" } } @else { (said(&room.name)) } }
            td { (cell(before.level_dbm, walked_before)) }
            td { (cell(after.level_dbm, walked_after)) }
            td { @if let Some(text) = difference { (text) } }
            td { (cell(before.quality_db, walked_before)) }
            td { (cell(after.quality_db, walked_after)) }
            td { (tried(before.call_ok, walked_before)) }
            td { (tried(after.call_ok, walked_after)) }
            td { (tried(before.upload_ok, walked_before)) }
            td { (tried(after.upload_ok, walked_after)) }
            td.words { @for (i, note) in room.notes.iter().enumerate() { @if i > 0 { "; " } (said(note)) } }
        }
    }
}

fn tried(ok: Option<bool>, walked: bool) -> Markup {
    match ok {
        Some(true) => html! { "✓ ok" },
        Some(false) => html! { strong { "✗ failed" } },
        None if walked => html! { span.none { "not tried" } },
        None => html! {},
    }
}
