//! What was done and what was found over time: an overview, a drawing for each band, and the log.

use super::strip::{Limit, Strip, WIDTH, time_axis, time_labels};
use super::{section as framed, wide};
use crate::analysis::{title, weak_input_dbm};
use crate::event::SessionTime;
use crate::report::Visit;
use crate::report::plot::{Axis, at};
use crate::report::quantity::Quantity;
use crate::report::text::{count, number, said, time};
use crate::report::trouble::Trouble;
use crate::report::work::Kind;
use maud::{Markup, html};

/// Height of a row of the overview, of a strip, and between strips.
const ROW: f64 = 17.0;
const STRIP: f64 = 58.0;
const BETWEEN: f64 = 24.0;
/// Width that a number takes.
const NUMBER: f64 = 28.0;
/// Rows of the overview for findings.
const ROWS: usize = 14;
/// Entries of the log that the page shows.
const SHOWN: usize = 60;

pub(in crate::report) fn section(visit: &Visit) -> Markup {
    let names: Vec<&str> = (0..visit.bands.len())
        .map(|p| visit.fold.telemetry().identity().name(p))
        .collect();
    framed(
        "course",
        "What was done and found over time",
        html! {
            p.note { "Times are minutes and seconds since the recording began"
                @if let Some(started) = visit.header.started { " at " (started.strftime("%H:%M:%S UTC")) }
                ". Numbers F1, F2 … are those of the findings above, D1, D2 … those of the log below." }
            (wide("Overview of findings and work", overview(visit)))
            @for (position, name) in names.iter().enumerate() {
                h3 { "Band " (name) }
                (wide(&format!("Curves of band {name}"), band(visit, position, name)))
            }
            h3 { "Log" }
            (log(visit))
        },
    )
}

/// Findings as bars, what was done as ticks, on one time axis.
fn overview(visit: &Visit) -> Markup {
    let axis = time_axis(visit.fold.now());
    let troubles = visit.troubles.all();
    let rows = troubles.len().min(ROWS);
    let done_y = 30.0;
    let top = 44.0;
    let bottom = top + rows as f64 * ROW;
    let height = bottom + 20.0;
    html! {
        svg role="img" aria-labelledby="overview-title overview-text" viewBox=(format!("0 0 {WIDTH} {height}")) {
            title id="overview-title" { "Findings and work over time" }
            desc id="overview-text" { (describe(visit)) }
            (time_labels(&axis, 12.0, bottom))
            text x="0" y=(at(done_y + 4.0)) { "done" }
            line.axis x1=(at(axis.places.0)) y1=(at(done_y)) x2=(at(axis.places.1)) y2=(at(done_y)) {}
            @for (i, x, named) in places(visit, &axis) {
                line.done x1=(at(x)) y1=(at(done_y - 6.0)) x2=(at(x)) y2=(at(done_y + 6.0)) {}
                @if named { text.small x=(at(x)) y=(at(done_y - 9.0)) { "D" (i + 1) } }
            }
            @for (i, trouble) in troubles.iter().take(ROWS).enumerate() {
                (bars(trouble, i, &axis, top + i as f64 * ROW, visit.fold.now()))
            }
        }
        @if troubles.len() > ROWS { p.note { (count((troubles.len() - ROWS) as u64, "further finding")) " not drawn." } }
    }
}

/// Places of what was done, and whether there is room for its number.
fn places(visit: &Visit, axis: &Axis) -> Vec<(usize, f64, bool)> {
    let mut taken = f64::MIN;
    let entries = visit.work.entries.iter().take(SHOWN).enumerate();
    entries
        .map(|(i, entry)| {
            let x = axis.place(entry.at.0 as f64);
            let named = x >= taken;
            if named {
                taken = x + NUMBER;
            }
            (i, x, named)
        })
        .collect()
}

fn bars(trouble: &Trouble, i: usize, axis: &Axis, y: f64, end: SessionTime) -> Markup {
    let class = trouble.severity.name();
    html! {
        text x="0" y=(at(y + 11.0)) { "F" (i + 1) }
        @for episode in &trouble.episodes {
            @let (from, to) = (episode.finding.raised, episode.finding.cleared.unwrap_or(end));
            @let (x0, x1) = (axis.place(from.0 as f64), axis.place(to.0 as f64));
            rect class=(format!("bar {class}")) x=(at(x0)) y=(at(y + 2.0)) width=(at((x1 - x0).max(1.5))) height=(at(ROW - 6.0)) {}
        }
        text.small x=(at(axis.places.1 + 4.0)) y=(at(y + 11.0)) { (class) }
    }
}

/// The overview in a sentence, for those who cannot see it.
fn describe(visit: &Visit) -> String {
    let troubles = visit.troubles.all();
    if troubles.is_empty() {
        return "No finding was raised.".to_owned();
    }
    let one = |(i, t): (usize, &Trouble)| {
        let first = t.first().map(time).unwrap_or_default();
        let end = if t.is_open() { "open at the end" } else { "cleared" };
        format!(
            "F{} {} first at {first}, {}, {end}",
            i + 1,
            title(t.code),
            count(t.times(), "time")
        )
    };
    let all: Vec<String> = troubles.iter().take(ROWS).enumerate().map(one).collect();
    format!("{}.", all.join("; "))
}

/// The curves of a band.
fn band(visit: &Visit, position: usize, name: &str) -> Markup {
    let Some(band) = visit.bands.get(position) else {
        return html! {};
    };
    let curve = |q: Quantity| Some(&band.curves[q.index()]);
    let criteria = visit.fold.analyser().criteria();
    let entry = visit.fold.telemetry().identity().band(position);
    let limit = |value: Option<f64>, name: &str| {
        value.map(|value| Limit {
            value,
            name: format!("{} {name}", number(value)),
        })
    };
    let patience_us = patience(visit);
    let strip = |name: &str, curves, limits: Vec<Option<Limit>>| Strip {
        name: name.to_owned(),
        curves,
        limits: limits.into_iter().flatten().collect(),
        patience_us,
    };
    let strips = [
        strip(
            "Loop margin, dB",
            [curve(Quantity::Margin), None],
            vec![
                limit(Some(criteria.margin.min_db), "least"),
                limit(Some(criteria.margin.critical_db), "critical"),
            ],
        ),
        strip(
            "Gain, dB: downlink (line), uplink (broken)",
            [curve(Quantity::DlGain), curve(Quantity::UlGain)],
            vec![limit(entry.and_then(|b| Some(b.max_dl_gain?.db())), "largest")],
        ),
        strip(
            "Donor input, dBm",
            [curve(Quantity::Input), None],
            vec![
                limit(entry.and_then(|b| Some(b.overload_level?.dbm())), "overload"),
                limit(entry.map(|b| weak_input_dbm(b, criteria)), "weak"),
            ],
        ),
        strip(
            "RSRP of the wanted cell, dBm",
            [curve(Quantity::Rsrp), None],
            Vec::new(),
        ),
        strip(
            "SINR of the wanted cell, dB",
            [curve(Quantity::Sinr), None],
            Vec::new(),
        ),
    ];
    let axis = time_axis(visit.fold.now());
    let mut top = 18.0;
    let mut drawn = Vec::new();
    for strip in &strips {
        if let Some(markup) = strip.draw(&axis, top, STRIP) {
            drawn.push((top, markup));
            top += STRIP + BETWEEN;
        }
    }
    if drawn.is_empty() {
        return html! { p { "No reading of this band." } };
    }
    let bottom = top - BETWEEN;
    let id = format!("band-{position}");
    html! {
        svg role="img" aria-labelledby=(format!("{id}-title {id}-text")) viewBox=(format!("0 0 {WIDTH} {}", bottom + 20.0)) {
            title id=(format!("{id}-title")) { "Band " (name) " over time" }
            desc id=(format!("{id}-text")) { (describe_band(visit, position)) }
            (time_labels(&axis, 18.0, bottom))
            @for (_, markup) in &drawn { (markup) }
        }
    }
}

/// The curves in a sentence.
fn describe_band(visit: &Visit, position: usize) -> String {
    let Some(band) = visit.bands.get(position) else {
        return String::new();
    };
    let one = |q: &Quantity| {
        let (low, high) = band.curves[q.index()].extent()?;
        Some(format!(
            "{} from {} to {} {}",
            q.name(),
            number(low),
            number(high),
            q.unit()
        ))
    };
    let shown = [
        Quantity::Margin,
        Quantity::DlGain,
        Quantity::UlGain,
        Quantity::Input,
        Quantity::Rsrp,
        Quantity::Sinr,
    ];
    let all: Vec<String> = shown.iter().filter_map(one).collect();
    format!("{}.", all.join("; "))
}

/// Longest time between readings that is no gap: three report intervals, at least 1.5 s, as for stale telemetry.
fn patience(visit: &Visit) -> u64 {
    let feature = visit.fold.telemetry().identity().feature;
    let interval_ms = feature.map_or(1_000, |f| u64::from(f.default_interval_ms));
    (3_000 * interval_ms).max(1_500_000)
}

fn log(visit: &Visit) -> Markup {
    let work = &visit.work;
    let left = work.more + work.entries.len().saturating_sub(SHOWN) as u64;
    if work.entries.is_empty() {
        return html! { p { "Nothing was marked, moved or changed while recording." } };
    }
    html! {
        table.log {
            caption.hidden { "What was done and what happened" }
            thead { tr { th scope="col" { "No." } th scope="col" { "Time" } th scope="col" { "Kind" } th scope="col" { "What" } } }
            tbody {
                @for (i, entry) in work.entries.iter().take(SHOWN).enumerate() {
                    tr { th scope="row" { "D" (i + 1) } td { (time(entry.at)) } td { (kind(entry.kind)) } td.words { (said(&entry.what)) } }
                }
            }
        }
        @if left > 0 { p.note { (count(left, "further entry")) " in the recording." } }
    }
}

fn kind(kind: Kind) -> &'static str {
    match kind {
        Kind::Mark => "mark",
        Kind::Antenna => "antenna",
        Kind::Control => "unit asked",
        Kind::Link => "link, unit",
    }
}
