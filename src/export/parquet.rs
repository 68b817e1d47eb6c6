//! Apache Parquet: typed columns, units in the metadata, a folder for each unit and day, so that DuckDB, Polars, Spark or
//! DataFusion read an archive of any size as one table.

use super::destination::{ExportError, NewFile};
use super::table::Table;
use super::{COLUMNS, Row};
use crate::session::Header;
use ::parquet::basic::{Compression, ZstdLevel};
use ::parquet::errors::ParquetError;
use ::parquet::file::metadata::KeyValue;
use ::parquet::file::properties::{WriterProperties, WriterPropertiesPtr};
use ::parquet::file::writer::SerializedFileWriter;
use columns::Cells;
use jiff::Timestamp;
use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::sync::Arc;

mod columns;

/// Rows that are held back until they make a row group: enough for readers to work in parallel, and some 20 MB.
const GROUP: usize = 100_000;
/// Where readers that know such folders see "not known".
const UNKNOWN: &str = "__HIVE_DEFAULT_PARTITION__";
/// Microseconds of a day.
const DAY_US: i64 = 86_400_000_000;

/// Writes one session, into as many folders as it has units and days.
pub struct Archive {
    folder: PathBuf,
    /// The session's name as a file's name.
    name: String,
    properties: WriterPropertiesPtr,
    /// The part in hand.
    part: Option<Part>,
    done: Vec<PathBuf>,
}

/// A file of one unit and day.
struct Part {
    unit: Option<String>,
    day: Option<i64>,
    writer: SerializedFileWriter<NewFile>,
    cells: Vec<Cells>,
    rows: usize,
}

impl Archive {
    /// Files `unit=…/date=…/NAME.parquet` below `folder`.
    pub fn new(folder: &Path, name: &str, header: &Header) -> Self {
        let zstd = ZstdLevel::try_new(3).map_or(Compression::UNCOMPRESSED, Compression::ZSTD);
        let properties = WriterProperties::builder()
            .set_compression(zstd)
            .set_created_by(concat!("loopmargin ", env!("CARGO_PKG_VERSION")).to_owned())
            .set_key_value_metadata(Some(metadata(header)))
            .build();
        Self {
            folder: folder.to_owned(),
            name: name.replace('/', "-"),
            properties: Arc::new(properties),
            part: None,
            done: Vec::new(),
        }
    }

    /// The file that a row belongs into.
    fn part(&mut self, unit: Option<&str>, day: Option<i64>) -> Result<&mut Part, ExportError> {
        let fits = |p: &Part| p.unit.as_deref() == unit && p.day == day;
        if !self.part.as_ref().is_some_and(fits) {
            self.close()?;
        }
        if self.part.is_none() {
            self.part = Some(self.begin(unit, day)?);
        }
        match &mut self.part {
            Some(part) => Ok(part),
            None => Err(ExportError::Exists(self.folder.clone())),
        }
    }

    fn begin(&self, unit: Option<&str>, day: Option<i64>) -> Result<Part, ExportError> {
        let date = day
            .and_then(|d| Timestamp::from_microsecond(d.checked_mul(DAY_US)?).ok())
            .map(|t| t.strftime("%Y-%m-%d").to_string());
        let folder = self
            .folder
            .join(format!("unit={}", unit.map_or(UNKNOWN.to_owned(), encoded)))
            .join(format!("date={}", date.unwrap_or_else(|| UNKNOWN.to_owned())));
        // A session that comes back to a unit or a day has a second file there.
        let path = |n: usize| match n {
            0 => folder.join(format!("{}.parquet", self.name)),
            n => folder.join(format!("{}.{n}.parquet", self.name)),
        };
        let again = (0..).map(path).find(|p| !self.done.contains(p));
        let file = NewFile::create(again.unwrap_or_else(|| path(0)))?;
        let path = file.path().to_owned();
        let refused = |e: ParquetError| failed(path.clone(), &e);
        let schema = columns::schema().map_err(refused)?;
        Ok(Part {
            unit: unit.map(str::to_owned),
            day,
            writer: SerializedFileWriter::new(file, schema, self.properties.clone()).map_err(refused)?,
            cells: COLUMNS.iter().map(|c| Cells::new(c.kind)).collect(),
            rows: 0,
        })
    }

    fn close(&mut self) -> Result<(), ExportError> {
        let Some(mut part) = self.part.take() else {
            return Ok(());
        };
        let path = part.writer.inner().path().to_owned();
        let refused = |e: ParquetError| failed(path.clone(), &e);
        part.group().map_err(refused)?;
        let file = part.writer.into_inner().map_err(refused)?;
        self.done.push(file.finish()?);
        Ok(())
    }
}

impl Table for Archive {
    fn row(&mut self, row: &Row<'_>, unit: Option<&str>) -> Result<(), ExportError> {
        let day = row.time_us().map(|us| us.div_euclid(DAY_US));
        let part = self.part(unit, day)?;
        for (cells, column) in part.cells.iter_mut().zip(COLUMNS) {
            cells.push((column.of)(row));
        }
        part.rows += 1;
        if part.rows == GROUP {
            let path = part.writer.inner().path().to_owned();
            part.group().map_err(|e| failed(path, &e))?;
        }
        Ok(())
    }

    fn finish(mut self) -> Result<Vec<PathBuf>, ExportError> {
        self.close()?;
        Ok(self.done)
    }
}

impl Part {
    /// Writes the rows held back.
    fn group(&mut self) -> Result<(), ParquetError> {
        if self.rows == 0 {
            return Ok(());
        }
        let mut group = self.writer.next_row_group()?;
        for cells in &mut self.cells {
            if let Some(mut column) = group.next_column()? {
                cells.write(&mut column)?;
                column.close()?;
            }
        }
        group.close()?;
        self.rows = 0;
        Ok(())
    }
}

fn failed(path: PathBuf, error: &ParquetError) -> ExportError {
    ExportError::Parquet {
        path,
        why: error.to_string(),
    }
}

/// What a file says about itself: unit and meaning of each column, and the recording's header.
fn metadata(header: &Header) -> Vec<KeyValue> {
    let column = |c: &super::Column| (c.name, serde_json::json!({"unit": c.unit, "about": c.about}));
    let columns: serde_json::Map<_, _> = COLUMNS
        .iter()
        .map(column)
        .map(|(name, value)| (name.to_owned(), value))
        .collect();
    let mut all = vec![KeyValue::new(
        "loopmargin.columns".to_owned(),
        serde_json::Value::Object(columns).to_string(),
    )];
    if let Ok(header) = serde_json::to_string(header) {
        all.push(KeyValue::new("loopmargin.session".to_owned(), header));
    }
    all
}

/// A text as part of a folder's name, as in Hive: what is not plain becomes `%` and two hexadecimal digits.
fn encoded(text: &str) -> String {
    let mut out = String::new();
    for byte in text.bytes() {
        if byte.is_ascii_alphanumeric() || b"-_. ".contains(&byte) && !out.is_empty() {
            out.push(char::from(byte));
        } else {
            // Writing to a string cannot fail.
            let _ = write!(out, "%{byte:02X}");
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::encoded;

    #[test]
    fn a_serial_number_cannot_leave_its_folder() {
        assert_eq!(encoded("A-1.b_2"), "A-1.b_2");
        assert_eq!(encoded("../x"), "%2E.%2Fx");
        assert_eq!(encoded("ä=\\"), "%C3%A4%3D%5C");
    }
}
