//! A table with a column for each band: what it can do, and what was measured since the last change.

use super::{section as framed, wide};
use crate::report::Visit;
use crate::report::quantity::Quantity;
use crate::report::text::{count, number, or_unknown, span, tenths, time};
use booster_profile::{Band, TenthDb, TenthDbm};
use maud::{Markup, html};

pub(in crate::report) fn section(visit: &Visit) -> Markup {
    let bands = &visit.fold.telemetry().identity().bands.bands;
    let body = if bands.is_empty() {
        html! { p { "The unit did not say which bands it has." } }
    } else {
        html! {
            p { (basis(visit)) }
            (wide("Bands", table(visit, bands)))
            p.note { "Medians; below them the range that holds 90 % of the readings (5 % to 95 %). The loop margin is the \
                smaller of both directions: isolation minus gain. Levels are good to the accuracy that the unit states." }
        }
    };
    framed("bands", "Bands", body)
}

/// What the measured rows rest on.
fn basis(visit: &Visit) -> String {
    let since = match visit.settled_since.0 {
        0 => "over the whole session".to_owned(),
        _ => format!(
            "since the last change at {}, for {}",
            time(visit.settled_since),
            span(visit.fold.now() - visit.settled_since)
        ),
    };
    let readings = visit.bands.iter().map(|b| b.settled_readings).sum();
    format!("Measured {since} ({}).", count(readings, "reading"))
}

fn table(visit: &Visit, bands: &[Band]) -> Markup {
    let identity = visit.fold.telemetry().identity();
    let mhz = |khz: u32| format!("{} MHz", number(f64::from(khz) / 1e3));
    let db = |v: Option<TenthDb>| v.map(|v| format!("{} dB", number(v.db())));
    let dbm = |v: Option<TenthDbm>| v.map(|v| format!("{} dBm", number(v.dbm())));
    let both = |dl: Option<String>, ul: Option<String>| match (dl, ul) {
        (None, None) => None,
        (dl, ul) => Some(format!("{} / {}", or_dash(dl), or_dash(ul))),
    };
    let row = |name: &str, value: &dyn Fn(&Band) -> Option<String>| {
        html! { tr { th scope="row" { (name) } @for band in bands { td { (or_unknown(value(band))) } } } }
    };
    html! {
        table.figures {
            caption { "Each band: what it can do and what was measured" }
            thead {
                tr { th scope="col" { "" span.hidden { "Value" } }
                    @for position in 0..bands.len() { th scope="col" { (identity.name(position)) } } }
            }
            tbody {
                (row("Technology", &|b| Some(format!("{} {}", b.technology.name(), b.duplex.name()).to_uppercase())))
                (row("Centre, downlink / uplink", &|b| Some(format!("{} / {}", mhz(b.dl_centre_khz), mhz(b.ul_centre_khz)))))
                (row("Width", &|b| Some(mhz(b.bandwidth_khz))))
                (row("Largest gain, DL / UL", &|b| both(db(b.max_dl_gain), db(b.max_ul_gain))))
                (row("Rated output, DL / UL", &|b| both(dbm(b.rated_dl_output), dbm(b.rated_ul_output))))
                (row("Overload from", &|b| dbm(b.overload_level)))
                (row("Stated accuracy", &|b| b.accuracy.map(|v| format!("± {} dB", number(v.db())))))
                @for quantity in Quantity::ALL { (measured(visit, bands.len(), quantity)) }
                tr { th scope="row" { "State at the end" }
                    @for position in 0..bands.len() { td { (or_unknown(state(visit, position))) } } }
            }
        }
    }
}

/// A measured row; left out where no band gives the value.
fn measured(visit: &Visit, bands: usize, quantity: Quantity) -> Markup {
    let of = |position: usize| visit.bands.get(position)?.spreads[quantity.index()].percentiles();
    if (0..bands).all(|p| of(p).is_none()) {
        return html! {};
    }
    html! {
        tr { th scope="row" { (quantity.name()) ", " (quantity.unit()) }
            @for position in 0..bands {
                td {
                    @match of(position) {
                        Some(p) => { b { (tenths(p.median)) } br; small { (tenths(p.p5)) " to " (tenths(p.p95)) } }
                        None => { (or_unknown(None)) }
                    }
                }
            }
        }
    }
}

fn state(visit: &Visit, position: usize) -> Option<String> {
    let telemetry = visit.fold.bands().get(position)?.latest?.telemetry;
    let words = |name: &str| name.replace('-', " ");
    Some(format!(
        "DL {}, UL {}",
        words(telemetry.dl_state.name()),
        words(telemetry.ul_state.name())
    ))
}

fn or_dash(text: Option<String>) -> String {
    text.unwrap_or_else(|| "–".to_owned())
}
