//! What does a person do between the first reading and the date? Drills, fresh pieces, the days planned, what was done written down.

mod call;
mod call_errata;
mod call_file;
mod call_told;
mod call_written;
mod drill;
mod log;
mod pages;
mod plan;
mod plan_call;
mod reading;
mod reading_shown;
mod when;

pub use call::{CallOpened, CallPieceOpened, CutFound, open_call, open_call_text};
pub use call_errata::{ERRATA, WithErrata, errata_lines, with_errata};
pub use call_written::CallTo;
pub use drill::{
    DrillAsked, DrillPages, DrillPick, DrillShown, Drills, drill_form, drill_heard, drill_notation,
    drill_pictures, drills, write_drills, write_drills_json,
};
pub use log::{LogAsked, LogShown, Logged, bar_span, default_log, log_line, log_visit, show_log};
pub use pages::weeks_pdf;
pub use plan::{PlanAsked, PlanPiece, Planned, Stretch, plan};
pub use plan_call::plan_call;
pub use reading::{
    Readings, ReadingsAsked, ReadingsTo, level_tables_json, level_tables_text, readings, readings_json,
    readings_text, write_readings,
};
pub use reading_shown::{reading_opened, reading_picture, reading_said};
pub use when::{day, free_days, time_of_day, today};
