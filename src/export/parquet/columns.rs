//! The columns of a row group, until it is written.

use crate::export::{COLUMNS, Kind, Value};
use ::parquet::basic::{LogicalType, Repetition, TimeUnit, Type as Physical};
use ::parquet::data_type::{BoolType, ByteArray, ByteArrayType, DataType, DoubleType, Int64Type};
use ::parquet::errors::ParquetError;
use ::parquet::file::writer::SerializedColumnWriter;
use ::parquet::schema::types::{Type, TypePtr};
use std::sync::Arc;

/// The schema of every file.
pub fn schema() -> Result<TypePtr, ParquetError> {
    let fields = COLUMNS.iter().map(|column| {
        let (physical, logical, repetition) = match column.kind {
            Kind::Text => (
                Physical::BYTE_ARRAY,
                Some(LogicalType::String),
                Repetition::REQUIRED,
            ),
            Kind::Time => {
                let utc = LogicalType::timestamp(true, TimeUnit::MICROS);
                (Physical::INT64, Some(utc), Repetition::OPTIONAL)
            }
            Kind::Whole => (Physical::INT64, None, Repetition::OPTIONAL),
            Kind::Number => (Physical::DOUBLE, None, Repetition::OPTIONAL),
            Kind::Flag => (Physical::BOOLEAN, None, Repetition::REQUIRED),
        };
        let field = Type::primitive_type_builder(column.name, physical)
            .with_logical_type(logical)
            .with_repetition(repetition)
            .build()?;
        Ok(Arc::new(field))
    });
    let fields = fields.collect::<Result<Vec<_>, ParquetError>>()?;
    Type::group_type_builder("reading")
        .with_fields(fields)
        .build()
        .map(Arc::new)
}

/// Values of a column that wait to be written, those that are unknown left out.
pub enum Cells {
    Text(Vec<ByteArray>, Vec<ByteArray>),
    Whole(Vec<i64>, Vec<i16>),
    Number(Vec<f64>, Vec<i16>),
    Flag(Vec<bool>),
}

impl Cells {
    /// None yet.
    pub fn new(kind: Kind) -> Self {
        match kind {
            Kind::Text => Self::Text(Vec::new(), Vec::new()),
            Kind::Time | Kind::Whole => Self::Whole(Vec::new(), Vec::new()),
            Kind::Number => Self::Number(Vec::new(), Vec::new()),
            Kind::Flag => Self::Flag(Vec::new()),
        }
    }

    /// Takes a value, which is of the column's kind.
    pub fn push(&mut self, value: Value<'_>) {
        match (self, value) {
            (Self::Text(values, known), Value::Text(text)) => {
                // Few different texts come, again and again: each is held once.
                let same = known.iter().find(|k| k.data() == text.as_bytes()).cloned();
                let value = same.unwrap_or_else(|| {
                    let new = ByteArray::from(text.as_bytes().to_vec());
                    known.push(new.clone());
                    new
                });
                values.push(value);
            }
            (Self::Whole(values, levels), Value::Whole(value) | Value::Time(value)) => {
                levels.push(i16::from(value.is_some()));
                values.extend(value);
            }
            (Self::Number(values, levels), Value::Number(value)) => {
                levels.push(i16::from(value.is_some()));
                values.extend(value);
            }
            (Self::Flag(values), Value::Flag(value)) => values.push(value),
            _ => {}
        }
    }

    /// Writes what waits.
    pub fn write(&mut self, column: &mut SerializedColumnWriter<'_>) -> Result<(), ParquetError> {
        match self {
            Self::Text(values, known) => {
                known.clear();
                write::<ByteArrayType>(column, values, None)
            }
            Self::Whole(values, levels) => write::<Int64Type>(column, values, Some(levels)),
            Self::Number(values, levels) => write::<DoubleType>(column, values, Some(levels)),
            Self::Flag(values) => write::<BoolType>(column, values, None),
        }
    }
}

fn write<T: DataType>(
    column: &mut SerializedColumnWriter<'_>,
    values: &mut Vec<T::T>,
    levels: Option<&mut Vec<i16>>,
) -> Result<(), ParquetError> {
    let given = levels.as_ref().map(|l| l.as_slice());
    column.typed::<T>().write_batch(values, given, None)?;
    values.clear();
    if let Some(levels) = levels {
        levels.clear();
    }
    Ok(())
}
