//! A curve over time: each column keeps the least and the largest value of its time, and a column without readings
//! stays empty.

use crate::console::Look;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

/// Least and largest value of a column's time.
pub(in crate::console) type Column = Option<(f64, f64)>;

/// Sorts values into columns. `at` is the place on the time axis, 0 to 1; values outside it only lead a line in or
/// out. From one reading to the next without a gap the columns between hold the value before.
pub(in crate::console) fn columns(
    points: impl Iterator<Item = (f64, Option<f64>, bool)>,
    count: usize,
) -> Vec<Column> {
    let mut columns: Vec<Column> = vec![None; count];
    let mut before: Option<(i64, f64)> = None;
    for (at, value, after_gap) in points {
        let here = (at * count as f64).floor() as i64;
        if let Some((from, held)) = before
            && !after_gap
        {
            (from + 1..here).for_each(|c| put(&mut columns, c, held));
        }
        before = value.map(|v| (here, v));
        if let Some(v) = value {
            put(&mut columns, here, v);
        }
    }
    columns
}

fn put(columns: &mut [Column], at: i64, value: f64) {
    if let Some(column) = usize::try_from(at).ok().and_then(|c| columns.get_mut(c)) {
        let (low, high) = column.unwrap_or((value, value));
        *column = Some((low.min(value), high.max(value)));
    }
}

/// Draws columns over a scale; `style` colours each by its least and largest value.
pub(in crate::console) fn draw(
    columns: &[Column],
    (low, high): (f64, f64),
    style: impl Fn(f64, f64) -> Style,
    area: Rect,
    buf: &mut Buffer,
    look: &Look,
) {
    // Two steps per row: half a row is the finest that every font draws alike.
    let steps = f64::from(area.height) * 2.0;
    let step = |v: f64| (((v - low) / (high - low)).clamp(0.0, 1.0) * (steps - 1.0)).round() as u16;
    for (column, x) in columns.iter().zip(area.left()..area.right()) {
        let Some((least, largest)) = *column else { continue };
        let (from, to) = (step(least), step(largest));
        for row in from / 2..=to / 2 {
            let (bottom, top) = (row * 2 >= from, row * 2 < to);
            let symbol = match (bottom, top) {
                _ if look.is_ascii() => "#",
                (true, true) => "█",
                (true, false) => "▄",
                (false, _) => "▀",
            };
            let y = area.bottom().saturating_sub(1).saturating_sub(row);
            if let Some(cell) = buf.cell_mut((x, y)) {
                cell.set_symbol(symbol).set_style(style(least, largest));
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_column_keeps_its_extremes_and_a_gap_stays_empty() {
        let points = [
            (0.0, Some(1.0), false),
            (0.1, Some(5.0), false),
            (0.55, Some(3.0), false),
            (0.95, Some(2.0), true),
        ];
        assert_eq!(
            columns(points.into_iter(), 5),
            [
                Some((1.0, 5.0)),
                Some((5.0, 5.0)),
                Some((3.0, 3.0)),
                None,
                Some((2.0, 2.0))
            ]
        );
    }

    #[test]
    fn an_unknown_value_is_a_gap_too() {
        let points = [
            (0.0, Some(1.0), false),
            (0.5, None, false),
            (0.9, Some(1.0), false),
        ];
        assert_eq!(
            columns(points.into_iter(), 4),
            [Some((1.0, 1.0)), Some((1.0, 1.0)), None, Some((1.0, 1.0))]
        );
    }

    #[test]
    fn what_lies_outside_the_axis_only_leads_in() {
        let points = [
            (-0.5, Some(1.0), false),
            (0.6, Some(2.0), false),
            (1.4, Some(9.0), false),
        ];
        assert_eq!(
            columns(points.into_iter(), 2),
            [Some((1.0, 1.0)), Some((2.0, 2.0))]
        );
    }
}
