//! What does a player keep missing? Her looks of the last weeks, in words and in one plain table.

use crate::error::AppError;
use crate::lan::Asker;
use crate::look::words::{bars, clock, day, is_missed, listed, missed, title};
use crate::screen::{Screen, capital};
use crate::state::App;
use axum::extract::{Path, Query, State};
use axum::response::Html;
use maud::{Markup, html};
use serde::Deserialize;
use std::collections::BTreeMap;
use std::sync::Arc;
use store::{LookFirstRow, PieceId, PlayerId, PlayerRow};
use wire::LookFirstJson;

/// How far back.
#[derive(Clone, Debug, Default, Deserialize)]
pub(crate) struct Since {
    weeks: Option<String>,
}

/// Weeks that are looked back if nothing is said.
const WEEKS: u32 = 8;
/// A habit is what was missed in so many looks, and in half of those in which it was looked at. Ours.
const HABIT: usize = 2;
/// Looks from which on habits are spoken of. Ours.
const ENOUGH: usize = 3;

/// A player's record of looking first.
pub(crate) async fn weeks(
    State(app): State<Arc<App>>,
    asker: Asker,
    Path(id): Path<i64>,
    Query(since): Query<Since>,
) -> Result<Html<String>, AppError> {
    app.aside(move |app| {
        let player = app.store.player(PlayerId(id))?;
        let weeks = match since.weeks.as_deref() {
            Some("all") => None,
            Some(text) => text.parse().ok().filter(|weeks| (1..=520).contains(weeks)),
            None => Some(WEEKS),
        };
        let from = weeks.map(|weeks| first_day(app.today(), weeks));
        let looks = looks(app, player.id, from.as_deref())?;
        let order = app.store.keeps_missing(player.id, from.as_deref())?;
        let order: Vec<String> = order.into_iter().map(|missed| missed.question).collect();
        let tally = tally(&looks, &order);
        let titles = titles(app, &looks);
        Ok(Html(
            drawn((app, asker), &player, &looks, &tally, &titles, weeks).into_string(),
        ))
    })
    .await
}

/// The day so many weeks ago, as moments are kept.
fn first_day(mut day: chrono::NaiveDate, weeks: u32) -> String {
    for _ in 0..weeks.saturating_mul(7) {
        day = day.pred_opt().unwrap_or(day);
    }
    day.to_string()
}

type Look = (LookFirstRow, LookFirstJson);

fn looks(app: &App, player: PlayerId, from: Option<&str>) -> Result<Vec<Look>, AppError> {
    let rows = app.store.look_firsts(None, Some(player))?;
    let since = rows
        .into_iter()
        .filter(|row| from.is_none_or(|from| row.made.as_str() >= from));
    Ok(since
        .filter_map(|row| wire::read_look_first(&row.document).map(|read| (row, read)))
        .collect())
}

fn titles(app: &App, looks: &[Look]) -> BTreeMap<PieceId, String> {
    let mut titles = BTreeMap::new();
    for (row, _) in looks {
        titles.entry(row.piece).or_insert_with(|| {
            let found = app.store.piece(row.piece);
            found.map_or_else(
                |_| "a piece that is gone".to_owned(),
                |piece| title(&piece).to_owned(),
            )
        });
    }
    titles
}

/// One question over all looks.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
struct Row {
    question: String,
    name: String,
    looked: usize,
    seen: usize,
    half: usize,
    missed: usize,
    not_looked: usize,
    /// What was missed last: the look, what, and its bars.
    last: Option<(usize, String, Vec<String>)>,
}

impl Row {
    fn is_habit(&self) -> bool {
        self.missed >= HABIT && self.missed * 2 >= self.looked
    }
}

/// Question by question: what is missed in most looks first, as the store counts it, then in the order of the routine.
fn tally(looks: &[Look], order: &[String]) -> Vec<Row> {
    let mut rows: Vec<Row> = Vec::new();
    for (at, (_, look)) in looks.iter().enumerate() {
        for question in &look.questions {
            let index = rows.iter().position(|row| row.question == question.question);
            let index = index.unwrap_or_else(|| {
                rows.push(Row {
                    question: question.question.clone(),
                    name: question.name.clone(),
                    ..Row::default()
                });
                rows.len() - 1
            });
            let Some(row) = rows.get_mut(index) else { continue };
            match question.verdict.as_str() {
                "seen" => row.seen += 1,
                "half" => row.half += 1,
                "missed" => row.missed += 1,
                _ => row.not_looked += 1,
            }
            row.looked = row.seen + row.half + row.missed;
            let said = missed(question).next();
            if let Some(said) = said.filter(|_| row.last.is_none()) {
                row.last = Some((at, said.says.clone(), said.bars.iter().take(1).cloned().collect()));
            }
        }
    }
    let rank = |row: &Row| {
        order
            .iter()
            .position(|name| *name == row.question)
            .unwrap_or(usize::MAX)
    };
    rows.sort_by_key(rank);
    rows
}

fn drawn(
    (app, asker): (&App, Asker),
    player: &PlayerRow,
    looks: &[Look],
    tally: &[Row],
    titles: &BTreeMap<PieceId, String>,
    weeks: Option<u32>,
) -> Markup {
    let name = &player.name;
    asker.page(&Screen {
        title: &format!("{name}: what keeps being missed"),
        secret: &app.secret,
        class: "look-begin",
        styles: &["look.css"],
        script: None,
        line: html! { h1 { (name) } p class="facts" { "Looking first" } },
        body: html! {
            div class="leaf" {
                p class="span" {
                    @for (choice, words) in [(Some(2), "two weeks"), (Some(WEEKS), "eight weeks"), (None, "all that is kept")] {
                        @let address = choice.map_or_else(|| "all".to_owned(), |weeks| weeks.to_string());
                        @if choice == weeks { strong { (capital(words)) } } @else { a href={ "?weeks=" (address) } { (capital(words)) } }
                        " "
                    }
                }
                @for sentence in said(name, looks.len(), tally) { p class="lead" { (sentence) } }
                @if !tally.is_empty() { (table(tally, looks, titles)) (each(looks, titles)) }
                p { a href="/look" { "Look at a piece" } }
            }
        },
    })
}

/// What is said of her looks, in a few sentences.
fn said(name: &str, looks: usize, tally: &[Row]) -> Vec<String> {
    if looks == 0 {
        return vec![format!("{name} has not looked first in this time.")];
    }
    let plural = if looks == 1 { "One look" } else { "So far" };
    if looks < ENOUGH {
        let few = if looks == 1 {
            plural.to_owned()
        } else {
            format!("{plural} {looks} looks")
        };
        return vec![format!(
            "{few}: too few to speak of habits. Below is how each question went."
        )];
    }
    let mut said = Vec::new();
    let habits: Vec<&Row> = tally.iter().filter(|row| row.is_habit()).collect();
    let named: Vec<String> = habits
        .iter()
        .map(|row| {
            format!(
                "{} (missed {} of {} times)",
                row.name.to_lowercase(),
                row.missed,
                row.looked
            )
        })
        .collect();
    let named: Vec<&str> = named.iter().map(String::as_str).collect();
    if named.is_empty() {
        said.push(format!("In {looks} looks nothing keeps being missed."));
    } else {
        said.push(format!(
            "In {looks} looks {name} keeps missing {}.",
            listed(&named)
        ));
    }
    let by = |held: &dyn Fn(&Row) -> bool| -> Vec<String> {
        tally
            .iter()
            .filter(|row| held(row))
            .map(|row| row.name.to_lowercase())
            .collect()
    };
    let sure = by(&|row| row.looked >= ENOUGH && row.seen == row.looked);
    if !sure.is_empty() {
        let sure: Vec<&str> = sure.iter().map(String::as_str).collect();
        said.push(format!("Always seen: {}.", listed(&sure)));
    }
    let left = by(&|row| row.not_looked >= HABIT && row.not_looked * 2 > looks);
    if !left.is_empty() {
        let left: Vec<&str> = left.iter().map(String::as_str).collect();
        said.push(format!("Seldom come to: {}.", listed(&left)));
    }
    said
}

fn table(tally: &[Row], looks: &[Look], titles: &BTreeMap<PieceId, String>) -> Markup {
    html! {
        div class="wide" tabindex="0" role="region" aria-label="How each question went" {
            table {
                caption { "How each question went, in looks" }
                thead { tr {
                    th scope="col" { "Question" } th scope="col" { "seen" } th scope="col" { "half seen" } th scope="col" { "missed" }
                    th scope="col" { "not looked at" } th scope="col" { "missed last" }
                } }
                tbody {
                    @for row in tally {
                        tr {
                            th scope="row" { (row.name) }
                            @for number in [row.seen, row.half, row.missed, row.not_looked] {
                                td class="number" { @if number == 0 { "–" } @else { (number) } }
                            }
                            td { (last(row, looks, titles)) }
                        }
                    }
                }
            }
        }
    }
}

fn last(row: &Row, looks: &[Look], titles: &BTreeMap<PieceId, String>) -> Markup {
    let found = row
        .last
        .as_ref()
        .and_then(|(at, what, bars)| Some((looks.get(*at)?, what, bars)));
    let Some(((look, _), what, labels)) = found else {
        return html! { "–" };
    };
    let piece = titles.get(&look.piece).map_or("", String::as_str);
    html! {
        a href={ "/look/" (look.piece) "/seen/" (look.id) } { (piece) @if !labels.is_empty() { ", " (bars(labels)) } }
        ": " (what)
    }
}

fn each(looks: &[Look], titles: &BTreeMap<PieceId, String>) -> Markup {
    html! {
        section {
            h2 { "Look by look" }
            ul class="plain" {
                @for (row, look) in looks {
                    @let missed: Vec<&str> = look.questions.iter().filter(|question| is_missed(question)).map(|question| question.name.as_str()).collect();
                    li {
                        a href={ "/look/" (row.piece) "/seen/" (row.id) } { (day(&row.made)) ", " (titles.get(&row.piece).map_or("", String::as_str)) }
                        ", " (clock(&look.clock)) ": "
                        @if missed.is_empty() { "nothing missed" } @else { "missed " (listed(&missed).to_lowercase()) }
                    }
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{Row, said};

    fn row(name: &str, seen: usize, missed: usize, not_looked: usize) -> Row {
        Row {
            question: name.to_lowercase(),
            name: name.to_owned(),
            looked: seen + missed,
            seen,
            missed,
            not_looked,
            ..Row::default()
        }
    }

    #[test]
    fn few_looks_are_no_habit() {
        assert_eq!(said("Ivo", 0, &[]), ["Ivo has not looked first in this time."]);
        assert!(said("Ivo", 2, &[row("Key", 0, 2, 0)])[0].contains("too few to speak of habits"));
    }

    #[test]
    fn what_keeps_being_missed_is_said_with_how_often() {
        let tally = [
            row("Accidentals", 1, 3, 0),
            row("Key", 4, 0, 0),
            row("Dynamics", 1, 0, 3),
            row("Metre and count", 3, 1, 0),
        ];
        assert_eq!(
            said("Ivo", 4, &tally),
            [
                "In 4 looks Ivo keeps missing accidentals (missed 3 of 4 times).",
                "Always seen: key.",
                "Seldom come to: dynamics.",
            ]
        );
    }
}
