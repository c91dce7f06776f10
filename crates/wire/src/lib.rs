//! What does the JSON say? All of it, and its schema.

mod accidentals;
mod articulation;
mod at;
mod call;
mod clefs;
mod counts;
mod drill;
mod dynamics;
mod key;
mod line;
mod look_first;
mod metre;
mod ornaments;
mod plan;
mod practice_log;
mod range;
mod reading;
mod rhythm;
mod road_map;
mod say;
mod study;
mod survey;
mod table;
mod take;
mod tempo;
mod terms;

pub use call::{CallJson, CallPieceWritten, CutWritten, call_json};
pub use drill::{DrillsJson, DrillsWritten, drills_json, write_drills};
pub use line::{FailedLine, LineJson, LineOf, SurveyLine, failed_line, survey_line};
pub use look_first::{
    LOOK_FIRST_VERSION, LookFirstJson, LookSaid, LookedAt, look_first_json, look_first_text, read_look_first,
};
pub use plan::{PLAN_VERSION, PlanJson, PlanWritten, plan_json, plan_schema, plan_text};
pub use practice_log::{
    LogBars, LogLine, LogSummary, log_line, log_schema, log_summary_schema, log_summary_text, read_log_line,
};
pub use reading::{
    LevelsJson, ReadingsJson, ReadingsWritten, levels_schema, levels_text, readings_schema, readings_text,
};
pub use survey::{SurveyJson, VERSION, Written, survey_json, survey_text, write_survey, write_survey_fields};
pub use table::{
    COLUMNS, Cell, Column, ColumnKind, columns_page, csv_header, csv_line, failed_row, survey_row,
};
pub use take::{TAKE_VERSION, TakeJson, TakeWritten, take_schema, take_text};

/// The JSON Schema of a call, as kept in `docs/call.schema.json`.
#[must_use]
pub fn call_schema() -> String {
    let schema = schemars::schema_for!(CallJson);
    let mut text = serde_json::to_string_pretty(&schema).unwrap_or_default();
    text.push('\n');
    text
}

/// The JSON Schema of the drills offered, as kept in `docs/drills.schema.json`.
#[must_use]
pub fn drills_schema() -> String {
    let schema = schemars::schema_for!(DrillsJson);
    let mut text = serde_json::to_string_pretty(&schema).unwrap_or_default();
    text.push('\n');
    text
}

/// The JSON Schema of a survey, as kept in `docs/survey.schema.json`.
#[must_use]
pub fn survey_schema() -> String {
    let schema = schemars::schema_for!(SurveyJson);
    let mut text = serde_json::to_string_pretty(&schema).unwrap_or_default();
    text.push('\n');
    text
}
