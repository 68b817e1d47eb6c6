//! The result, what limits it, and what to do first.

use super::findings::open;
use super::{section as framed, wide};
use crate::analysis::acceptance::{Acceptance, Bound, Criterion, Verdict};
use crate::report::Visit;
use crate::report::text::{change, clean, number, said, span, tenths, time};
use maud::{Markup, html};
use std::time::Duration;

pub(in crate::report) fn section(visit: &Visit) -> Markup {
    framed(
        "result",
        "Result",
        html! {
            @match &visit.acceptance {
                Ok(acceptance) => { (judged(visit, acceptance)) }
                Err(reason) => {
                    div.result.unjudged {
                        p.word { span aria-hidden="true" { "?" } "Not judged" }
                        p { "This recording does not show whether the installation may be handed over: " (said(reason)) "." }
                    }
                }
            }
            p { "Findings open at the end: " b { (open(visit)) } "." }
            @if let Ok(acceptance) = &visit.acceptance { (details(acceptance)) }
        },
    )
}

fn sign(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Pass => "✓",
        Verdict::Marginal => "▲",
        Verdict::Fail => "✗",
    }
}

fn judged(visit: &Visit, acceptance: &Acceptance) -> Markup {
    let verdict = acceptance.result;
    let lasted = span(Duration::from_secs_f64(acceptance.duration_s.max(0.0)));
    html! {
        div class=(format!("result {}", verdict.name())) {
            p.word { span aria-hidden="true" { (sign(verdict)) } (capital(verdict.name())) }
            @if let Some(limiting) = acceptance.limiting {
                p { "Limited by: " b { (clean(&limiting_words(acceptance, limiting))) } (limiting_figures(acceptance, limiting)) }
            }
            @if let Some(action) = &acceptance.first_action { p { "To do first: " (said(action)) } }
            p.note { "Judged over the settled part of the session: " (lasted)
                @if visit.settled_since.0 > 0 { " after the last change at " (time(visit.settled_since)) } "." }
        }
    }
}

fn capital(word: &str) -> String {
    let mut letters = word.chars();
    letters.next().map_or(String::new(), |first| {
        first.to_uppercase().chain(letters).collect()
    })
}

/// Name of a criterion with its direction, which some names have in them.
pub(super) fn named(name: &str, direction: Option<&str>) -> String {
    let way = match direction {
        Some("dl") => "downlink",
        Some("ul") => "uplink",
        _ => "",
    };
    // Short names of quantities are written as the trade writes them.
    let words: Vec<String> = name
        .split('-')
        .map(|word| match word {
            "rsrp" | "rsrq" | "sinr" => word.to_uppercase(),
            word => word.to_owned(),
        })
        .collect();
    let name = words.join(" ");
    if way.is_empty() || name.contains(way) {
        name
    } else {
        format!("{name}, {way}")
    }
}

fn limiting_words(acceptance: &Acceptance, name: &str) -> String {
    let place = acceptance.limiting_band.as_deref().unwrap_or("the unit");
    format!("{place}: {}", named(name, acceptance.limiting_direction))
}

fn limiting_figures(acceptance: &Acceptance, name: &str) -> String {
    let band = acceptance
        .bands
        .iter()
        .find(|b| Some(&b.band) == acceptance.limiting_band.as_ref());
    let criteria = band.map_or(&acceptance.unit, |b| &b.criteria);
    let same = |c: &&Criterion| c.name == name && c.direction == acceptance.limiting_direction;
    criteria.iter().find(same).map_or(String::new(), |c| {
        format!(": {} against {}.", figure(c, c.value), limit(c))
    })
}

fn figure(c: &Criterion, value: f64) -> String {
    match c.unit {
        "share" => format!("{} %", number(value * 100.0)),
        "" => number(value),
        unit => format!("{} {unit}", tenths(value)),
    }
}

fn limit(c: &Criterion) -> String {
    let word = match c.bound {
        Bound::AtLeast => "at least",
        Bound::AtMost => "at most",
    };
    format!("{word} {}", figure(c, c.limit))
}

/// Each band in a word, what did not pass, and what could not be judged.
fn details(acceptance: &Acceptance) -> Markup {
    let bands: Vec<String> = acceptance
        .bands
        .iter()
        .map(|b| {
            let extra = if b.required { "" } else { " (not required)" };
            format!("{} {}{extra}", b.band, b.result.name())
        })
        .collect();
    let all_passed =
        groups(acceptance).all(|(_, criteria)| criteria.iter().all(|c| c.result == Verdict::Pass));
    html! {
        p { "Bands: " (clean(&bands.join(", "))) ". Every criterion stands under "
            em { "Criteria and sources" } "." }
        @if !all_passed { (table(acceptance, "Criteria that did not pass", |c| c.result > Verdict::Pass)) }
        @if !acceptance.not_judged.is_empty() {
            h3 { "What could not be judged" }
            ul { @for n in &acceptance.not_judged {
                li {
                    @if let Some(band) = &n.band { (said(band)) " " }
                    (named(n.name, n.direction)) ": " (said(&n.reason)) "."
                    @if n.essential { " This keeps the result from being a pass." }
                }
            } }
        }
    }
}

/// Criteria of each band, then those of the unit.
fn groups(acceptance: &Acceptance) -> impl Iterator<Item = (&str, &[Criterion])> {
    let bands = acceptance
        .bands
        .iter()
        .map(|b| (b.band.as_str(), b.criteria.as_slice()));
    bands.chain([("Unit", acceptance.unit.as_slice())])
}

/// Criteria as a table, band by band.
pub(super) fn table(acceptance: &Acceptance, caption: &str, shown: impl Fn(&Criterion) -> bool) -> Markup {
    let columns = [
        "Band",
        "Criterion",
        "Statistic",
        "Value",
        "Limit",
        "Margin",
        "Result",
    ];
    wide(
        caption,
        html! {
            table.figures {
                caption { (caption) }
                thead { tr { @for name in columns { th scope="col" { (name) } } } }
                @for (name, criteria) in groups(acceptance) {
                    @let criteria: Vec<&Criterion> = criteria.iter().filter(|c| shown(c)).collect();
                    @if !criteria.is_empty() {
                        tbody {
                            @for (i, c) in criteria.iter().enumerate() {
                                tr {
                                    @if i == 0 { th scope="rowgroup" rowspan=(criteria.len()) { (clean(name)) } }
                                    (row(c))
                                }
                            }
                        }
                    }
                }
            }
        },
    )
}

fn row(c: &Criterion) -> Markup {
    html! {
        th scope="row" { (named(c.name, c.direction)) }
        td.words { (clean(&c.statistic)) }
        td { (figure(c, c.value)) }
        td { (limit(c)) }
        td { @if c.unit == "share" { (change(c.margin * 100.0)) } @else { (change(c.margin)) } }
        td.verdict { (sign(c.result)) " " (c.result.name()) }
    }
}
