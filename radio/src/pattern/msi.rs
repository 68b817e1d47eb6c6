//! Pattern files in the open MSI text layout.
//!
//! Lines of a key and a value (NAME, FREQUENCY, GAIN, …), then `HORIZONTAL n` and `VERTICAL n`, each with n
//! lines of an angle in degrees and a loss in dB below the peak. Source: general descriptions on public
//! pages (secondary); there is no standard. A gain without unit is in dBd.

use core::fmt::Write as _;

use thiserror::Error;

use crate::range::Check;
use crate::units::{Db, Dbi, Degrees, Megahertz};

/// Most points one cut may have: tenths of a degree.
const MOST_POINTS: usize = 3600;

/// Why a text is no pattern file.
#[derive(Clone, Debug, Error, PartialEq)]
pub enum MsiError {
    /// A line that cannot be understood.
    #[error("pattern file, line {line}: {what}; correct the line or export the pattern again")]
    Line {
        /// Line number, from 1.
        line: usize,
        /// What is wrong with it.
        what: String,
    },
    /// Something a pattern needs is not there.
    #[error("pattern file: {0} is missing; export the pattern again")]
    Missing(&'static str),
}

/// One cut through a pattern: loss below the peak by angle, once round.
#[derive(Clone, Debug, PartialEq)]
pub struct Cut {
    /// Angle (0 ≤ x < 360, rising) and loss in dB.
    points: Vec<(f64, f64)>,
}

impl Cut {
    /// A cut from angles (any order, once round) and losses below the peak; nothing without points, with a
    /// repeated angle, or with a number that is not finite.
    #[must_use]
    pub fn new(points: impl IntoIterator<Item = (Degrees, Db)>) -> Option<Self> {
        let mut points: Vec<_> = points
            .into_iter()
            .map(|(a, l)| (a.0.rem_euclid(360.0) % 360.0, l.0))
            .collect();
        points.sort_by(|a, b| a.0.total_cmp(&b.0));
        let finite = points
            .iter()
            .all(|(angle, loss)| angle.is_finite() && loss.is_finite());
        let distinct = points.windows(2).all(|pair| pair[0].0 < pair[1].0);
        (finite && distinct && !points.is_empty()).then_some(Self { points })
    }

    /// Loss below the peak at any angle, linear in dB between the points of the file.
    #[must_use]
    pub fn loss(&self, angle: Degrees) -> Db {
        let angle = angle.0.rem_euclid(360.0);
        let after = self.points.partition_point(|point| point.0 <= angle);
        let count = self.points.len();
        let (a0, l0) = self.points[(after + count - 1) % count];
        let (a1, l1) = self.points[after % count];
        let span = (a1 - a0).rem_euclid(360.0);
        if span <= 0.0 {
            return Db(l0);
        }
        Db(l0 + (l1 - l0) * (angle - a0).rem_euclid(360.0) / span)
    }

    /// Width between the points nearest to the peak where the level is `down` below it, or nothing where the
    /// cut never falls that far.
    #[must_use]
    pub fn width(&self, down: Db) -> Option<Degrees> {
        let (peak, least) = *self.points.iter().min_by(|a, b| a.1.total_cmp(&b.1))?;
        let limit = least + down.0;
        let reach = |sign: f64| {
            let mut angles: Vec<f64> = self
                .points
                .iter()
                .map(|point| (sign * (point.0 - peak)).rem_euclid(360.0))
                .collect();
            angles.sort_by(f64::total_cmp);
            let mut inside = (0.0, least);
            for angle in angles.into_iter().filter(|angle| *angle > 0.0) {
                let loss = self.loss(Degrees(peak + sign * angle)).0;
                if loss >= limit {
                    return Some(inside.0 + (angle - inside.0) * (limit - inside.1) / (loss - inside.1));
                }
                inside = (angle, loss);
            }
            None
        };
        Some(Degrees(reach(1.0)? + reach(-1.0)?))
    }

    /// Loss straight behind the peak of this cut, relative to the peak.
    #[must_use]
    pub fn front_to_back(&self) -> Option<Db> {
        let (peak, least) = *self.points.iter().min_by(|a, b| a.1.total_cmp(&b.1))?;
        Some(self.loss(Degrees(peak + 180.0)) - Db(least))
    }
}

/// An antenna pattern as a file states it.
#[derive(Clone, Debug, PartialEq)]
pub struct Pattern {
    /// Name of the antenna.
    pub name: String,
    /// Frequency of the measurement, when stated.
    pub frequency: Option<Megahertz>,
    /// Peak gain.
    pub gain: Dbi,
    /// Horizontal cut through the peak.
    pub horizontal: Cut,
    /// Vertical cut through the peak; 0° is the horizon ahead, 90° below it in most files.
    pub vertical: Cut,
    /// Other lines of the head, key and value, in their order.
    pub other: Vec<(String, String)>,
}

impl Pattern {
    /// Reads a pattern file.
    ///
    /// # Errors
    /// Names the line that is not understood, or what is missing.
    pub fn parse(text: &str) -> Result<Self, MsiError> {
        let mut name = String::new();
        let (mut frequency, mut gain, mut horizontal, mut vertical) = (None, None, None, None);
        let mut other = Vec::new();
        let mut lines = text
            .trim_start_matches('\u{feff}')
            .lines()
            .enumerate()
            .map(|(at, line)| (at + 1, line.trim()));
        while let Some((at, line)) = lines.next() {
            let (key, value) = line.split_once(char::is_whitespace).unwrap_or((line, ""));
            let value = value.trim();
            match key.to_ascii_uppercase().as_str() {
                "" => {}
                "NAME" => name = value.to_owned(),
                "FREQUENCY" => {
                    frequency = Some(Megahertz(number(
                        at,
                        value.trim_end_matches(char::is_alphabetic),
                    )?))
                }
                "GAIN" => gain = Some(parse_gain(at, value)?),
                "HORIZONTAL" => horizontal = Some(parse_cut(at, value, &mut lines)?),
                "VERTICAL" => vertical = Some(parse_cut(at, value, &mut lines)?),
                _ if starts_with_number(key) => {
                    return Err(MsiError::Line {
                        line: at,
                        what: "more points than the cut announced".into(),
                    });
                }
                _ => other.push((key.to_owned(), value.to_owned())),
            }
        }
        Ok(Self {
            name,
            frequency,
            gain: gain.ok_or(MsiError::Missing("GAIN"))?,
            horizontal: horizontal.ok_or(MsiError::Missing("HORIZONTAL"))?,
            vertical: vertical.ok_or(MsiError::Missing("VERTICAL"))?,
            other,
        })
    }

    /// Gain towards `azimuth` and `elevation` from the peak. The losses of the two cuts are added, the usual
    /// way to fill space from two cuts (practice): good near them, pessimistic far from both.
    #[must_use]
    pub fn gain_towards(&self, azimuth: Degrees, elevation: Degrees) -> Dbi {
        self.gain - self.horizontal.loss(azimuth) - self.vertical.loss(elevation)
    }

    /// The pattern as a file, with the gain in dBi.
    #[must_use]
    pub fn to_text(&self) -> String {
        let mut text = format!("NAME {}\n", self.name);
        if let Some(frequency) = self.frequency {
            let _ = writeln!(text, "FREQUENCY {}", frequency.0);
        }
        let _ = writeln!(text, "GAIN {} dBi", self.gain.0);
        for (key, value) in &self.other {
            let _ = writeln!(text, "{key} {value}");
        }
        for (title, cut) in [("HORIZONTAL", &self.horizontal), ("VERTICAL", &self.vertical)] {
            let _ = writeln!(text, "{title} {}", cut.points.len());
            for (angle, loss) in &cut.points {
                let _ = writeln!(text, "{angle} {loss}");
            }
        }
        text
    }
}

fn starts_with_number(key: &str) -> bool {
    key.parse::<f64>().is_ok()
}

fn number(line: usize, text: &str) -> Result<f64, MsiError> {
    let number: f64 = text.trim().parse().map_err(|_| MsiError::Line {
        line,
        what: format!("{text:?} is no number"),
    })?;
    Check("pattern file")
        .within("number", number, "", -1e9..=1e9, "check the file")
        .map_err(|error| MsiError::Line {
            line,
            what: error.to_string(),
        })
}

fn parse_gain(line: usize, value: &str) -> Result<Dbi, MsiError> {
    let split = value
        .find(|c: char| c.is_alphabetic() && !matches!(c, 'e' | 'E'))
        .unwrap_or(value.len());
    let (amount, unit) = value.split_at(split);
    let amount = number(line, amount)?;
    match unit.trim().to_ascii_lowercase().as_str() {
        "" | "dbd" => Ok(Dbi::from_dbd(amount)),
        "dbi" => Ok(Dbi(amount)),
        unit => Err(MsiError::Line {
            line,
            what: format!("the gain's unit {unit:?} is neither dBi nor dBd"),
        }),
    }
}

fn parse_cut<'a>(
    at: usize,
    count: &str,
    lines: &mut impl Iterator<Item = (usize, &'a str)>,
) -> Result<Cut, MsiError> {
    let count: usize = count
        .parse()
        .ok()
        .filter(|count| (1..=MOST_POINTS).contains(count))
        .ok_or_else(|| MsiError::Line {
            line: at,
            what: format!("the number of points must be 1 to {MOST_POINTS}"),
        })?;
    let mut points = Vec::with_capacity(count);
    while points.len() < count {
        let (line, text) = lines.next().ok_or_else(|| MsiError::Line {
            line: at,
            what: format!("{count} points announced, {} found", points.len()),
        })?;
        if text.is_empty() {
            continue;
        }
        let (angle, loss) = text
            .split_once(char::is_whitespace)
            .ok_or_else(|| MsiError::Line {
                line,
                what: "a point is an angle and a loss".into(),
            })?;
        points.push((Degrees(number(line, angle)?), Db(number(line, loss)?)));
    }
    Cut::new(points).ok_or_else(|| MsiError::Line {
        line: at,
        what: "an angle occurs twice in this cut".into(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pattern::element::parabolic_cut;
    use proptest::prelude::*;

    fn panel() -> Pattern {
        let cut = |width: f64| {
            Cut::new((0..360).map(|a| {
                let angle = Degrees(f64::from(a));
                (angle, -parabolic_cut(angle, Degrees(width), Db(25.0)).unwrap())
            }))
            .unwrap()
        };
        Pattern {
            name: "invented panel".into(),
            frequency: Some(Megahertz(1900.0)),
            gain: Dbi(9.0),
            horizontal: cut(70.0),
            vertical: cut(60.0),
            other: vec![("POLARIZATION".into(), "vertical".into())],
        }
    }

    #[test]
    fn a_file_reads_back() {
        let pattern = panel();
        assert_eq!(Pattern::parse(&pattern.to_text()), Ok(pattern));
    }

    #[test]
    fn widths_and_back_are_found() {
        let pattern = panel();
        assert!((pattern.horizontal.width(Db(3.0)).unwrap().0 - 70.0).abs() < 0.02);
        assert!((pattern.vertical.width(Db(10.0)).unwrap().0 - 109.54).abs() < 0.05);
        assert_eq!(pattern.horizontal.front_to_back(), Some(Db(25.0)));
        assert_eq!(pattern.horizontal.width(Db(40.0)), None);
        assert_eq!(pattern.gain_towards(Degrees(35.0), Degrees(0.0)), Dbi(6.0));
    }

    #[test]
    fn dialects_are_understood() {
        let text = "name x\r\nFREQUENCY 850 MHz\r\nGAIN 7.85\r\nHORIZONTAL 2\r\n0 0\r\n180 20\r\n\r\nVERTICAL 1\r\n0 0\r\n";
        let pattern = Pattern::parse(text).unwrap();
        assert_eq!(pattern.gain, Dbi(10.0));
        assert_eq!(pattern.frequency, Some(Megahertz(850.0)));
        assert_eq!(pattern.horizontal.loss(Degrees(270.0)), Db(10.0));
        assert_eq!(
            Pattern::parse(&text.replace("7.85", "10 dBi")).unwrap().gain,
            Dbi(10.0)
        );
    }

    #[test]
    fn faults_are_named_by_line() {
        for (text, part) in [
            ("GAIN 7 dBm\n", "line 1"),
            ("NAME x\nGAIN x\n", "line 2"),
            ("HORIZONTAL 0\n", "line 1"),
            ("HORIZONTAL 3\n0 0\n1 1\n", "3 points announced, 2 found"),
            ("HORIZONTAL 2\n0 0\n0 1\n", "twice"),
            ("HORIZONTAL 1\n0 0\n1 1\n", "more points"),
            ("HORIZONTAL 1\n0 nan\n", "line 2"),
            ("NAME x\n", "GAIN is missing"),
            ("GAIN 3\n", "HORIZONTAL is missing"),
        ] {
            let error = Pattern::parse(text).unwrap_err().to_string();
            assert!(error.contains(part), "{text:?}: {error}");
        }
    }

    proptest! {
        #[test]
        fn no_text_panics(text in "(?s)((GAIN|HORIZONTAL|VERTICAL|NAME|[0-9]{1,3}) [-0-9.e ]{0,6}\n){0,8}") {
            let _ = Pattern::parse(&text);
        }
    }
}
