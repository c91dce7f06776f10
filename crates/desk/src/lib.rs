//! The things a person does: open, survey, convert. App and command line both call these.
//!
//! This is the lowest floor that touches the disk.

mod book;
mod convert;
mod error;
mod folder;
#[cfg(feature = "whole")]
mod listen;
#[cfg(feature = "whole")]
mod look_first;
mod open;
#[cfg(feature = "whole")]
mod ornaments;
#[cfg(feature = "whole")]
mod own_pages;
#[cfg(feature = "whole")]
mod paper;
mod part_of;
mod player;
#[cfg(feature = "whole")]
mod practice;
#[cfg(feature = "whole")]
mod print;
#[cfg(feature = "whole")]
mod scan;
mod section;
mod small_file;
mod study;
mod survey_piece;
#[cfg(feature = "whole")]
mod taken;
mod texts;
mod whole_file;

#[cfg(feature = "whole")]
pub use ::practice::look_first::Time as LookTime;
pub use book::{Book, TuneOffered};
pub use convert::{ConvertAsked, Converted, Target, convert};
#[cfg(feature = "whole")]
pub use engrave::{Edition, Paper};
pub use error::{DeskError, Status};
pub use folder::{Many, ManyAsked, TableForm, Tally, Watch, survey_many};
#[cfg(feature = "whole")]
pub use listen::{
    ClickAsked, Heard, ListenAsked, Only, SoundForm, Voice, listen, to_bytes, to_card, to_file,
};
#[cfg(feature = "whole")]
pub use look_first::{LookAnswers, LookAsked, look_first, look_kept, look_pdf, look_text};
pub use open::{MOST_BYTES, Opened, open, open_bytes, open_bytes_tune, open_tune};
#[cfg(feature = "whole")]
pub use ornaments::OrnamentsAsked;
#[cfg(feature = "whole")]
pub use own_pages::{OwnPage, own_pages};
#[cfg(feature = "whole")]
pub use paper::{PutRight, Reading, bars_picture, doubt_said, page_picture};
pub use part_of::part_of;
#[cfg(feature = "whole")]
pub use performance::ornament::Period;
pub use player::PlayerAsked;
#[cfg(feature = "whole")]
pub use practice::{
    CallOpened, CallPieceOpened, CallTo, CutFound, DrillAsked, DrillPages, DrillPick, DrillShown, Drills,
    ERRATA, LogAsked, LogShown, Logged, PlanAsked, PlanPiece, Planned, Readings, ReadingsAsked, ReadingsTo,
    Stretch, WithErrata, bar_span, day, default_log, drill_form, drill_heard, drill_notation, drill_pictures,
    drills, errata_lines, free_days, level_tables_json, level_tables_text, log_line, log_visit, open_call,
    open_call_text, plan, plan_call, reading_opened, reading_picture, reading_said, readings, readings_json,
    readings_text, show_log, time_of_day, today, weeks_pdf, with_errata, write_drills, write_drills_json,
    write_readings,
};
#[cfg(feature = "whole")]
pub use print::{
    Copy, CopyAsked, For, Form, Made, OurMark, PrepAsked, Written, card_html, card_pdf, card_text, copy,
    opening, pdf, picture, prep_html, prep_pdf, write_copy,
};
#[cfg(feature = "whole")]
pub use printer::Printer;
#[cfg(feature = "whole")]
pub use scan::{Scanned, are_pages, is_a_place_to_look, musicxml, scan, scan_bytes};
pub use section::{Section, write_section_json};
#[cfg(feature = "whole")]
pub use sound::{Reminder, reminder};
pub use study::{Decided, StudyAsked};
pub use survey_piece::{
    Asked, PartChoice, Shown, choose_part, section_sheet, survey_json, survey_piece, survey_sheet,
    write_survey_json,
};
#[cfg(feature = "whole")]
pub use taken::{Beside, PlayedBar, TakeAsked, Taken, ToPlay, earlier_take, take, take_bytes, to_play};
pub use whole_file::{WholeFile, not_over_itself};
