//! What does the JSON say? All of it, and its schema.

mod accidentals;
mod articulation;
mod at;
#[cfg(feature = "whole")]
mod call;
mod clefs;
mod counts;
#[cfg(feature = "whole")]
mod drill;
mod dynamics;
mod key;
mod line;
#[cfg(feature = "whole")]
mod look_first;
mod metre;
mod ornaments;
#[cfg(feature = "whole")]
mod plan;
#[cfg(feature = "whole")]
mod practice_log;
mod range;
#[cfg(feature = "whole")]
mod reading;
mod rhythm;
mod road_map;
mod say;
#[cfg(feature = "whole")]
mod scan;
mod study;
mod survey;
mod table;
#[cfg(feature = "whole")]
mod take;
mod tempo;
mod terms;

#[cfg(feature = "whole")]
pub use call::{CallJson, CallPieceWritten, CutWritten, call_json};
#[cfg(feature = "whole")]
pub use drill::{DrillsJson, DrillsWritten, drills_json, write_drills};
pub use line::{FailedLine, LineJson, LineOf, SurveyLine, failed_line, survey_line};
#[cfg(feature = "whole")]
pub use look_first::{
    LOOK_FIRST_VERSION, LookFirstJson, LookSaid, LookedAt, look_first_json, look_first_text, read_look_first,
};
#[cfg(feature = "whole")]
pub use plan::{PLAN_VERSION, PlanJson, PlanWritten, plan_json, plan_schema, plan_text};
#[cfg(feature = "whole")]
pub use practice_log::{
    LogBars, LogLine, LogSummary, log_line, log_schema, log_summary_schema, log_summary_text, read_log_line,
};
#[cfg(feature = "whole")]
pub use reading::{
    LevelsJson, ReadingsJson, ReadingsWritten, levels_schema, levels_text, readings_schema, readings_text,
};
#[cfg(feature = "whole")]
pub use scan::{PageWritten, SCAN_VERSION, ScanJson, scan_json, scan_schema, scan_text};
pub use survey::{SurveyJson, VERSION, Written, survey_json, survey_text, write_survey, write_survey_fields};
pub use table::{
    COLUMNS, Cell, Column, ColumnKind, columns_page, csv_header, csv_line, failed_row, survey_row,
};
#[cfg(feature = "whole")]
pub use take::{
    EarlierBar, EarlierCounts, EarlierIntonation, EarlierTake, EarlierTempo, TAKE_VERSION, TakeJson,
    TakeWritten, read_take, take_schema, take_text,
};

/// The JSON Schema of a call, as kept in `docs/call.schema.json`.
#[cfg(feature = "whole")]
#[must_use]
pub fn call_schema() -> String {
    let schema = schemars::schema_for!(CallJson);
    let mut text = serde_json::to_string_pretty(&schema).unwrap_or_default();
    text.push('\n');
    text
}

/// The JSON Schema of the drills offered, as kept in `docs/drills.schema.json`.
#[cfg(feature = "whole")]
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
