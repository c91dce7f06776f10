//! How does the table look as Apache Parquet? Every column optional: UTF-8 strings, 64-bit whole numbers, doubles.
//!
//! Source: Apache Parquet format 2.x, logical types.

use parquet::column::writer::ColumnWriter;
use parquet::data_type::ByteArray;
use parquet::errors::{ParquetError, Result as Written};
use parquet::file::metadata::KeyValue;
use parquet::file::properties::WriterProperties;
use parquet::file::writer::SerializedFileWriter;
use parquet::schema::parser::parse_message_type;
use std::io::{Error, Result, Write};
use std::sync::Arc;
use wire::{COLUMNS, Cell, ColumnKind};

/// Rows kept in memory before they are written as one group.
const GROUP: usize = 4096;

/// A column of rows not yet written: which rows have a value, and the values.
enum Waiting {
    Text(Vec<i16>, Vec<ByteArray>),
    Whole(Vec<i16>, Vec<i64>),
    Real(Vec<i16>, Vec<f64>),
}

/// A table being written.
pub(super) struct ParquetTable<'w> {
    file: SerializedFileWriter<&'w mut (dyn Write + Send)>,
    waiting: Vec<Waiting>,
    rows: usize,
}

impl<'w> ParquetTable<'w> {
    pub fn begin(out: &'w mut (dyn Write + Send)) -> Result<Self> {
        let fields: String = COLUMNS
            .iter()
            .map(|column| {
                let name = column.name;
                match column.kind {
                    ColumnKind::Text => format!("optional binary {name} (STRING); "),
                    ColumnKind::Whole => format!("optional int64 {name}; "),
                    ColumnKind::Real => format!("optional double {name}; "),
                }
            })
            .collect();
        let schema = parse_message_type(&format!("message survey {{ {fields} }}")).map_err(io)?;
        let units = COLUMNS.iter().filter(|column| !column.unit.is_empty());
        let units =
            units.map(|column| KeyValue::new(format!("unit of {}", column.name), column.unit.to_owned()));
        let properties = WriterProperties::builder()
            .set_created_by("foreread".to_owned())
            .set_key_value_metadata(Some(units.collect()))
            .build();
        Ok(Self {
            file: SerializedFileWriter::new(out, Arc::new(schema), Arc::new(properties)).map_err(io)?,
            waiting: empty(),
            rows: 0,
        })
    }

    pub fn row(&mut self, row: &[Cell]) -> Result<()> {
        for (cell, column) in row.iter().zip(&mut self.waiting) {
            column.push(cell);
        }
        self.rows += 1;
        if self.rows == GROUP {
            self.group().map_err(io)?;
        }
        Ok(())
    }

    pub fn finish(mut self) -> Result<()> {
        if self.rows > 0 {
            self.group().map_err(io)?;
        }
        self.file.close().map_err(io)?;
        Ok(())
    }

    fn group(&mut self) -> Written<()> {
        let columns = std::mem::replace(&mut self.waiting, empty());
        self.rows = 0;
        let mut group = self.file.next_row_group()?;
        for column in columns {
            let Some(mut writer) = group.next_column()? else {
                break;
            };
            match (writer.untyped(), &column) {
                (ColumnWriter::ByteArrayColumnWriter(writer), Waiting::Text(there, values)) => {
                    writer.write_batch(values, Some(there), None)?
                }
                (ColumnWriter::Int64ColumnWriter(writer), Waiting::Whole(there, values)) => {
                    writer.write_batch(values, Some(there), None)?
                }
                (ColumnWriter::DoubleColumnWriter(writer), Waiting::Real(there, values)) => {
                    writer.write_batch(values, Some(there), None)?
                }
                _ => return Err(ParquetError::General("a column of another kind".to_owned())),
            };
            writer.close()?;
        }
        group.close()?;
        Ok(())
    }
}

fn empty() -> Vec<Waiting> {
    COLUMNS
        .iter()
        .map(|column| match column.kind {
            ColumnKind::Text => Waiting::Text(vec![], vec![]),
            ColumnKind::Whole => Waiting::Whole(vec![], vec![]),
            ColumnKind::Real => Waiting::Real(vec![], vec![]),
        })
        .collect()
}

impl Waiting {
    fn push(&mut self, cell: &Cell) {
        let there = match (&mut *self, cell) {
            (Self::Text(_, values), Cell::Text(text)) => {
                values.push(ByteArray::from(text.as_str()));
                1
            }
            (Self::Whole(_, values), Cell::Whole(number)) => {
                values.push(*number);
                1
            }
            (Self::Real(_, values), Cell::Real(number)) => {
                values.push(*number);
                1
            }
            _ => 0,
        };
        match self {
            Self::Text(levels, _) | Self::Whole(levels, _) | Self::Real(levels, _) => levels.push(there),
        }
    }
}

/// Keeps what the disk said.
fn io(error: ParquetError) -> Error {
    match error {
        ParquetError::External(inner) => match inner.downcast::<Error>() {
            Ok(error) => *error,
            Err(other) => Error::other(other),
        },
        other => Error::other(other),
    }
}
