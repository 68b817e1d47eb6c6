//! A band on the page: its values with their limits and words.

use crate::console::Quantity;
use crate::console::condition::{Level, age, is_current, level};
use crate::console::quantity::held_by_guard;
use crate::event::SessionTime;
use crate::fold::Fold;
use crate::telemetry::Reading;
use serde::Serialize;

/// A band.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BandPicture {
    /// Its name.
    pub name: String,
    /// Session time of its last reading, s.
    pub reading_t_s: f64,
    /// Age of that reading, s.
    pub age_s: f64,
    /// Whether it may be shown as current.
    pub current: bool,
    /// How the band stands: `good`, `info`, `warn` or `bad`.
    pub level: &'static str,
    /// The oscillation guard acts on it or has given up.
    pub guard: bool,
    /// Its values.
    pub values: Vec<ValuePicture>,
}

/// A value of a band.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ValuePicture {
    /// Name.
    pub name: &'static str,
    /// Unit.
    pub unit: &'static str,
    /// The value; `None`: not known.
    pub value: Option<f64>,
    /// How it stands: `good`, `info`, `warn` or `bad`.
    pub level: &'static str,
    /// The same in a word; empty where nothing says what is good.
    pub word: &'static str,
    /// Ends of a useful scale.
    pub scale: [f64; 2],
    /// Lower and upper limit: of the input weak and overload, of the margin critical and too small.
    pub limits: [Option<f64>; 2],
}

impl BandPicture {
    /// The band at this position; `None` before its first reading.
    pub(super) fn of(fold: &Fold, position: usize, now: SessionTime) -> Option<Self> {
        let reading = fold.bands().get(position)?.latest?;
        Some(Self {
            name: fold.telemetry().identity().name(position).to_owned(),
            reading_t_s: reading.at.seconds(),
            age_s: age(fold, position, now)?.as_secs_f64(),
            current: is_current(fold, position, now),
            level: word(level(fold, position)),
            guard: held_by_guard(&reading).is_some(),
            values: Quantity::ALL
                .iter()
                .map(|quantity| ValuePicture::of(fold, *quantity, &reading))
                .collect(),
        })
    }
}

impl ValuePicture {
    fn of(fold: &Fold, quantity: Quantity, reading: &Reading) -> Self {
        let (level, said) = quantity.stands(fold, reading);
        let (low, high) = quantity.scale();
        Self {
            name: quantity.name(),
            unit: quantity.unit(),
            value: quantity.of(reading),
            level: word(level),
            word: said,
            scale: [low, high],
            limits: quantity.limits(fold, reading.position),
        }
    }
}

fn word(level: Level) -> &'static str {
    match level {
        Level::Good => "good",
        Level::Info => "info",
        Level::Warn => "warn",
        Level::Bad => "bad",
    }
}
