//! Comma-separated values, RFC 4180: a header line, one line a reading, an empty field for what is not known.

use super::destination::{ExportError, NewFile};
use super::table::Table;
use super::{COLUMNS, Row, Value};
use jiff::Timestamp;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// Writes one session.
pub struct Csv {
    path: PathBuf,
    file: Option<NewFile>,
    line: Vec<u8>,
}

impl Csv {
    /// `NAME.csv` below `folder`.
    pub fn new(folder: &Path, name: &str) -> Self {
        Self {
            path: folder.join(format!("{name}.csv")),
            file: None,
            line: Vec::new(),
        }
    }

    /// The file, begun with its first line: also for a session without a reading.
    fn file(&mut self) -> Result<&mut NewFile, ExportError> {
        if self.file.is_none() {
            let mut file = NewFile::create(self.path.clone())?;
            let names: Vec<&str> = COLUMNS.iter().map(|c| c.name).collect();
            writeln!(file, "{}\r", names.join(",")).map_err(|e| file.failed(e))?;
            self.file = Some(file);
        }
        match &mut self.file {
            Some(file) => Ok(file),
            None => Err(ExportError::Exists(self.path.clone())),
        }
    }
}

impl Table for Csv {
    fn row(&mut self, row: &Row<'_>, _: Option<&str>) -> Result<(), ExportError> {
        let mut line = std::mem::take(&mut self.line);
        line.clear();
        let written = COLUMNS.iter().enumerate().try_for_each(|(i, column)| {
            if i > 0 {
                line.push(b',');
            }
            field(&mut line, &(column.of)(row))
        });
        line.extend_from_slice(b"\r\n");
        let file = self.file()?;
        written
            .and_then(|()| file.write_all(&line))
            .map_err(|e| file.failed(e))?;
        self.line = line;
        Ok(())
    }

    fn finish(mut self) -> Result<Vec<PathBuf>, ExportError> {
        self.file()?;
        self.file.into_iter().map(NewFile::finish).collect()
    }
}

fn field(line: &mut Vec<u8>, value: &Value<'_>) -> io::Result<()> {
    match value {
        Value::Text(text) if text.contains([',', '"', '\r', '\n']) => {
            write!(line, "\"{}\"", text.replace('"', "\"\""))
        }
        Value::Text(text) => line.write_all(text.as_bytes()),
        Value::Time(Some(us)) => match Timestamp::from_microsecond(*us) {
            Ok(time) => write!(line, "{time:.6}"),
            Err(_) => Ok(()),
        },
        Value::Whole(Some(number)) => write!(line, "{number}"),
        // As in JSON, to the letter.
        Value::Number(Some(number)) => Ok(serde_json::to_writer(line, number)?),
        Value::Flag(flag) => write!(line, "{flag}"),
        Value::Time(None) | Value::Whole(None) | Value::Number(None) => Ok(()),
    }
}
