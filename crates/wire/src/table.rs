//! What does the table of a folder say? One row for each part surveyed, its columns with their units, and rows as CSV.

mod columns;

pub use columns::COLUMNS;

use crate::{LineOf, SurveyJson, Written, survey_json};

/// One value of the table.
#[derive(Clone, PartialEq, Debug)]
pub enum Cell {
    /// Nothing: not there, not asked, or not known.
    Empty,
    /// Words.
    Text(String),
    /// A whole number.
    Whole(i64),
    /// A number.
    Real(f64),
}

/// What the values of a column are.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum ColumnKind {
    /// Words.
    Text,
    /// Whole numbers.
    Whole,
    /// Numbers.
    Real,
}

/// A column of the table.
#[derive(Clone, Copy, Debug)]
pub struct Column {
    /// Its name in the first line.
    pub name: &'static str,
    /// What its values are.
    pub kind: ColumnKind,
    /// In which unit; empty for words and plain counts.
    pub unit: &'static str,
    /// What it says.
    pub says: &'static str,
    value: fn(&Seen) -> Cell,
}

/// What a row is made of.
struct Seen<'a> {
    of: LineOf<'a>,
    survey: Option<&'a SurveyJson>,
    error: Option<&'a str>,
}

/// The row of a survey, one cell for each of [`COLUMNS`]. Columns of questions that were not asked are empty.
#[must_use]
pub fn survey_row(of: LineOf, what: &Written) -> Vec<Cell> {
    let survey = survey_json(what);
    row(&Seen {
        of: LineOf {
            part: Some(what.part + 1),
            ..of
        },
        survey: Some(&survey),
        error: None,
    })
}

/// The row of what could not be surveyed.
#[must_use]
pub fn failed_row(of: LineOf, error: &str) -> Vec<Cell> {
    row(&Seen {
        of,
        survey: None,
        error: Some(error),
    })
}

fn row(seen: &Seen) -> Vec<Cell> {
    COLUMNS.iter().map(|column| (column.value)(seen)).collect()
}

/// The first line of the table as CSV. Source: RFC 4180.
#[must_use]
pub fn csv_header() -> String {
    csv_record(COLUMNS.iter().map(|column| column.name.to_owned()))
}

/// A row as a line of CSV. Source: RFC 4180: fields with commas, quotes or line breaks in quotes, quotes doubled, lines
/// ended by CR LF. Numbers are written with a point, as short as they can be read back exactly.
#[must_use]
pub fn csv_line(row: &[Cell]) -> String {
    csv_record(row.iter().map(|cell| match cell {
        Cell::Empty => String::new(),
        Cell::Text(text) => text.clone(),
        Cell::Whole(number) => number.to_string(),
        Cell::Real(number) => number.to_string(),
    }))
}

fn csv_record(fields: impl Iterator<Item = String>) -> String {
    let mut line = String::new();
    for (index, field) in fields.enumerate() {
        if index > 0 {
            line.push(',');
        }
        if field.contains([',', '"', '\r', '\n']) {
            line.push('"');
            line.push_str(&field.replace('"', "\"\""));
            line.push('"');
        } else {
            line.push_str(&field);
        }
    }
    line.push_str("\r\n");
    line
}

/// The columns as a page for readers of the table, as kept in `docs/survey-table.md`.
#[must_use]
pub fn columns_page() -> String {
    let mut page = String::from(
        "# A folder or a tunebook as a table\n\n\
         `foreread survey FOLDER --as csv` (or `parquet`, or `jsonl`) writes one row for each part of each piece and tune, in\n\
         the order of the files' names. `--part` keeps only the parts with that name or number, `--tune` only the tunes with\n\
         that number. A file or tune that can't be surveyed has a row with `error`; other files (pictures, PDFs, recordings)\n\
         are passed over, hidden ones too.\n\n\
         - **jsonl**: one line of JSON for each row: the survey as `--as json` gives it (`survey.schema.json`), with `file`,\n\
           `tune` (null where the file is no tunebook) and `part` (its number) beside; or `file`, `tune`, `part` and `error`.\n\
         - **csv**: RFC 4180: UTF-8, commas, lines ended by CR LF, names of the columns in the first line. An empty field\n\
           means: not there, not asked for, or not known.\n\
         - **parquet**: the same table; every column is optional, words are UTF-8 strings, whole numbers 64 bits, numbers\n\
           double precision.\n\n\
         | column | kind | unit | what it says |\n|---|---|---|---|\n",
    );
    for column in &COLUMNS {
        let kind = match column.kind {
            ColumnKind::Text => "words",
            ColumnKind::Whole => "whole number",
            ColumnKind::Real => "number",
        };
        page.push_str(&format!(
            "| `{}` | {kind} | {} | {} |\n",
            column.name, column.unit, column.says
        ));
    }
    page
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: RFC 4180, section 2, rules 5 to 7.
    #[test]
    fn fields_are_quoted_where_they_must_be() {
        let row = [
            Cell::Text("plain".into()),
            Cell::Text("a, b".into()),
            Cell::Text("the \"little\" one".into()),
            Cell::Text("two\nlines".into()),
            Cell::Empty,
            Cell::Whole(-3),
            Cell::Real(0.5),
            Cell::Real(96.0),
        ];
        assert_eq!(
            csv_line(&row),
            "plain,\"a, b\",\"the \"\"little\"\" one\",\"two\nlines\",,-3,0.5,96\r\n"
        );
    }

    #[test]
    fn every_row_has_every_column_and_every_column_its_kind() {
        let of = LineOf {
            file: "a.abc",
            tune: Some("4"),
            part: None,
        };
        let row = failed_row(of, "it is cut off");
        assert_eq!(row.len(), COLUMNS.len());
        assert_eq!(row[0], Cell::Text("a.abc".into()));
        assert_eq!(row[1], Cell::Text("4".into()));
        assert_eq!(row.last(), Some(&Cell::Text("it is cut off".into())));
        let names: std::collections::BTreeSet<&str> = COLUMNS.iter().map(|column| column.name).collect();
        assert_eq!(names.len(), COLUMNS.len());
    }
}
