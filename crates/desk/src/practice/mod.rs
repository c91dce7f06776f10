//! What does a person want to practise? Drills and what follows them.

mod drill;

pub use drill::{
    DrillAsked, DrillPages, DrillPick, Drills, drill_form, drills, write_drills, write_drills_json,
};
