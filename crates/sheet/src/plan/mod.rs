//! How does the plan read? Days with their turns, how each turn goes, the hard spots engraved, cautions: a plain value that
//! becomes words for the terminal, a printed page, an HTML page, and a calendar file.

mod calendar;
mod html;
mod page;
mod print;
mod said;
mod text;

pub use calendar::{Clock, calendar};
pub use html::plan_html;
pub use page::{DayCard, How, PlanPage, PlanSlot, SpotCard, TurnLine, plan_page};
pub use print::{plan_typst, plans_typst};
pub use text::plan_sheet;

use crate::prep::Handed;
use notation::Finding;
use practice::plan::{Asked, Date, Plan};

/// A plan as it is to be shown.
#[derive(Clone, Copy, Debug)]
pub struct PlanShown<'a> {
    /// What was asked.
    pub asked: &'a Asked,
    /// The plan.
    pub plan: &'a Plan,
    /// What was found on the way, the plan's own findings included.
    pub findings: &'a [Finding],
    /// For whom, and the date, as they are to be printed.
    pub handed: &'a Handed,
    /// The first day shown.
    pub from: Date,
    /// How many days.
    pub days: u32,
}
