//! The things a person does: open, survey, convert. App and command line both call these.
//!
//! This is the lowest floor that touches the disk.

mod convert;
mod error;
mod folder;
mod listen;
mod look_first;
mod open;
mod ornaments;
mod part_of;
mod player;
mod practice;
mod print;
mod scan;
mod section;
mod small_file;
mod study;
mod survey_piece;
mod taken;
mod whole_file;

pub use ::practice::look_first::Time as LookTime;
pub use convert::{ConvertAsked, Converted, Target, convert};
pub use engrave::{Edition, Paper};
pub use error::{DeskError, Status};
pub use folder::{Many, ManyAsked, TableForm, Tally, Watch, survey_many};
pub use listen::{
    ClickAsked, Heard, ListenAsked, Only, SoundForm, Voice, listen, to_bytes, to_card, to_file,
};
pub use look_first::{LookAnswers, LookAsked, look_first, look_kept, look_pdf, look_text};
pub use open::{MOST_BYTES, Opened, open, open_bytes, open_bytes_tune, open_tune};
pub use ornaments::OrnamentsAsked;
pub use part_of::part_of;
pub use performance::ornament::Period;
pub use player::PlayerAsked;
pub use practice::{
    CallOpened, CallPieceOpened, CallTo, CutFound, DrillAsked, DrillPages, DrillPick, DrillShown, Drills,
    LogAsked, LogShown, Logged, PlanAsked, PlanPiece, Planned, Readings, ReadingsAsked, ReadingsTo, Stretch,
    bar_span, day, default_log, drill_form, drill_heard, drill_notation, drill_pictures, drills, free_days,
    level_tables_json, level_tables_text, log_line, log_visit, open_call, open_call_text, plan, plan_call,
    readings, readings_json, readings_text, show_log, time_of_day, today, weeks_pdf, write_drills,
    write_drills_json, write_readings,
};
pub use print::{
    Copy, CopyAsked, For, Form, Made, OurMark, PrepAsked, Written, card_html, card_pdf, card_text, copy,
    opening, pdf, picture, prep_html, prep_pdf, write_copy,
};
pub use printer::Printer;
pub use scan::{Scanned, musicxml, scan};
pub use section::{Section, write_section_json};
pub use sound::{Reminder, reminder};
pub use study::StudyAsked;
pub use survey_piece::{
    Asked, PartChoice, Shown, choose_part, section_sheet, survey_json, survey_piece, survey_sheet,
    write_survey_json,
};
pub use taken::{TakeAsked, Taken, ToPlay, take, take_bytes, to_play};
pub use whole_file::{WholeFile, not_over_itself};
