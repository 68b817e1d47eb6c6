//! A value of a band over the session, as a strip: the mean as a line within the range of each span of time. Gaps stay
//! gaps.

use crate::event::SessionTime;
use crate::report::curve::{Curve, Span};
use crate::report::plot::{Axis, DECIBELS, SECONDS, at, ticks};
use crate::report::text::{number, time};
use maud::{Markup, html};
use std::fmt::Write;

/// Units of the drawing: about half a millimetre on paper.
pub(super) const WIDTH: f64 = 720.0;
const LEFT: f64 = 46.0;
const RIGHT: f64 = 74.0;

/// The time axis that all drawings of a report share.
pub(super) fn time_axis(end: SessionTime) -> Axis {
    Axis {
        values: (0.0, (end.0.max(1)) as f64),
        places: (LEFT, WIDTH - RIGHT),
    }
}

/// Labels along the bottom, `y` being where the axis lies.
pub(super) fn time_labels(axis: &Axis, top: f64, y: f64) -> Markup {
    let seconds = (axis.values.0 / 1e6, axis.values.1 / 1e6);
    html! {
        @for tick in ticks(seconds, 9, SECONDS) {
            @let x = axis.place(tick * 1e6);
            line.grid x1=(at(x)) y1=(at(top)) x2=(at(x)) y2=(at(y)) {}
            text x=(at(x)) y=(at(y + 13.0)) text-anchor="middle" { (time(SessionTime((tick * 1e6) as u64))) }
        }
    }
}

/// A line drawn across a strip.
pub(super) struct Limit {
    pub(super) value: f64,
    pub(super) name: String,
}

/// One strip.
pub(super) struct Strip<'a> {
    pub(super) name: String,
    /// The curve, and another one drawn broken.
    pub(super) curves: [Option<&'a Curve>; 2],
    pub(super) limits: Vec<Limit>,
    /// Longest time without a value that is no gap, µs.
    pub(super) patience_us: u64,
}

impl Strip<'_> {
    fn curves(&self) -> impl Iterator<Item = &Curve> {
        self.curves.iter().flatten().copied()
    }

    /// Range of the values with the limits in it, in whole fives; `None` without values.
    fn range(&self) -> Option<(f64, f64)> {
        let (low, high) = self
            .curves()
            .filter_map(Curve::extent)
            .reduce(|a, b| (a.0.min(b.0), a.1.max(b.1)))?;
        // A limit far away would only flatten the curve.
        let near = |v: &f64| *v > low - 25.0 && *v < high + 25.0;
        let limits = || self.limits.iter().map(|l| l.value).filter(near);
        let (low, high) = (limits().fold(low, f64::min), limits().fold(high, f64::max));
        let (low, high) = ((low / 5.0).floor() * 5.0, (high / 5.0).ceil() * 5.0);
        Some(if high - low < 10.0 {
            (low - 5.0, high + 5.0)
        } else {
            (low, high)
        })
    }

    /// Draws the strip between `top` and `top + height`; nothing if it has no values.
    pub(super) fn draw(&self, x: &Axis, top: f64, height: f64) -> Option<Markup> {
        let range = self.range()?;
        let y = Axis {
            values: range,
            places: (top + height, top),
        };
        let shown = |l: &&Limit| range.0 <= l.value && l.value <= range.1;
        Some(html! {
            rect.frame x=(at(LEFT)) y=(at(top)) width=(at(WIDTH - LEFT - RIGHT)) height=(at(height)) {}
            @for (from, to) in self.gaps(x) {
                rect.gap x=(at(from)) y=(at(top)) width=(at(to - from)) height=(at(height)) {}
                @if to - from > 46.0 {
                    text.gap x=(at(f64::midpoint(from, to))) y=(at(top + height / 2.0 + 4.0)) text-anchor="middle" { "no data" }
                }
            }
            @for tick in ticks(range, 4, DECIBELS) {
                @let place = y.place(tick);
                line.grid x1=(at(LEFT)) y1=(at(place)) x2=(at(WIDTH - RIGHT)) y2=(at(place)) {}
                text x=(at(LEFT - 5.0)) y=(at(place + 4.0)) text-anchor="end" { (number(tick)) }
            }
            @for limit in self.limits.iter().filter(shown) {
                @let place = y.place(limit.value);
                line.limit x1=(at(LEFT)) y1=(at(place)) x2=(at(WIDTH - RIGHT)) y2=(at(place)) {}
                text.limit x=(at(WIDTH - RIGHT + 4.0)) y=(at(place + 4.0)) { (limit.name) }
            }
            @for (curve, broken) in self.curves.iter().zip([false, true]) {
                @if let Some(curve) = curve {
                    @for run in runs(curve, self.patience_us) {
                        @if !broken { path.range d=(range_path(&run, x, &y)) {} }
                        path.curve.broken[broken] d=(mean_path(&run, x, &y)) {}
                    }
                }
            }
            text.name x=(at(LEFT)) y=(at(top - 4.0)) { (self.name) }
        })
    }

    /// Where no curve has a value for longer than it should take, as places.
    fn gaps(&self, x: &Axis) -> Vec<(f64, f64)> {
        let Some(curve) = self.curves().next() else {
            return Vec::new();
        };
        let half = curve.span_us() / 2;
        let mut edges = vec![0];
        for (middle, _) in curve.points() {
            edges.extend([middle.saturating_sub(half), middle + half]);
        }
        edges.push(x.values.1 as u64);
        edges
            .chunks_exact(2)
            .filter(|pair| pair[1].saturating_sub(pair[0]) > self.patience_us)
            .map(|pair| (x.place(pair[0] as f64), x.place(pair[1] as f64)))
            .collect()
    }
}

/// Points without a gap between them.
fn runs(curve: &Curve, patience_us: u64) -> Vec<Vec<(u64, Span)>> {
    let most = curve.span_us() + patience_us;
    let mut runs: Vec<Vec<(u64, Span)>> = Vec::new();
    for point in curve.points() {
        match runs.last_mut() {
            Some(run) if run.last().is_some_and(|last| point.0 - last.0 <= most) => run.push(point),
            _ => runs.push(vec![point]),
        }
    }
    runs
}

fn mean_path(run: &[(u64, Span)], x: &Axis, y: &Axis) -> String {
    let mut path = String::new();
    for (i, (middle, span)) in run.iter().enumerate() {
        let letter = if i == 0 { 'M' } else { 'L' };
        let _ = write!(
            path,
            "{letter}{} {}",
            at(x.place(*middle as f64)),
            at(y.place(span.mean()))
        );
    }
    if run.len() == 1 {
        // A line of no length is drawn as a dot by its round ends.
        path.push_str("h0.1");
    }
    path
}

/// Outline of the range: along the largest values, and back along the smallest.
fn range_path(run: &[(u64, Span)], x: &Axis, y: &Axis) -> String {
    let mut path = String::new();
    let there = run.iter().map(|(m, s)| (*m, s.max));
    let back = run.iter().rev().map(|(m, s)| (*m, s.min));
    for (i, (middle, value)) in there.chain(back).enumerate() {
        let letter = if i == 0 { 'M' } else { 'L' };
        let _ = write!(
            path,
            "{letter}{} {}",
            at(x.place(middle as f64)),
            at(y.place(value))
        );
    }
    path.push('Z');
    path
}

#[cfg(test)]
mod tests {
    use super::*;

    fn strip(curve: &Curve) -> Strip<'_> {
        Strip {
            name: "Loop margin, dB".to_owned(),
            curves: [Some(curve), None],
            limits: vec![Limit {
                value: 15.0,
                name: "least".to_owned(),
            }],
            patience_us: 1_500_000,
        }
    }

    #[test]
    fn a_gap_breaks_the_line_and_is_marked() {
        let mut curve = Curve::default();
        for second in (0..10).chain(40..60) {
            curve.push(SessionTime::from_millis(1_000 * second), 20.0);
        }
        assert_eq!(runs(&curve, 1_500_000).len(), 2);
        let axis = time_axis(SessionTime::from_millis(60_000));
        let [(from, to)] = strip(&curve).gaps(&axis)[..] else {
            panic!()
        };
        assert!((axis.place(9.25e6) - from).abs() < 0.1 && (axis.place(40e6) - to).abs() < 0.1);
        let drawn = strip(&curve).draw(&axis, 20.0, 60.0).unwrap().into_string();
        assert_eq!(drawn.matches("<path class=\"curve\"").count(), 2);
        assert!(drawn.contains("no data"), "{drawn}");
    }

    #[test]
    fn nothing_is_drawn_of_nothing() {
        let curve = Curve::default();
        assert!(
            strip(&curve)
                .draw(&time_axis(SessionTime(1)), 0.0, 60.0)
                .is_none()
        );
    }
}
