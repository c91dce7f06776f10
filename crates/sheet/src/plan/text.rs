//! How does the plan read in a terminal? Milestones, the days asked for, what is left, cautions.

use super::page::{DayCard, plan_page};
use super::{PlanShown, said};
use crate::model::{Section, Sheet};

/// The plan of some days as a sheet. A single day says with each turn what to do and when to stop; several days say it once.
#[must_use]
pub fn plan_sheet(shown: &PlanShown) -> Sheet {
    let page = plan_page(shown, &[]);
    let single = shown.days == 1;
    let mut sections = Vec::new();
    let mut overview = Section::new("plan", "The plan", String::new());
    for (name, text) in &page.milestones {
        overview.line(name, text.clone(), Vec::new());
    }
    if let Some(day) = shown.plan.calendar.rest_day {
        let day = format!("{day}");
        overview.line("day off", format!("every {day}"), Vec::new());
    }
    for left in &page.left {
        overview.line("left", left.clone(), Vec::new());
    }
    if !overview.rows.is_empty() {
        sections.push(overview);
    }
    sections.extend(page.days.iter().map(|day| day_section(day, single)));
    if !single && !page.how.is_empty() {
        let mut how = Section::new("how", "How each goes", String::new());
        let rows = page.how.iter().map(|one| {
            let stop = if one.stop.is_empty() {
                String::new()
            } else {
                format!("; stop {}", one.stop)
            };
            vec![one.name.clone(), format!("{}{stop}", one.what)]
        });
        how.table("", &["", ""], rows.collect());
        sections.push(how);
    }
    Sheet {
        title: page.title,
        facts: said::facts(shown.asked),
        study: sections,
        foot: page.cautions,
        ..Sheet::default()
    }
}

fn day_section(day: &DayCard, in_full: bool) -> Section {
    let name = if day.minutes.is_empty() {
        day.name.clone()
    } else {
        format!("{} · {}", day.name, day.minutes)
    };
    let mut section = Section::new("day", &name, day.about.clone());
    for turn in &day.turns {
        let mut text = turn.name.clone();
        for more in [&turn.bars, &turn.tempo, &turn.how] {
            if !more.is_empty() {
                text.push_str(", ");
                text.push_str(more);
            }
        }
        if in_full {
            text.push_str(&format!(" — {}", turn.what));
            if !turn.stop.is_empty() {
                text.push_str(&format!("; stop {}", turn.stop));
            }
        }
        if !turn.why.is_empty() {
            text.push_str(&format!(" ({})", turn.why));
        }
        section.line(&format!("{} min", turn.minutes), text, Vec::new());
    }
    section
}
