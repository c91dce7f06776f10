//! How do the findings read? Terminal, HTML, print and card; leaves slots for engraved excerpts.

mod card;
mod compose;
mod html;
mod letters;
mod look;
mod model;
mod plan;
mod prep;
mod terminal;
mod typst;
mod words;

pub use card::{Card, Look, ROUTINES, Routine, Step, StudyTime, card, card_html, card_text, card_typst};
pub use compose::{Composed, compose, fingers, ladder, spots};
pub use html::html;
pub use look::{LookPage, look_text, look_typst};
pub use model::{BarCell, Picture, Row, Section, Sheet, Tick};
pub use plan::{
    Clock, DayCard, How, PlanPage, PlanShown, PlanSlot, SpotCard, TurnLine, calendar, plan_html, plan_page,
    plan_sheet, plan_typst, plans_typst,
};
pub use prep::{
    Answer, Bracket, Breathing, Climb, Detail, Excerpt, Excerpts, Fingered, Fingers, Gloss, Handed, LEVELS,
    PrepSheet, Returns, Short, Slot, prep_html, prep_sheet, prep_typst,
};
pub use terminal::{Terminal, terminal};
pub use typst::{Paper, TypstSheet};
pub use words::{BarWord, bar_runs};
