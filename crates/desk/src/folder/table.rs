//! How are the rows written? Lines of JSON and CSV as they come, Parquet in groups.

use super::TableForm;
#[cfg(feature = "tables")]
use super::parquet_table::ParquetTable;
use std::io::{Result, Write};
use wire::{Cell, LineOf};

/// Rows that one thread has made ready.
#[derive(Debug, Default)]
pub(super) struct Rows {
    /// Lines, for the forms that are text.
    text: String,
    /// Rows, for those that are not.
    cells: Vec<Vec<Cell>>,
}

impl Rows {
    pub fn survey(&mut self, form: TableForm, of: LineOf, what: &wire::Written) {
        match form {
            TableForm::Jsonl => self.text.push_str(&wire::survey_line(of, what)),
            TableForm::Csv => self.text.push_str(&wire::csv_line(&wire::survey_row(of, what))),
            #[cfg(feature = "tables")]
            TableForm::Parquet => self.cells.push(wire::survey_row(of, what)),
        }
    }

    pub fn failed(&mut self, form: TableForm, of: LineOf, why: &str) {
        match form {
            TableForm::Jsonl => self.text.push_str(&wire::failed_line(of, why)),
            TableForm::Csv => self.text.push_str(&wire::csv_line(&wire::failed_row(of, why))),
            #[cfg(feature = "tables")]
            TableForm::Parquet => self.cells.push(wire::failed_row(of, why)),
        }
    }

    /// How much memory they take, about.
    pub fn bytes(&self) -> usize {
        const CELL: usize = 40;
        self.text.len() + self.cells.len() * wire::COLUMNS.len() * CELL
    }
}

/// Where the rows go.
pub(super) enum Writer<'w> {
    Text(&'w mut (dyn Write + Send)),
    #[cfg(feature = "tables")]
    Parquet(Box<ParquetTable<'w>>),
}

impl<'w> Writer<'w> {
    pub fn begin(form: TableForm, out: &'w mut (dyn Write + Send)) -> Result<Self> {
        match form {
            TableForm::Jsonl => Ok(Self::Text(out)),
            TableForm::Csv => {
                out.write_all(wire::csv_header().as_bytes())?;
                Ok(Self::Text(out))
            }
            #[cfg(feature = "tables")]
            TableForm::Parquet => Ok(Self::Parquet(Box::new(ParquetTable::begin(out)?))),
        }
    }

    pub fn write(&mut self, rows: &Rows) -> Result<()> {
        match self {
            Self::Text(out) => out.write_all(rows.text.as_bytes()),
            #[cfg(feature = "tables")]
            Self::Parquet(table) => rows.cells.iter().try_for_each(|row| table.row(row)),
        }
    }

    pub fn finish(self) -> Result<()> {
        match self {
            Self::Text(out) => out.flush(),
            #[cfg(feature = "tables")]
            Self::Parquet(table) => table.finish(),
        }
    }
}
