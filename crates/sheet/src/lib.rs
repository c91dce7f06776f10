//! How do the findings read? Terminal, HTML, print and card; leaves slots for engraved excerpts.

#[cfg(feature = "whole")]
mod card;
mod compose;
mod html;
#[cfg(feature = "whole")]
mod letters;
#[cfg(feature = "whole")]
mod look;
mod model;
#[cfg(feature = "whole")]
mod plan;
#[cfg(feature = "whole")]
mod prep;
mod terminal;
#[cfg(feature = "whole")]
mod typst;
mod words;

#[cfg(feature = "whole")]
pub use card::{Card, Look, ROUTINES, Routine, Step, StudyTime, card, card_html, card_text, card_typst};
pub use compose::{Composed, compose, fingers, ladder, spots};
pub use html::html;
#[cfg(feature = "whole")]
pub use look::{LookPage, look_text, look_typst};
pub use model::{BarCell, Picture, Row, Section, Sheet, Tick};
#[cfg(feature = "whole")]
pub use plan::{
    Clock, DayCard, How, PlanPage, PlanShown, PlanSlot, SpotCard, TurnLine, calendar, plan_html, plan_page,
    plan_sheet, plan_typst, plans_typst,
};
#[cfg(feature = "whole")]
pub use prep::{
    Answer, Bracket, Breathing, Climb, Detail, Excerpt, Excerpts, Fingered, Fingers, Gloss, Handed, LEVELS,
    PrepSheet, Returns, Short, Slot, prep_html, prep_sheet, prep_typst,
};
pub use terminal::{Terminal, terminal};
#[cfg(feature = "whole")]
pub use typst::{Paper, TypstSheet};
pub use words::{BarWord, bar_runs};
