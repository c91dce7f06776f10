//! By what is playing judged? The teacher's own rubrics, line by line, and published ones as a start, each with its source.

use crate::error::AppError;
use crate::screen::{Screen, page};
use crate::state::App;
use crate::studio::form::{self, Go, Nothing, TEXT};
use axum::Json;
use axum::extract::{Path, State};
use axum::response::Html;
use maud::{Markup, html};
use serde::{Deserialize, Serialize};
use std::sync::Arc;
use store::{RubricId, RubricRow};

/// A line of a rubric.
#[derive(Clone, PartialEq, Debug, Default, Serialize, Deserialize)]
#[serde(default)]
pub(crate) struct Line {
    /// What it judges.
    pub name: String,
    /// The most that it gives.
    pub most: f64,
    /// What its points are for, in words; may be empty.
    pub words: String,
}

/// A rubric's document.
#[derive(Clone, PartialEq, Debug, Default, Serialize, Deserialize)]
#[serde(default)]
pub(crate) struct Document {
    /// Its lines.
    pub lines: Vec<Line>,
}

/// The most lines of a rubric, and the most that one gives.
const MOST_LINES: usize = 40;
const MOST_POINTS: f64 = 1_000.0;

impl Document {
    /// As it is kept.
    pub fn of(row: &RubricRow) -> Self {
        serde_json::from_str(&row.document).unwrap_or_default()
    }

    /// One line each: `Tone | 10 | free, centred, even`.
    pub fn text(&self) -> String {
        let lines = self.lines.iter().map(|line| {
            let words = if line.words.is_empty() {
                String::new()
            } else {
                format!(" | {}", line.words)
            };
            format!("{} | {}{words}", line.name, line.most)
        });
        lines.collect::<Vec<_>>().join("\n")
    }

    /// As it is written.
    pub fn read(text: &str) -> Result<Self, AppError> {
        let lines: Vec<Line> = text
            .lines()
            .filter(|line| !line.trim().is_empty())
            .map(read_line)
            .collect::<Result<_, _>>()?;
        if lines.is_empty() || lines.len() > MOST_LINES {
            return Err(AppError::Asked(
                "a rubric has from 1 to 40 lines — write one line for each thing that is judged".to_owned(),
            ));
        }
        Ok(Self { lines })
    }

    /// All that it gives.
    pub fn most(&self) -> f64 {
        self.lines.iter().map(|line| line.most).sum()
    }
}

fn read_line(line: &str) -> Result<Line, AppError> {
    let mut cells = line.splitn(3, '|').map(str::trim);
    let name = form::name(cells.next().unwrap_or_default(), "what a line judges")?;
    let most = cells.next().unwrap_or_default();
    let most = form::number(most, &name)?.filter(|most| *most > 0.0 && *most <= MOST_POINTS).ok_or_else(|| {
        AppError::Asked(format!("{name}: how much it gives is missing — write it after a stroke: {name} | 10 | what the points are for"))
    })?;
    Ok(Line {
        name,
        most,
        words: cells.next().unwrap_or_default().to_owned(),
    })
}

/// Points as they are said: `4`, `4.5`.
pub(crate) fn points(points: f64) -> String {
    format!("{}", (points * 100.0).round() / 100.0)
}

/// A rubric as it is filled in.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(crate) struct Filled {
    name: String,
    lines: String,
    /// A published one to begin with, by its number.
    begin_with: String,
}

/// A new rubric.
pub(crate) async fn add(
    State(app): State<Arc<App>>,
    Json(filled): Json<Filled>,
) -> Result<Json<Go>, AppError> {
    app.aside(move |app| {
        let (name, source, document) = match filled.begin_with.parse::<usize>() {
            Ok(number) => published().into_iter().nth(number).ok_or(AppError::NotFound)?,
            Err(_) => (
                form::name(&filled.name, "the rubric's name")?,
                String::new(),
                Document::read(&form::text(&filled.lines, TEXT, "the lines")?)?,
            ),
        };
        app.store.add_rubric(&name, &source, &text(&document)?)?;
        Ok(Go::to("/studio/rubrics"))
    })
    .await
}

/// A rubric changed; what is no longer as it was published says so.
pub(crate) async fn change(
    State(app): State<Arc<App>>,
    Path(rubric): Path<i64>,
    Json(filled): Json<Filled>,
) -> Result<Json<Go>, AppError> {
    app.aside(move |app| {
        let row = row(app, rubric)?;
        let document = Document::read(&form::text(&filled.lines, TEXT, "the lines")?)?;
        let changed = document != Document::of(&row);
        const AFTER: &str = "changed, after ";
        let source = if changed && !row.source.is_empty() && !row.source.starts_with(AFTER) {
            format!("{AFTER}{}", row.source)
        } else {
            row.source.clone()
        };
        if changed && !judged_by(app, row.id)?.is_empty() {
            return Err(AppError::Asked(
                "something was judged by this rubric as it is — write a new one, so that the old marks keep their meaning".to_owned(),
            ));
        }
        app.store.change_rubric(&RubricRow {
            name: form::name(&filled.name, "the rubric's name")?,
            source,
            document: text(&document)?,
            ..row
        })?;
        Ok(Go::to("/studio/rubrics"))
    })
    .await
}

fn judged_by(app: &App, rubric: RubricId) -> Result<Vec<store::JudgementRow>, AppError> {
    let mut all = app.store.judgements(None, None)?;
    all.retain(|one| one.rubric == rubric);
    Ok(all)
}

/// A rubric taken away.
pub(crate) async fn back(
    State(app): State<Arc<App>>,
    Path(rubric): Path<i64>,
    Json(_): Json<Nothing>,
) -> Result<Json<Go>, AppError> {
    app.aside(move |app| {
        app.store.remove_rubric(RubricId(rubric))?;
        Ok(Go::to("/studio/rubrics"))
    })
    .await
}

fn text(document: &Document) -> Result<String, AppError> {
    serde_json::to_string(document).map_err(|error| AppError::Asked(error.to_string()))
}

/// A rubric by its number.
///
/// # Errors
/// If there is none.
pub(crate) fn row(app: &App, rubric: i64) -> Result<RubricRow, AppError> {
    let all = app.store.rubrics()?;
    all.into_iter()
        .find(|row| row.id == RubricId(rubric))
        .ok_or(AppError::NotFound)
}

/// Published rubrics to begin with: name, source, lines. Those of which a machine can count the lines are the same.
fn published() -> Vec<(String, String, Document)> {
    take::judge::published()
        .into_iter()
        .map(|rubric| {
            let lines = rubric.lines.iter().map(|line| Line {
                name: line.name.clone(),
                most: line.levels.iter().map(|level| level.points).fold(0.0, f64::max),
                words: line
                    .levels
                    .iter()
                    .map(|level| format!("{} for {}", points(level.points), level.words))
                    .collect::<Vec<_>>()
                    .join(", "),
            });
            let document = Document {
                lines: lines.collect(),
            };
            (rubric.name, rubric.source, document)
        })
        .collect()
}

/// The rubrics.
pub(crate) async fn screen(State(app): State<Arc<App>>) -> Result<Html<String>, AppError> {
    app.aside(|app| Ok(Html(drawn(app)?.into_string()))).await
}

fn drawn(app: &App) -> Result<Markup, AppError> {
    let rubrics = app.store.rubrics()?;
    Ok(page(&Screen {
        title: "Rubrics",
        secret: &app.secret,
        class: "studio",
        styles: &["studio.css"],
        script: Some("studio.js"),
        line: html! { h1 { "Rubrics" } p class="facts" { "A mark is never given without the rubric that it is by." } },
        body: html! {
            @if rubrics.is_empty() { p { "There is none yet. Write your own, or begin with a published one." } }
            @for row in &rubrics { (one(row)) }
            details class="add" open[rubrics.is_empty()] {
                summary { "Write your own" }
                (form::form("/studio/rubrics", "Keep", &own_fields("", "")))
            }
            section aria-labelledby="published" {
                h2 id="published" { "Published ones to begin with" }
                @for (number, (name, source, document)) in published().iter().enumerate() {
                    h3 { (name) }
                    p class="hint" { "Source: " (source) }
                    (table(document))
                    form class="press" data-to="/studio/rubrics" {
                        input type="hidden" name="begin_with" value=(number);
                        button type="submit" { "Take it over" }
                        span class="slip-said" role="alert" {}
                    }
                }
            }
        },
    }))
}

fn own_fields(name: &str, lines: &str) -> Markup {
    html! {
        div class="fields" { (form::line("What it is called", "name", name, "Studio evening")) }
        (form::lines("One line for each thing that is judged: what, the most it gives, what the points are for, with strokes between", "lines", if lines.is_empty() { "Tone | 10 | free, centred, even through the range\nRhythm | 10 | " } else { lines }, 8))
    }
}

fn one(row: &RubricRow) -> Markup {
    let document = Document::of(row);
    html! {
        section class="rubric" {
            h2 { (row.name) }
            p class="hint" { @if row.source.is_empty() { "Your own" } @else { "Source: " (row.source) } ". " (points(document.most())) " points in all." }
            (table(&document))
            details class="change" {
                summary { "Change" }
                (form::form(&format!("/studio/rubric/{}", row.id), "Keep", &own_fields(&row.name, &document.text())))
                (form::press(&format!("/studio/rubric/{}/back", row.id), "Take it away", Some("Take this rubric away?")))
            }
        }
    }
}

fn table(document: &Document) -> Markup {
    html! {
        div class="scrolls" { table {
            thead { tr { th scope="col" { "line" } th scope="col" { "gives at most" } th scope="col" { "points" } } }
            tbody { @for line in &document.lines { tr { th scope="row" { (line.name) } td { (points(line.most)) } td { (line.words) } } } }
        } }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_rubric_is_written_line_by_line_and_read_back() {
        let text = "Tone | 10 | free | centred\nRhythm | 2,5";
        let document = Document::read(text).unwrap();
        assert_eq!(document.lines[0].words, "free | centred");
        assert_eq!((document.lines[1].most, document.most()), (2.5, 12.5));
        assert_eq!(Document::read(&document.text()).unwrap(), document);
        for wrong in ["", "Tone", "Tone | much", "Tone | -1", "| 10", "Tone | 99999"] {
            assert!(Document::read(wrong).is_err(), "{wrong}");
        }
    }

    #[test]
    fn published_ones_name_their_source_and_say_what_each_point_is_for() {
        let all = published();
        assert!(!all.is_empty());
        for (name, source, document) in all {
            assert!(!source.is_empty(), "{name}");
            assert!(
                document
                    .lines
                    .iter()
                    .all(|line| line.most > 0.0 && line.words.contains(" for ")),
                "{name}"
            );
            assert_eq!(Document::read(&document.text()).unwrap(), document, "{name}");
        }
    }
}
