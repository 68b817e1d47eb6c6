//! Before and after: an earlier visit beside this one.

use super::result::named;
use super::{section as framed, wide};
use crate::analysis::acceptance::Comparison;
use crate::report::Visit;
use crate::report::quantity::Quantity;
use crate::report::spread::Percentiles;
use crate::report::text::{change, number, or_unknown, said, tenths};
use maud::{Markup, html};

/// Differences of one unit's levels on one carrier are good to about this (±2 dB, TS 36.133, from memory).
const UNCERTAINTY_DB: f64 = 2.0;

const SHOWN: [Quantity; 8] = [
    Quantity::Margin,
    Quantity::DlGain,
    Quantity::UlGain,
    Quantity::Input,
    Quantity::DlOutput,
    Quantity::UlOutput,
    Quantity::Rsrp,
    Quantity::Sinr,
];

pub(in crate::report) fn section(visit: &Visit, earlier: &Visit) -> Markup {
    framed(
        "compare",
        "Compared with the earlier visit",
        html! {
            p { "Earlier: " (said(&earlier.name)) (date(earlier)) ". Now: " (said(&visit.name)) (date(visit)) "." }
            @if !same_unit(visit, earlier) {
                p { strong { "The two recordings are of different units" } " (or one does not give its serial number): \
                    differences between units are not differences of the site." }
            }
            @match criteria(visit, earlier) {
                Some(comparisons) => { (wide("Criteria compared", by_criterion(&comparisons))) }
                None => {
                    p { "The criteria of the result are not compared: they could not be judged in both recordings." }
                }
            }
            (wide("Values compared", table(visit, earlier)))
            p.note { "Medians, each since the last change in its session. A difference counts as changed beyond "
                (UNCERTAINTY_DB) " dB: levels on one carrier can be compared to about that." }
        },
    )
}

/// Criteria before and now, where both recordings could be judged.
fn criteria(visit: &Visit, earlier: &Visit) -> Option<Vec<Comparison>> {
    let (Ok(now), Ok(before)) = (&visit.acceptance, &earlier.acceptance) else {
        return None;
    };
    let mut now = now.clone();
    now.compare(before, &visit.fold.analyser().criteria().acceptance);
    now.baseline
}

fn by_criterion(comparisons: &[Comparison]) -> Markup {
    html! {
        table.figures {
            caption { "Criteria of the result, earlier and now (means)" }
            thead { tr { @for name in ["Band", "Criterion", "Earlier", "Now", "Uncertainty", "Verdict"] { th scope="col" { (name) } } } }
            tbody { @for c in comparisons {
                tr {
                    th scope="row" { (c.band.as_deref().unwrap_or("unit")) }
                    td.words { (named(c.name, c.direction)) }
                    td { (or_unknown(c.before.map(|v| figure(v, c.unit)))) }
                    td { (or_unknown(c.now.map(|v| figure(v, c.unit)))) }
                    td { @if let Some(by) = c.uncertainty { "± " (figure(by, c.unit)) } }
                    td.verdict {
                        @match (c.before, c.now) {
                            (Some(_), Some(_)) if c.changed => { strong { "changed" } }
                            (Some(_), Some(_)) => { "within uncertainty" }
                            _ => { "not comparable" }
                        }
                    }
                }
            } }
        }
    }
}

fn figure(value: f64, unit: &str) -> String {
    match unit {
        "share" => format!("{} %", number(value * 100.0)),
        unit => format!("{} {unit}", tenths(value)).trim_end().to_owned(),
    }
}

fn date(visit: &Visit) -> Markup {
    html! { @if let Some(started) = visit.header.started { ", " (started.strftime("%Y-%m-%d")) } }
}

fn same_unit(a: &Visit, b: &Visit) -> bool {
    let serial = |v: &Visit| v.fold.telemetry().identity().device.serial.clone();
    serial(a).is_some() && serial(a) == serial(b)
}

fn table(visit: &Visit, earlier: &Visit) -> Markup {
    let identity = visit.fold.telemetry().identity();
    html! {
        table.figures {
            caption { "Each band, earlier and now" }
            thead { tr { @for name in ["Band", "Value", "Earlier", "Now", "Change", "Verdict"] { th scope="col" { (name) } } } }
            @for position in 0..identity.bands.bands.len() {
                @let rows = rows(visit, earlier, position);
                tbody {
                    @for (i, (quantity, then, now)) in rows.iter().enumerate() {
                        tr {
                            @if i == 0 { th scope="rowgroup" rowspan=(rows.len()) { (identity.name(position)) } }
                            th scope="row" { (quantity.name()) ", " (quantity.unit()) }
                            td { (or_unknown(then.map(|p| tenths(p.median)))) }
                            td { (or_unknown(now.map(|p| tenths(p.median)))) }
                            (difference(*then, *now))
                        }
                    }
                }
            }
        }
    }
}

type Row = (Quantity, Option<Percentiles>, Option<Percentiles>);

/// Values that at least one of the two visits has.
fn rows(visit: &Visit, earlier: &Visit, position: usize) -> Vec<Row> {
    let name = visit.fold.telemetry().identity().name(position);
    let other = earlier.fold.telemetry().identity();
    let there = (0..other.bands.bands.len()).find(|p| other.name(*p) == name);
    let of = |v: &Visit, p: Option<usize>, q: Quantity| v.bands.get(p?)?.spreads[q.index()].percentiles();
    SHOWN
        .into_iter()
        .map(|q| (q, of(earlier, there, q), of(visit, Some(position), q)))
        .filter(|(_, then, now)| then.is_some() || now.is_some())
        .collect()
}

fn difference(then: Option<Percentiles>, now: Option<Percentiles>) -> Markup {
    let (Some(then), Some(now)) = (then, now) else {
        return html! { td { (or_unknown(None)) } td { "not comparable" } };
    };
    let by = now.median - then.median;
    html! {
        td { (change(by)) }
        td { @if by.abs() > UNCERTAINTY_DB { strong { "changed" } } @else { "within uncertainty" } }
    }
}
