//! What did a player do? How far each piece is, the minutes of each week, the last visits, what was judged.

use crate::days;
use crate::error::AppError;
use crate::state::App;
use crate::studio::judge;
use crate::today::{Program, planning, progress_picture, read_at_sight};
use maud::{Markup, html};
use practice::plan::{Date, Days};
use serde::Deserialize;
use std::collections::BTreeMap;
use std::collections::btree_map::Entry;
use store::{PieceId, PlayerRow, VisitRow};

/// Visits shown.
const VISITS: usize = 40;
/// Weeks shown.
const WEEKS: u64 = 8;

/// What is shown of a line of the log.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
struct Line {
    from_bar: String,
    to_bar: String,
    tempo: Option<f64>,
    clean: Option<u32>,
    felt: Option<String>,
    minutes: Option<f64>,
    note: Option<String>,
}

/// The record.
///
/// # Errors
/// If the store refuses.
pub(crate) fn drawn(
    app: &App,
    row: &PlayerRow,
    programs: &[Program],
    today: Date,
) -> Result<Markup, AppError> {
    let visits = app.store.visits_of_player(row.id, None)?;
    let mut titles: BTreeMap<PieceId, String> = BTreeMap::new();
    for visit in &visits {
        if let Entry::Vacant(unknown) = titles.entry(visit.piece) {
            unknown.insert(app.store.piece(visit.piece)?.title);
        }
    }
    let judged = judge::of_player(app, row)?;
    let read = read_at_sight(app, row.id)?;
    Ok(html! {
        section class="record" aria-labelledby="record" {
            h2 id="record" { "Record" }
            @for program in programs { (progress(app, row, program, today)) }
            @if !read.is_empty() {
                details class="read-at-sight" {
                    summary { "Read at sight (" (read.len()) ")" }
                    ul { @for (on, key, piece) in read.iter().take(VISITS) {
                        li {
                            (days::said(*on)) ": "
                            a href={ "/today/" (row.id) "/read?on=" (on) "&turn=" (key) } download { (piece.title) }
                            ", " (piece.said)
                        }
                    } }
                }
            }
            @if visits.is_empty() { p { "Nothing is written down yet; what is ticked off in a sitting comes here." } }
            @else {
                (weeks(&visits, today))
                details class="visits" {
                    summary { "The last visits (" (visits.len()) " in all)" }
                    (table(&visits, &titles))
                }
            }
            (judged)
        }
    })
}

fn progress(app: &App, row: &PlayerRow, program: &Program, today: Date) -> Markup {
    let tomorrow = today.checked_add_days(Days::new(1)).unwrap_or(today);
    // What can't be planned any more (the day is tomorrow) is still drawn as it stood today.
    let planned = [tomorrow, today].into_iter().find_map(|on| {
        planning(app, row, program, on)
            .and_then(|planning| planning.made(app))
            .ok()
    });
    html! {
        @match planned {
            Some(planned) => { @for number in 0..planned.question.works.len() { (progress_picture(&planned.question, number, today)) } },
            None => p class="slip-said" { (program.title()) ": nothing can be planned of it; its sitting says why." },
        }
    }
}

/// Minutes week by week, the earliest first; each stroke five minutes.
fn weeks(visits: &[VisitRow], today: Date) -> Markup {
    let monday = |day: Date| {
        use practice::plan::Datelike;
        day.checked_sub_days(Days::new(u64::from(day.weekday().num_days_from_monday())))
            .unwrap_or(day)
    };
    let mut minutes: BTreeMap<Date, (f64, usize)> = BTreeMap::new();
    for visit in visits {
        let Some(day) = days::read(&visit.date) else {
            continue;
        };
        let line: Line = serde_json::from_str(&visit.line).unwrap_or_default();
        let week = minutes.entry(monday(day)).or_default();
        week.0 += line.minutes.unwrap_or(0.0);
        week.1 += 1;
    }
    let first = monday(today)
        .checked_sub_days(Days::new(7 * (WEEKS - 1)))
        .unwrap_or(today);
    let shown: Vec<(Date, f64, usize)> = (0..WEEKS)
        .filter_map(|week| first.checked_add_days(Days::new(7 * week)))
        .map(|week| {
            let (minutes, visits) = minutes.get(&week).copied().unwrap_or_default();
            (week, minutes, visits)
        })
        .collect();
    html! {
        table class="by-week" {
            caption { "Week by week: visits, and minutes where the timer ran" }
            thead { tr { @for (week, ..) in &shown { th scope="col" { (week.format("%-d %b").to_string()) } } } }
            tbody { tr { @for (_, minutes, visits) in &shown { td { (visits) @if *minutes >= 0.5 { ", " (format!("{minutes:.0}")) " min" } } } } }
        }
    }
}

fn table(visits: &[VisitRow], titles: &BTreeMap<PieceId, String>) -> Markup {
    html! {
        div class="scrolls" { table {
            thead { tr { th scope="col" { "day" } th scope="col" { "piece" } th scope="col" { "bars" } th scope="col" { "tempo" } th scope="col" { "in a row" } th scope="col" { "felt" } th scope="col" { "minutes" } th scope="col" { "note" } } }
            tbody {
                @for visit in visits.iter().rev().take(VISITS) {
                    @let line = serde_json::from_str::<Line>(&visit.line).unwrap_or_default();
                    tr {
                        th scope="row" { (days::kept(&visit.date)) }
                        td { (titles.get(&visit.piece).map_or("", String::as_str)) @if !visit.placed { " (bars of an earlier file)" } }
                        td { (line.from_bar) @if line.to_bar != line.from_bar { "–" (line.to_bar) } }
                        td { (line.tempo.map_or_else(|| "–".to_owned(), |tempo| format!("{tempo:.0}"))) }
                        td { (line.clean.map_or_else(|| "–".to_owned(), |clean| clean.to_string())) }
                        td { (line.felt.as_deref().unwrap_or("–")) }
                        td { (line.minutes.map_or_else(|| "–".to_owned(), |minutes| format!("{minutes:.1}"))) }
                        td { (line.note.as_deref().unwrap_or_default()) }
                    }
                }
            }
        } }
    }
}
