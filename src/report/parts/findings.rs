//! Findings, what was done about them, and what changed.

use super::section as framed;
use crate::analysis::{self, Remedy, Severity};
use crate::report::Visit;
use crate::report::quantity::Quantity;
use crate::report::recent::Means;
use crate::report::text::{count, said, span, tenths, time};
use crate::report::trouble::{Episode, Trouble};
use maud::{Markup, html};

/// A difference that may have come about by itself: a stationary receiver's level wanders by about 1 dB.
const CHANGE_DB: f64 = 1.0;
/// Values that tell what a remedy did; outputs only follow the traffic.
const TELLING: &[Quantity] = &[
    Quantity::Margin,
    Quantity::DlGain,
    Quantity::UlGain,
    Quantity::Input,
    Quantity::Rsrp,
    Quantity::Sinr,
    Quantity::DlGainSet,
    Quantity::UlGainSet,
];
/// Entries of the log that are named beside a finding.
const NAMED: usize = 8;

pub(in crate::report) fn section(visit: &Visit) -> Markup {
    let troubles = visit.troubles.all();
    let not_judged = visit.fold.analyser().not_judged();
    framed(
        "findings",
        "Findings and what was done",
        html! {
            @if troubles.is_empty() { p { "Nothing was found in this session." } }
            @for (i, trouble) in troubles.iter().enumerate() { (one(visit, i, trouble)) }
            @if !not_judged.is_empty() {
                h3 { "Not judged" }
                ul { @for n in &not_judged {
                    li { (analysis::title(n.code)) @if let Some(band) = n.band { " in " (visit.fold.telemetry().identity().name(band)) }
                        ": the unit does not report " (n.missing) "." }
                } }
            }
        },
    )
}

fn one(visit: &Visit, i: usize, trouble: &Trouble) -> Markup {
    let identity = visit.fold.telemetry().identity();
    let (Some(first), Some(last)) = (trouble.episodes.first(), trouble.episodes.last()) else {
        return html! {};
    };
    html! {
        article.finding {
            h3 {
                "F" (i + 1) " " (sign(trouble.severity)) " " (trouble.severity.name()) ": " (analysis::title(trouble.code))
                " – " (analysis::subject(trouble.subject, identity))
            }
            p { (when(visit, trouble, first)) }
            p { (said(&first.finding.meaning)) }
            dl {
                dt { "Proof" } dd { (proof(first)) }
                @if let Some(cause) = first.finding.causes.first() { dt { "Likely cause" } dd { (cause) } }
                (done(visit, trouble, last))
            }
        }
    }
}

/// A sign beside the word, so that neither colour nor reading is needed to tell them apart.
fn sign(severity: Severity) -> Markup {
    let (class, glyph) = match severity {
        Severity::Critical => ("sign critical", "✗"),
        Severity::Warning => ("sign warning", "▲"),
        Severity::Info => ("sign info", "i"),
    };
    html! { span class=(class) aria-hidden="true" { (glyph) } }
}

fn when(visit: &Visit, trouble: &Trouble, first: &Episode) -> String {
    let held = span(trouble.held(visit.fold.now()));
    let end = match (trouble.is_open(), first.finding.cleared, trouble.times()) {
        (true, _, _) => "still open at the end".to_owned(),
        (false, Some(cleared), 1) => format!("cleared at {}", time(cleared)),
        (false, ..) => "cleared at the end".to_owned(),
    };
    match trouble.times() {
        1 => format!(
            "Raised at {}, {end}; held for {held}.",
            time(first.finding.raised)
        ),
        n => format!(
            "Raised {n} times, first at {}, {end}; held for {held} in all.",
            time(first.finding.raised)
        ),
    }
}

fn proof(episode: &Episode) -> String {
    let one = |e: &analysis::Evidence| {
        let (name, value) = analysis::evidence(e);
        format!("{name} {}", value.replace('-', "−"))
    };
    let all: Vec<String> = episode.finding.evidence.iter().map(one).collect();
    all.join(" · ")
}

/// What was done while it held, what changed, and what is left to do.
fn done(visit: &Visit, trouble: &Trouble, last: &Episode) -> Markup {
    let until = last.finding.cleared.unwrap_or(visit.fold.now());
    let entries: Vec<_> = visit.work.done_within(last.finding.raised, until).collect();
    let left = entries.len().saturating_sub(NAMED) as u64;
    html! {
        dt { "Done meanwhile" }
        dd {
            @if entries.is_empty() { "nothing that was recorded" }
            @for (n, entry) in entries.iter().take(NAMED).enumerate() {
                @if n > 0 { "; " }
                (time(entry.at)) " " (said(&entry.what))
            }
            @if left > 0 { "; and " (left) " more" }
        }
        @if let Some(after) = &last.after {
            dt { "Changed" }
            dd { (changes(&last.before, after)) }
        }
        @if trouble.is_open() && let Some(remedy) = last.finding.remedies.first() {
            dt { "To do first" }
            dd { (advice(remedy)) }
        }
    }
}

fn changes(before: &Means, after: &Means) -> String {
    let one = |q: &Quantity| {
        let (b, a) = (before[q.index()]?, after[q.index()]?);
        ((a - b).abs() >= CHANGE_DB)
            .then(|| format!("{} {} to {} {}", q.in_sentence(), tenths(b), tenths(a), q.unit()))
    };
    let all: Vec<String> = TELLING.iter().filter_map(one).collect();
    match all.is_empty() {
        true => "no value by 1 dB or more".to_owned(),
        false => all.join("; "),
    }
}

fn advice(remedy: &Remedy) -> Markup {
    html! {
        (said(&remedy.action))
        @if let Some(effect) = remedy.effect_words() {
            " – expected: " (effect.replace('-', "−"))
        }
        @if let Some(cost) = &remedy.cost { " – costs " (cost) }
        @if let Some(caution) = &remedy.caution { br; strong { "Caution: " } (caution) }
    }
}

/// How many findings of each severity are open, in words.
pub(super) fn open(visit: &Visit) -> String {
    let severities = [Severity::Critical, Severity::Warning, Severity::Info];
    let of = |severity: Severity| {
        let n = visit
            .fold
            .findings()
            .iter()
            .filter(|f| f.severity == severity)
            .count() as u64;
        (n > 0).then(|| match severity {
            Severity::Warning => count(n, "warning"),
            severity => format!("{n} {}", severity.name()),
        })
    };
    let words: Vec<String> = severities.into_iter().filter_map(of).collect();
    match words.is_empty() {
        true => "none".to_owned(),
        false => words.join(", "),
    }
}
