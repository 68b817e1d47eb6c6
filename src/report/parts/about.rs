//! What the report rests on: recordings, their soundness, what is missing in them.

use super::section as framed;
use crate::report::Visit;
use crate::report::text::{count, or_unknown, said, said_or_not};
use maud::{Markup, html};

pub(in crate::report) fn section(visit: &Visit, earlier: Option<&Visit>) -> Markup {
    framed(
        "about",
        "What this report rests on",
        html! {
            (recording("Recording", visit))
            @if let Some(earlier) = earlier { (recording("Earlier recording", earlier)) }
        },
    )
}

fn recording(heading: &str, visit: &Visit) -> Markup {
    let total = visit.fold.telemetry().total();
    let missing = total.missing();
    let lost = [
        ("lost on the air", total.lost_on_air),
        ("dropped on the recording computer", total.dropped_on_host),
        ("malformed", total.malformed),
        ("incomplete", total.incomplete),
        ("in damaged parts of the recording", total.unreadable),
        ("while the unit was away or restarting", total.outage),
    ];
    let lost: Vec<String> = lost
        .iter()
        .filter(|(_, n)| *n > 0)
        .map(|(what, n)| format!("{n} {what}"))
        .collect();
    html! {
        h3 { (heading) }
        table.facts {
            caption.hidden { (heading) }
            tbody {
                tr { th scope="row" { "File" } td { (said(&visit.name)) } }
                tr { th scope="row" { "SHA-256" } td { code { (or_unknown(visit.digest.clone())) } } }
                tr { th scope="row" { "Source" } td { (said_or_not(visit.header.source.as_deref())) } }
                tr { th scope="row" { "Recorded by" } td { (said_or_not(visit.header.software.as_deref())) } }
                tr { th scope="row" { "Soundness" } td { (visit.integrity.to_string()) } }
                tr { th scope="row" { "Readings" } td {
                    (total.readings) " of " (total.expected) " expected"
                    @if missing > 0 { "; missing: " (lost.join(", ")) }
                } }
                @if let Some(n) = visit.integrity.closed.filter(|n| *n > 0) {
                    tr { th scope="row" { "Not recorded" } td { (count(n, "event")) } }
                }
            }
        }
    }
}
