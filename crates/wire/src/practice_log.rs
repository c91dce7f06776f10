//! What is a line of the practice log? One visit to some bars, as an open file that anybody can read and write.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// One visit: a line of a practice log (JSON lines, UTF-8). Members that are not known here are kept where they stand.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize, JsonSchema)]
#[schemars(title = "Foreread practice log, one line")]
pub struct LogLine {
    /// The day, `2027-01-05`.
    pub date: String,
    /// The piece's name.
    pub piece: String,
    /// The name of its file, without folders.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub file: Option<String>,
    /// The part, where the file holds several.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub part: Option<String>,
    /// The first bar, by its printed number.
    pub from_bar: String,
    /// The last bar, by its printed number.
    pub to_bar: String,
    /// Beats a minute.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tempo: Option<f64>,
    /// The beat that was counted: `quarter`, `eighth`, `quarter.` with a point for each dot.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub beat: Option<String>,
    /// How often in a row it was right at that tempo.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub clean: Option<u32>,
    /// How it felt: `easy`, `steady`, `hard`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub felt: Option<String>,
    /// How long it took, in minutes.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub minutes: Option<f64>,
    /// By which drill, by its name.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub drill: Option<String>,
    /// Whatever she wants to remember.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
}

/// What a log holds of a piece, by bars.
#[derive(Clone, PartialEq, Debug, Default, Serialize, JsonSchema)]
#[schemars(title = "Foreread practice log, by bars")]
pub struct LogSummary {
    /// The piece's name.
    pub piece: String,
    /// The log's file name.
    pub log: String,
    /// All visits.
    pub visits: usize,
    /// By bars, in the order of the page.
    pub bars: Vec<LogBars>,
    /// Bars with notes that no visit has touched, runs joined: `9–16`, `21`.
    pub untouched: Vec<String>,
}

/// All visits to the same bars.
#[derive(Clone, PartialEq, Debug, Default, Serialize, JsonSchema)]
pub struct LogBars {
    /// The first bar's label.
    pub from_bar: String,
    /// The last bar's label.
    pub to_bar: String,
    /// How many visits.
    pub visits: usize,
    /// Minutes of all of them, as far as they were said.
    pub minutes: f64,
    /// The day of the last.
    pub last: String,
    /// Its beats a minute.
    pub last_tempo: Option<f64>,
    /// The beat, if it was said.
    pub beat: Option<String>,
    /// How often in a row it was right then.
    pub clean: Option<u32>,
    /// How it felt then.
    pub felt: Option<String>,
    /// The fastest at which it was three times right in a row.
    pub best_tempo: Option<f64>,
    /// Drills taken, by their names.
    pub drills: Vec<String>,
}

impl LogBars {
    /// The bars of a line, before any visit is counted.
    #[must_use]
    pub fn of(line: &LogLine) -> Self {
        Self {
            from_bar: line.from_bar.clone(),
            to_bar: line.to_bar.clone(),
            ..Self::default()
        }
    }
}

/// What a log holds as JSON text.
#[must_use]
pub fn log_summary_text(summary: &LogSummary) -> String {
    let mut text = serde_json::to_string_pretty(summary).unwrap_or_default();
    text.push('\n');
    text
}

/// A line as it stands in the file, with its end.
#[must_use]
pub fn log_line(line: &LogLine) -> String {
    let mut text = serde_json::to_string(line).unwrap_or_default();
    text.push('\n');
    text
}

/// A line as it was written; the error says what is wrong with it.
///
/// # Errors
/// If it is no such line.
pub fn read_log_line(text: &str) -> Result<LogLine, String> {
    serde_json::from_str(text).map_err(|error| error.to_string())
}

/// The JSON Schema of a line, as kept in `docs/practice-log.schema.json`.
#[must_use]
pub fn log_schema() -> String {
    let mut text = serde_json::to_string_pretty(&schemars::schema_for!(LogLine)).unwrap_or_default();
    text.push('\n');
    text
}

/// The JSON Schema of what a log holds, as kept in `docs/practice-log-bars.schema.json`.
#[must_use]
pub fn log_summary_schema() -> String {
    let mut text = serde_json::to_string_pretty(&schemars::schema_for!(LogSummary)).unwrap_or_default();
    text.push('\n');
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_is_read_as_it_was_written() {
        let line = LogLine {
            date: "2027-01-05".into(),
            piece: "Valley \"Song\"\n".into(),
            file: None,
            part: None,
            from_bar: "5".into(),
            to_bar: "8a".into(),
            tempo: Some(72.0),
            beat: Some("quarter".into()),
            clean: Some(3),
            felt: Some("easy".into()),
            minutes: None,
            drill: None,
            note: None,
        };
        let text = log_line(&line);
        assert_eq!(text.lines().count(), 1, "one line whatever is in it");
        assert_eq!(read_log_line(&text), Ok(line));
        let more = r#"{"date":"2027-01-05","piece":"x","from_bar":"1","to_bar":"2","weather":"rain"}"#;
        assert!(read_log_line(more).is_ok(), "what is not known does no harm");
        assert!(read_log_line("{\"date\":\"2027-01").is_err());
    }
}
