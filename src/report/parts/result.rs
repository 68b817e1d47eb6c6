//! The result, what limits it, and what to do first.

use super::findings::open;
use super::{section as framed, wide};
use crate::analysis::acceptance::{Acceptance, Bound, Criterion, Verdict};
use crate::report::Visit;
use crate::report::text::{change, number, said, span, tenths, time};
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
                p { "Limited by: " b { (limiting_words(acceptance, limiting)) } (limiting_figures(acceptance, limiting)) }
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

fn way(direction: Option<&str>) -> &'static str {
    match direction {
        Some("dl") => " downlink",
        Some("ul") => " uplink",
        _ => "",
    }
}

fn limiting_words(acceptance: &Acceptance, name: &str) -> String {
    let place = acceptance.limiting_band.as_deref().unwrap_or("the unit");
    format!(
        "{} of {place}{}",
        name.replace('-', " "),
        way(acceptance.limiting_direction)
    )
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

/// Every criterion, band by band; then what could not be judged.
fn details(acceptance: &Acceptance) -> Markup {
    let unit = (!acceptance.unit.is_empty()).then_some(("Unit", None, acceptance.unit.as_slice()));
    let bands = acceptance
        .bands
        .iter()
        .map(|b| (b.band.as_str(), Some(b), b.criteria.as_slice()));
    html! {
        (wide("Criteria", html! {
            table.figures {
                caption { "Each criterion" }
                thead { tr { @for name in ["Band", "Criterion", "Statistic", "Value", "Limit", "Margin", "Result"] { th scope="col" { (name) } } } }
                @for (name, band, criteria) in bands.chain(unit) {
                    @if !criteria.is_empty() {
                        tbody {
                            @for (i, c) in criteria.iter().enumerate() {
                                tr {
                                    @if i == 0 {
                                        th scope="rowgroup" rowspan=(criteria.len()) { (name)
                                            @if band.is_some_and(|b| !b.required) { br; small { "not required" } } }
                                    }
                                    th scope="row" { (c.name.replace('-', " ")) (way(c.direction)) }
                                    td.words { (c.statistic) }
                                    td { (figure(c, c.value)) }
                                    td { (limit(c)) }
                                    td { @if c.unit == "share" { (change(c.margin * 100.0)) } @else { (change(c.margin)) } }
                                    td.verdict { (sign(c.result)) " " (c.result.name()) }
                                }
                            }
                        }
                    }
                }
            }
        }))
        @if !acceptance.not_judged.is_empty() {
            h3 { "What could not be judged" }
            ul { @for n in &acceptance.not_judged {
                li {
                    @if let Some(band) = &n.band { (said(band)) " " }
                    (n.name.replace('-', " ")) (way(n.direction)) ": " (said(&n.reason)) "."
                    @if n.essential { " This keeps the result from being a pass." }
                }
            } }
        }
    }
}
