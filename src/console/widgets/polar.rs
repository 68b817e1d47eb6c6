//! Levels over the bearing, north up: dots finer than a character, drawn in braille, or in ASCII by how many dots a
//! character holds.

use crate::console::Look;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

/// Dots of a character: across and down. A character is about twice as high as wide, so these are square.
const ACROSS: usize = 2;
const DOWN: usize = 4;

/// A plane of dots over an area; the centre is the origin, the outermost ring has radius 1.
pub(in crate::console) struct Polar {
    area: Rect,
    /// Dots and style of each character.
    cells: Vec<(u8, Style)>,
    radius: f64,
}

impl Polar {
    /// An empty plane; the ring leaves one character free on each side, for signs.
    pub(in crate::console) fn new(area: Rect) -> Self {
        let (columns, rows) = (usize::from(area.width), usize::from(area.height));
        let across = (columns * ACROSS).min(rows * DOWN) as f64;
        Self {
            area,
            cells: vec![(0, Style::default()); columns * rows],
            radius: (across / 2.0 - DOWN as f64 - 0.5).max(1.0),
        }
    }

    /// Place on the plane in dots: the bearing clockwise from north, the radius in parts of the ring.
    fn at(&self, bearing_deg: f64, radius: f64) -> (f64, f64) {
        let angle = bearing_deg.to_radians();
        let (middle_x, middle_y) = (
            f64::from(self.area.width) * ACROSS as f64 / 2.0,
            f64::from(self.area.height) * DOWN as f64 / 2.0,
        );
        let r = radius * self.radius;
        (middle_x + r * angle.sin(), middle_y - r * angle.cos())
    }

    fn dot(&mut self, (x, y): (f64, f64), style: Style) {
        if !(x >= 0.0 && y >= 0.0) {
            return;
        }
        let (x, y) = (x as usize, y as usize);
        let (column, row) = (x / ACROSS, y / DOWN);
        if column >= usize::from(self.area.width) || row >= usize::from(self.area.height) {
            return;
        }
        // Bits of a braille character: the upper three rows column by column, then the lowest row.
        let bit = match (x % ACROSS, y % DOWN) {
            (column, 3) => 6 + column,
            (column, row) => 3 * column + row,
        };
        let cell = &mut self.cells[row * usize::from(self.area.width) + column];
        *cell = (cell.0 | 1 << bit, style);
    }

    /// A straight line between two places, given by bearing and radius.
    pub(in crate::console) fn line(&mut self, from: (f64, f64), to: (f64, f64), style: Style) {
        self.stroke(from, to, 1, style);
    }

    /// The same with every fourth dot only.
    pub(in crate::console) fn dots(&mut self, from: (f64, f64), to: (f64, f64), style: Style) {
        self.stroke(from, to, 4, style);
    }

    fn stroke(&mut self, from: (f64, f64), to: (f64, f64), every: usize, style: Style) {
        let (a, b) = (self.at(from.0, from.1), self.at(to.0, to.1));
        let steps = (b.0 - a.0).abs().max((b.1 - a.1).abs()).ceil().clamp(1.0, 1e4);
        for i in (0..=steps as usize).step_by(every) {
            let t = i as f64 / steps;
            self.dot((a.0 + t * (b.0 - a.0), a.1 + t * (b.1 - a.1)), style);
        }
    }

    /// An arc of a ring, clockwise.
    pub(in crate::console) fn arc(&mut self, radius: f64, from_deg: f64, to_deg: f64, style: Style) {
        let turn = (to_deg - from_deg).rem_euclid(360.0);
        let turn = if turn == 0.0 { 360.0 } else { turn };
        let steps = (turn.to_radians() * self.radius * radius.abs())
            .ceil()
            .clamp(1.0, 1e4);
        for i in 0..=steps as usize {
            let place = self.at(from_deg + turn * i as f64 / steps, radius);
            self.dot(place, style);
        }
    }

    /// Draws the dots.
    pub(in crate::console) fn render(&self, buf: &mut Buffer, look: &Look) {
        let width = usize::from(self.area.width).max(1);
        for (i, (bits, style)) in self.cells.iter().enumerate().filter(|(_, (bits, _))| *bits > 0) {
            let place = (self.area.x + (i % width) as u16, self.area.y + (i / width) as u16);
            if let Some(cell) = buf.cell_mut(place) {
                let symbol = match bits.count_ones() {
                    _ if !look.is_ascii() => char::from_u32(0x2800 + u32::from(*bits)).unwrap_or(' '),
                    0..=1 => '.',
                    2..=3 => ':',
                    _ => '#',
                };
                cell.set_char(symbol).set_style(*style);
            }
        }
    }

    /// Writes a sign over the dots, its middle at a place.
    pub(in crate::console) fn sign(
        &self,
        text: &str,
        (bearing_deg, radius): (f64, f64),
        style: Style,
        buf: &mut Buffer,
    ) {
        let (x, y) = self.at(bearing_deg, radius);
        let length = text.chars().count();
        let most = usize::from(self.area.width).saturating_sub(length);
        let column = ((x / ACROSS as f64 - length as f64 / 2.0).round().max(0.0) as usize).min(most);
        let row = ((y / DOWN as f64).max(0.0) as u16).min(self.area.height.saturating_sub(1));
        if length <= usize::from(self.area.width) && self.area.height > 0 {
            buf.set_string(self.area.x + column as u16, self.area.y + row, text, style);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::console::{ColorDepth, ThemeName};

    fn drawn(ascii: bool, width: u16, height: u16) -> Vec<String> {
        let area = Rect::new(0, 0, width, height);
        let mut buf = Buffer::empty(area);
        let look = Look::new(ThemeName::Dark, ColorDepth::None, ascii);
        let mut polar = Polar::new(area);
        polar.arc(1.0, 0.0, 360.0, Style::default());
        polar.line((90.0, 0.0), (90.0, 0.8), Style::default());
        polar.render(&mut buf, &look);
        polar.sign("N", (0.0, 1.2), Style::default(), &mut buf);
        (0..height)
            .map(|y| (0..width).map(|x| buf[(x, y)].symbol()).collect())
            .collect()
    }

    #[test]
    fn east_is_right_and_north_is_up() {
        let rows = drawn(true, 20, 10);
        assert!(rows[0].contains('N'), "{rows:#?}");
        let (left, right) = rows[5].split_at(10);
        assert!(right.matches([':', '#', '.']).count() > 5, "{rows:#?}");
        assert!(left.matches([':', '#', '.']).count() <= 2, "{rows:#?}");
        assert!(rows.concat().is_ascii());
        assert!(
            drawn(false, 20, 10)
                .concat()
                .chars()
                .any(|c| ('\u{2801}'..='\u{28ff}').contains(&c))
        );
    }

    #[test]
    fn any_area_draws() {
        for (width, height) in [(0, 0), (1, 1), (3, 40), (200, 2)] {
            drawn(true, width, height);
        }
    }
}
