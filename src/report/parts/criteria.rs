//! The limits that this report compares with, and where they come from.

use super::{result, section as framed, wide};
use crate::analysis::Criteria;
use crate::analysis::acceptance::{Acceptance, Bound, Criterion};
use crate::report::Visit;
use crate::report::text::number;
use maud::{Markup, html};
use std::collections::BTreeMap;
use toml::Value;

pub(in crate::report) fn section(visit: &Visit) -> Markup {
    framed(
        "criteria",
        "Criteria and sources",
        html! {
            @if let Ok(acceptance) = &visit.acceptance {
                h3 { "Criteria of the result" }
                (result::table(acceptance, "Each criterion", |_| true))
                (wide("Sources", of_the_result(acceptance)))
            }
            (of_the_findings(visit.fold.analyser().criteria()))
            p.note { "The sources of the limits of the findings stand beside each in the program's src/analysis/criteria.rs. \
                “Common practice, no source” means just that." }
        },
    )
}

/// Criteria of the acceptance test by name, with the limits that occur and their source.
fn of_the_result(acceptance: &Acceptance) -> Markup {
    let mut by_name: BTreeMap<&str, (Vec<String>, &Criterion)> = BTreeMap::new();
    let bands = acceptance.bands.iter().flat_map(|b| &b.criteria);
    for c in bands.chain(&acceptance.unit) {
        let entry = by_name.entry(c.name).or_insert_with(|| (Vec::new(), c));
        let limit = number(c.limit);
        if !entry.0.contains(&limit) {
            entry.0.push(limit);
        }
    }
    html! {
        table.figures {
            caption { "Limits and their sources" }
            thead { tr { @for name in ["Criterion", "Limit", "Source"] { th scope="col" { (name) } } } }
            tbody { @for (name, (limits, c)) in &by_name {
                tr {
                    th scope="row" { (result::named(name, None)) }
                    td { (bound(c)) " " (limits.join(", ")) " " (c.unit) }
                    td.words { (c.source) }
                }
            } }
        }
    }
}

fn bound(c: &Criterion) -> &'static str {
    match c.bound {
        Bound::AtLeast => "at least",
        Bound::AtMost => "at most",
    }
}

/// Limits of the findings, and which were changed for this session.
fn of_the_findings(criteria: &Criteria) -> Markup {
    let (here, usual) = (flat(criteria), flat(&Criteria::default()));
    html! {
        h3 { "Limits of the findings in effect" }
        ul.limits { @for (key, value) in &here {
            li { (key.replace('-', " ").replace('.', ": ")) " " b { (value) }
                @if let Some(other) = usual.get(key).filter(|other| *other != value) { " (usually " (other) ")" } }
        } }
    }
}

/// Every limit by its full name.
fn flat(criteria: &Criteria) -> BTreeMap<String, String> {
    let mut all = BTreeMap::new();
    if let Ok(table) = toml::Table::try_from(criteria) {
        gather("", &Value::Table(table), &mut all);
    }
    all
}

fn gather(name: &str, value: &Value, all: &mut BTreeMap<String, String>) {
    match value {
        Value::Table(table) => {
            for (key, value) in table {
                let dot = if name.is_empty() { "" } else { "." };
                gather(&format!("{name}{dot}{key}"), value, all);
            }
        }
        Value::Float(v) => drop(all.insert(name.to_owned(), format!("{v}").replace('-', "−"))),
        other => drop(all.insert(name.to_owned(), other.to_string())),
    }
}
