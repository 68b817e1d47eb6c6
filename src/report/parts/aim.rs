//! The aim of the donor antenna: a polar plot, a table, and what was chosen.

use super::{section as framed, wide};
use crate::aiming::{Outcome, StopOutcome};
use crate::report::Visit;
use crate::report::plot::{Axis, DECIBELS, at, ticks};
use crate::report::text::{change, number, span, tenths};
use maud::{Markup, html};
use std::fmt::Write;
use std::time::Duration;

const CENTRE: f64 = 160.0;
const RADIUS: f64 = 110.0;
/// Below the best by this much, nothing is drawn further in.
const DEEPEST_DB: f64 = 40.0;

/// `None` where no aim was made.
pub(in crate::report) fn section(visit: &Visit) -> Option<Markup> {
    let outcome = visit.aim.as_ref()?;
    Some(framed(
        "aim",
        "Aiming the donor antenna",
        html! {
            p { (chosen(outcome)) }
            div.beside {
                (plot(outcome))
                (wide("Bearings", table(outcome)))
            }
            p.note { "Bearings as the technician counted them, true or relative to the mount. The bars are 95 % intervals. "
                (purpose(outcome.objective)) }
        },
    ))
}

fn chosen(outcome: &Outcome) -> String {
    let mut text = format!(
        "Chosen: {}°, within 1 dB of the best bearing with probability {:.2}; {} dB over the first bearing, {} dB over the \
         median. {} of dwell, {} turns.",
        number(outcome.best_bearing_deg),
        outcome.probability_within_1db,
        change(outcome.gain_over_start_db),
        change(outcome.gain_over_median_db),
        span(Duration::from_secs_f64(outcome.total_dwell_s.max(0.0))),
        outcome.turns,
    );
    if let (Some(peak), Some(low), Some(high)) = (
        outcome.peak_bearing_deg,
        outcome.peak_low_deg,
        outcome.peak_high_deg,
    ) {
        let _ = write!(
            text,
            " The peak of its cell lies at {peak:.0}° ({low:.0}° to {high:.0}°)."
        );
    }
    if !outcome.equal.is_empty() {
        let equal: Vec<String> = outcome.equal.iter().map(|b| format!("{}°", number(*b))).collect();
        let _ = write!(text, " As good: {}.", equal.join(", "));
    }
    if let Some(next) = outcome.next_best_bearing_deg {
        let _ = write!(text, " For fallback: {}°.", number(next));
    }
    if !outcome.complete {
        text.push_str(" The aim was not finished.");
    }
    text
}

fn purpose(objective: &str) -> &'static str {
    match objective {
        "level" => "Score: level of the wanted cell (RSRP), dBm.",
        "quality" => "Score: quality of the wanted cell (SINR), dB.",
        _ => {
            "Score: what the rooms will get, dB: the wanted cell's level with the gain that will be in effect, and its quality."
        }
    }
}

fn plot(outcome: &Outcome) -> Markup {
    let best = outcome.stops.iter().map(|s| s.high).fold(f64::MIN, f64::max);
    let worst = outcome.stops.iter().map(|s| s.mean).fold(f64::MAX, f64::min);
    // Whole fives; the centre a little below the worst, or as deep as is worth drawing.
    let rim = (best / 5.0).ceil() * 5.0;
    let centre = ((worst - 5.0).max(rim - DEEPEST_DB) / 5.0).floor() * 5.0;
    let r = Axis {
        values: (centre, rim),
        places: (0.0, RADIUS),
    };
    html! {
        svg.polar role="img" aria-labelledby="polar-title polar-text" viewBox="0 0 320 320" {
            title id="polar-title" { "Score by bearing" }
            desc id="polar-text" { (describe(outcome)) }
            @for ring in ticks((centre, rim), 5, DECIBELS).into_iter().filter(|v| *v > centre) {
                circle.grid cx=(at(CENTRE)) cy=(at(CENTRE)) r=(at(r.place(ring))) {}
                text.small x=(at(CENTRE + 3.0)) y=(at(CENTRE - r.place(ring) + 11.0)) { (number(ring)) }
            }
            @for degrees in [0.0, 90.0, 180.0, 270.0] {
                @let (x, y) = point(degrees, RADIUS);
                line.grid x1=(at(CENTRE)) y1=(at(CENTRE)) x2=(at(x)) y2=(at(y)) {}
            }
            @if let (Some(low), Some(high)) = (outcome.peak_low_deg, outcome.peak_high_deg) {
                path.peak d=(arc(low, high)) {}
            }
            @for stop in &outcome.stops {
                @let chosen = stop.bearing_deg == outcome.best_bearing_deg;
                (spoke(stop, chosen, &r))
            }
        }
    }
}

/// A stop: its interval as a bar along its bearing, its mean as a dot, its bearing at the rim.
fn spoke(stop: &StopOutcome, chosen: bool, r: &Axis) -> Markup {
    let ((x0, y0), (x1, y1)) = (
        point(stop.bearing_deg, r.place(stop.low)),
        point(stop.bearing_deg, r.place(stop.high)),
    );
    let (x, y) = point(stop.bearing_deg, r.place(stop.mean));
    let (lx, ly) = point(stop.bearing_deg, RADIUS + 14.0);
    html! {
        line.interval x1=(at(x0)) y1=(at(y0)) x2=(at(x1)) y2=(at(y1)) {}
        @if chosen {
            @let (rx, ry) = point(stop.bearing_deg, RADIUS);
            line.chosen x1=(at(CENTRE)) y1=(at(CENTRE)) x2=(at(rx)) y2=(at(ry)) {}
        }
        circle.stop.chosen[chosen] cx=(at(x)) cy=(at(y)) r=(if chosen { "6" } else { "3.5" }) {}
        text.chosen[chosen] x=(at(lx)) y=(at(ly + 4.0)) text-anchor=(anchor(lx)) {
            (number(stop.bearing_deg)) "°" @if chosen { " ★" }
        }
    }
}

/// Which end of a label lies at its place, so that it grows away from the plot.
fn anchor(x: f64) -> &'static str {
    match x - CENTRE {
        off if off > 20.0 => "start",
        off if off < -20.0 => "end",
        _ => "middle",
    }
}

/// Place of a bearing at a distance from the centre; 0° is up, clockwise.
fn point(degrees: f64, distance: f64) -> (f64, f64) {
    let radians = degrees.to_radians();
    (
        CENTRE + distance * libm::sin(radians),
        CENTRE - distance * libm::cos(radians),
    )
}

/// The peak's interval as an arc at the rim, clockwise.
fn arc(low: f64, high: f64) -> String {
    let width = (high - low).rem_euclid(360.0);
    let ((x0, y0), (x1, y1)) = (point(low, RADIUS + 4.0), point(high, RADIUS + 4.0));
    let large = u8::from(width > 180.0);
    let r = at(RADIUS + 4.0);
    format!("M{} {}A{r} {r} 0 {large} 1 {} {}", at(x0), at(y0), at(x1), at(y1))
}

fn describe(outcome: &Outcome) -> String {
    let one = |s: &StopOutcome| format!("{}°: {}", number(s.bearing_deg), tenths(s.mean));
    let all: Vec<String> = outcome.stops.iter().map(one).collect();
    format!("Mean score by bearing: {}.", all.join(", "))
}

fn table(outcome: &Outcome) -> Markup {
    html! {
        table.figures {
            caption { "Bearings" }
            thead {
                tr { @for name in ["Bearing", "Mean", "95 % interval", "Dwell", "Visits", "Cells", "Needs"] { th scope="col" { (name) } } }
            }
            tbody {
                @for stop in &outcome.stops {
                    @let chosen = stop.bearing_deg == outcome.best_bearing_deg;
                    tr.chosen[chosen] {
                        th scope="row" { (number(stop.bearing_deg)) "°" @if chosen { " ★ chosen" } }
                        td { (tenths(stop.mean)) }
                        td { (tenths(stop.low)) " to " (tenths(stop.high)) }
                        td { @if stop.visits == 0 { "foretold" } @else { (number(stop.dwell_s)) " s" } }
                        td { (stop.visits) }
                        td { (stop.cells) }
                        td { @if stop.needs_attenuation_db > 0.0 { (number(stop.needs_attenuation_db)) " dB pad" } }
                    }
                }
            }
        }
    }
}
