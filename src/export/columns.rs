//! The columns of a table of readings: one list for every format.

use crate::event::SessionTime;
use crate::telemetry::Reading;
use booster_profile::{Reasons, TenthDb, TenthDbm};
use jiff::Timestamp;
use std::borrow::Cow;

/// A reading with what tells where it belongs.
#[derive(Clone, Copy, Debug)]
pub struct Row<'a> {
    /// Name of the session.
    pub session: &'a str,
    /// Session time zero.
    pub started: Option<Timestamp>,
    /// Name of the band.
    pub band: &'a str,
    /// The reading.
    pub reading: &'a Reading,
    /// It arrived after a later one and was not analysed.
    pub late: bool,
}

impl Row<'_> {
    /// Time of the reading, µs since 1970-01-01 UTC.
    pub fn time_us(&self) -> Option<i64> {
        time_us(self.started, self.reading.at)
    }
}

/// A moment of a session, µs since 1970-01-01 UTC; `None` where the session's beginning is not known.
pub(super) fn time_us(started: Option<Timestamp>, at: SessionTime) -> Option<i64> {
    started?.as_microsecond().checked_add_unsigned(at.0)
}

/// Type of a column.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Text, never unknown.
    Text,
    /// Time of day, µs since 1970 UTC.
    Time,
    /// Whole number.
    Whole,
    /// Number.
    Number,
    /// Yes or no.
    Flag,
}

/// A value of a column; of the column's kind, or unknown.
#[derive(Clone, Debug, PartialEq)]
pub enum Value<'a> {
    /// See [`Kind::Text`].
    Text(Cow<'a, str>),
    /// See [`Kind::Time`].
    Time(Option<i64>),
    /// See [`Kind::Whole`].
    Whole(Option<i64>),
    /// See [`Kind::Number`].
    Number(Option<f64>),
    /// See [`Kind::Flag`].
    Flag(bool),
}

/// A column.
#[derive(Clone, Copy)]
pub struct Column {
    /// Name, as in JSON.
    pub name: &'static str,
    /// Type.
    pub kind: Kind,
    /// Unit; empty if it has none.
    pub unit: &'static str,
    /// What it is.
    pub about: &'static str,
    /// Its value in a row.
    pub of: for<'a> fn(&Row<'a>) -> Value<'a>,
}

impl Column {
    const fn new(
        name: &'static str,
        kind: Kind,
        unit: &'static str,
        about: &'static str,
        of: for<'a> fn(&Row<'a>) -> Value<'a>,
    ) -> Self {
        Self {
            name,
            kind,
            unit,
            about,
            of,
        }
    }
}

const fn text(name: &'static str, about: &'static str, of: for<'a> fn(&Row<'a>) -> Value<'a>) -> Column {
    Column::new(name, Kind::Text, "", about, of)
}

const fn level(name: &'static str, about: &'static str, of: for<'a> fn(&Row<'a>) -> Value<'a>) -> Column {
    Column::new(name, Kind::Number, "dBm", about, of)
}

const fn ratio(name: &'static str, about: &'static str, of: for<'a> fn(&Row<'a>) -> Value<'a>) -> Column {
    Column::new(name, Kind::Number, "dB", about, of)
}

fn dbm(level: Option<TenthDbm>) -> Value<'static> {
    Value::Number(level.map(TenthDbm::dbm))
}

fn db(ratio: Option<TenthDb>) -> Value<'static> {
    Value::Number(ratio.map(TenthDb::db))
}

fn whole(number: u64) -> Value<'static> {
    Value::Whole(i64::try_from(number).ok())
}

fn reasons(reasons: Reasons) -> Value<'static> {
    let names: Vec<&str> = reasons.names().collect();
    Value::Text(match names.as_slice() {
        [] => Cow::Borrowed(""),
        [one] => Cow::Owned((*one).to_owned()),
        several => Cow::Owned(several.join(";")),
    })
}

/// Every column, in the order of a table.
pub const COLUMNS: &[Column] = &[
    text("session", "name of the recording", |r| {
        Value::Text(r.session.into())
    }),
    Column::new(
        "time",
        Kind::Time,
        "UTC",
        "when the last part of the reading arrived",
        |r| Value::Time(r.time_us()),
    ),
    Column::new(
        "t_s",
        Kind::Number,
        "s",
        "the same since the session began",
        |r| Value::Number(Some(r.reading.at.seconds())),
    ),
    Column::new(
        "unit_ms",
        Kind::Whole,
        "ms",
        "the unit's own time since its start",
        |r| whole(r.reading.unit_ms),
    ),
    text("band", "band of the unit", |r| Value::Text(r.band.into())),
    Column::new(
        "seq",
        Kind::Whole,
        "",
        "number of the reading since the unit's start",
        |r| whole(r.reading.sequence),
    ),
    level(
        "dl_input_dbm",
        "composite downlink input at the donor port",
        |r| dbm(r.reading.telemetry.dl_input),
    ),
    ratio("dl_gain_db", "downlink gain in effect", |r| {
        db(r.reading.telemetry.dl_gain)
    }),
    ratio("ul_gain_db", "uplink gain in effect", |r| {
        db(r.reading.telemetry.ul_gain)
    }),
    level(
        "dl_output_dbm",
        "composite downlink output at the server port",
        |r| dbm(r.reading.telemetry.extra.dl_output),
    ),
    level("ul_input_dbm", "composite uplink input at the server port", |r| {
        dbm(r.reading.telemetry.extra.ul_input)
    }),
    level(
        "ul_output_dbm",
        "composite uplink output at the donor port",
        |r| dbm(r.reading.telemetry.ul_output),
    ),
    ratio("dl_isolation_db", "antenna isolation, downlink", |r| {
        db(r.reading.telemetry.extra.dl_isolation)
    }),
    ratio("ul_isolation_db", "antenna isolation, uplink", |r| {
        db(r.reading.telemetry.extra.ul_isolation)
    }),
    ratio(
        "loop_margin_db",
        "isolation minus gain, the smaller of both directions",
        |r| db(r.reading.margin()),
    ),
    level("rsrp_dbm", "RSRP of the wanted cell", |r| {
        dbm(r.reading.telemetry.extra.cell.rsrp)
    }),
    ratio("rsrq_db", "RSRQ of the wanted cell", |r| {
        db(r.reading.telemetry.extra.cell.rsrq)
    }),
    ratio("sinr_db", "SINR of the wanted cell", |r| {
        db(r.reading.telemetry.extra.cell.sinr)
    }),
    Column::new(
        "cell",
        Kind::Whole,
        "",
        "physical identity of the wanted cell",
        |r| Value::Whole(r.reading.telemetry.extra.cell.identity.map(i64::from)),
    ),
    Column::new(
        "cell_age_s",
        Kind::Number,
        "s",
        "age of the wanted cell's figures",
        |r| {
            let age = r.reading.telemetry.extra.cell.age_tenths_s;
            Value::Number(age.map(|tenths| f64::from(tenths) / 10.0))
        },
    ),
    text("dl_state", "state of the downlink", |r| {
        Value::Text(r.reading.telemetry.dl_state.name().into())
    }),
    text("ul_state", "state of the uplink", |r| {
        Value::Text(r.reading.telemetry.ul_state.name().into())
    }),
    text("dl_limited_by", "what limits the downlink, separated by ;", |r| {
        reasons(r.reading.telemetry.dl_reasons)
    }),
    text("ul_limited_by", "what limits the uplink, separated by ;", |r| {
        reasons(r.reading.telemetry.ul_reasons)
    }),
    Column::new(
        "late",
        Kind::Flag,
        "",
        "arrived after a later reading, not analysed",
        |r| Value::Flag(r.late),
    ),
];
