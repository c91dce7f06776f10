//! How was it played? Marks by a rubric's lines, each with words; never a sum without the rubric's name beside it.

use crate::days;
use crate::error::AppError;
use crate::pieces;
use crate::screen::{Screen, page};
use crate::state::App;
use crate::studio::form::{self, Go, Nothing, TEXT};
use crate::studio::rubric::{self, Document, points};
use axum::Json;
use axum::extract::{Path, Query, State};
use axum::response::Html;
use maud::{Markup, html};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::sync::Arc;
use store::{JudgementId, JudgementRow, PlayerId, PlayerRow, RubricRow};

/// What is judged, and by what.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub(crate) struct Which {
    player: i64,
    piece: i64,
    rubric: Option<i64>,
}

/// What was given.
#[derive(Clone, PartialEq, Debug, Default, Serialize, Deserialize)]
#[serde(default)]
struct Given {
    /// The rubric's lines as they were, each with its points and words.
    lines: Vec<GivenLine>,
    /// Words for all of it.
    words: String,
}

#[derive(Clone, PartialEq, Debug, Default, Serialize, Deserialize)]
#[serde(default)]
struct GivenLine {
    name: String,
    most: f64,
    /// `None` where it was not judged.
    points: Option<f64>,
    words: String,
}

impl Given {
    /// Points and the most of the lines that were judged.
    fn sum(&self) -> (f64, f64) {
        let judged = self
            .lines
            .iter()
            .filter_map(|line| Some((line.points?, line.most)));
        judged.fold((0.0, 0.0), |(points, most), (own, own_most)| {
            (points + own, most + own_most)
        })
    }
}

/// The page on which somebody judges.
pub(crate) async fn screen(
    State(app): State<Arc<App>>,
    Query(which): Query<Which>,
) -> Result<Html<String>, AppError> {
    app.aside(move |app| Ok(Html(drawn(app, &which)?.into_string())))
        .await
}

fn drawn(app: &App, which: &Which) -> Result<Markup, AppError> {
    let player = app.store.player(PlayerId(which.player))?;
    let piece = pieces::row(app, which.piece)?;
    let rubrics = app.store.rubrics()?;
    let chosen = which.rubric.map(|id| rubric::row(app, id)).transpose()?;
    let title = format!("{}: {}", player.name, piece.title);
    Ok(page(&Screen {
        title: &title,
        secret: &app.secret,
        class: "studio",
        styles: &["studio.css"],
        script: Some("studio.js"),
        line: html! { h1 { (title) } p class="facts" { (days::said(app.today())) } },
        body: html! {
            p { a href={ "/studio/player/" (player.id) } { "Back to " (player.name) } }
            h2 { "By which rubric?" }
            @if rubrics.is_empty() { p { "There is none yet. " a href="/studio/rubrics" { "Write one, or take a published one over" } "." } }
            ul { @for row in &rubrics {
                @let is_it = chosen.as_ref().is_some_and(|chosen| chosen.id == row.id);
                li { a href={ "/studio/judge?player=" (player.id) "&piece=" (piece.id) "&rubric=" (row.id) } aria-current=[is_it.then_some("true")] { (row.name) } }
            } }
            @if let Some(row) = &chosen { (sheet(row, which)) }
        },
    }))
}

fn sheet(row: &RubricRow, which: &Which) -> Markup {
    let document = Document::of(row);
    html! {
        section class="judging" {
            h2 { (row.name) }
            p class="hint" { @if row.source.is_empty() { "Your own rubric" } @else { "Source: " (row.source) } }
            (form::form("/studio/judge", "Keep", &html! {
                input type="hidden" name="player" value=(which.player);
                input type="hidden" name="piece" value=(which.piece);
                input type="hidden" name="rubric" value=(row.id);
                @for (number, line) in document.lines.iter().enumerate() {
                    fieldset class="judged-line" {
                        legend { (line.name) }
                        @if !line.words.is_empty() { p class="hint" { (line.words) } }
                        div class="fields" {
                            label class="field short" { span { "of " (points(line.most)) } input type="text" inputmode="decimal" name={ "points." (number) } maxlength="8" autocomplete="off"; }
                            label class="field" { span { "in words" } input type="text" name={ "words." (number) } maxlength="400" autocomplete="off"; }
                        }
                    }
                }
                (form::lines("For all of it", "words", "", 3))
            }))
        }
    }
}

/// Marks as they are filled in.
#[derive(Debug, Deserialize)]
pub(crate) struct Filled {
    player: String,
    piece: String,
    rubric: String,
    #[serde(default)]
    words: String,
    /// `points.0`, `words.0` and so on.
    #[serde(flatten)]
    lines: BTreeMap<String, String>,
}

/// Keeps what was judged.
pub(crate) async fn judge(
    State(app): State<Arc<App>>,
    Json(filled): Json<Filled>,
) -> Result<Json<Go>, AppError> {
    app.aside(move |app| {
        let number = |text: &str| text.parse::<i64>().map_err(|_| AppError::NotFound);
        let player = app.store.player(PlayerId(number(&filled.player)?))?;
        let piece = pieces::row(app, number(&filled.piece)?)?;
        let row = rubric::row(app, number(&filled.rubric)?)?;
        let given = filled.given(&Document::of(&row))?;
        let document = serde_json::to_string(&given).map_err(|error| AppError::Asked(error.to_string()))?;
        app.store
            .judge(row.id, piece.id, Some(player.id), None, &document)?;
        Ok(Go::to(format!("/studio/player/{}#judged", player.id)))
    })
    .await
}

impl Filled {
    fn given(&self, document: &Document) -> Result<Given, AppError> {
        let said = |field: &str, at: usize| {
            self.lines
                .get(&format!("{field}.{at}"))
                .map_or("", String::as_str)
        };
        let mut lines = Vec::new();
        for (at, line) in document.lines.iter().enumerate() {
            let given = form::number(said("points", at), &line.name)?;
            if let Some(given) = given.filter(|given| !(0.0..=line.most).contains(given)) {
                return Err(AppError::Asked(format!(
                    "{}: {} can't be given — it gives from 0 to {}",
                    line.name,
                    points(given),
                    points(line.most)
                )));
            }
            lines.push(GivenLine {
                name: line.name.clone(),
                most: line.most,
                points: given,
                words: form::text(said("words", at), TEXT, &line.name)?,
            });
        }
        let given = Given {
            lines,
            words: form::text(&self.words, TEXT, "the words")?,
        };
        if given.words.is_empty()
            && given
                .lines
                .iter()
                .all(|line| line.points.is_none() && line.words.is_empty())
        {
            return Err(AppError::Asked(
                "nothing is judged yet — give a mark or write a word".to_owned(),
            ));
        }
        Ok(given)
    }
}

/// Takes what was judged away.
pub(crate) async fn back(
    State(app): State<Arc<App>>,
    Path(judgement): Path<i64>,
    Json(_): Json<Nothing>,
) -> Result<Json<Go>, AppError> {
    app.aside(move |app| {
        app.store.remove_judgement(JudgementId(judgement))?;
        Ok(Go::to(""))
    })
    .await
}

/// What of a player was judged.
///
/// # Errors
/// If the store refuses.
pub(crate) fn of_player(app: &App, row: &PlayerRow) -> Result<Markup, AppError> {
    let judged = app.store.judgements(None, Some(row.id))?;
    let rubrics = app.store.rubrics()?;
    let mut shown = Vec::new();
    for one in &judged {
        let title = app.store.piece(one.piece)?.title;
        let by = rubrics.iter().find(|rubric| rubric.id == one.rubric);
        shown.push(of_one(one, &title, by));
    }
    Ok(html! {
        @if !shown.is_empty() {
            h3 id="judged" { "Judged" }
            @for one in &shown { (one) }
        }
    })
}

fn of_one(one: &JudgementRow, title: &str, by: Option<&RubricRow>) -> Markup {
    let given: Given = serde_json::from_str(&one.document).unwrap_or_default();
    let (sum, most) = given.sum();
    let left = given.lines.iter().filter(|line| line.points.is_none()).count();
    html! {
        details class="judged" {
            summary {
                (days::kept(&one.made)) ", " (title) ": "
                @if most > 0.0 { (points(sum)) " of " (points(most)) } @else { "in words" }
                " by " (by.map_or("a rubric that is gone", |by| by.name.as_str()))
                @if left > 0 && most > 0.0 { " (" (left) @if left == 1 { " line" } @else { " lines" } " not judged)" }
            }
            table { tbody { @for line in &given.lines {
                tr { th scope="row" { (line.name) } td { @match line.points { Some(given) => { (points(given)) " of " (points(line.most)) }, None => "not judged" } } td { (line.words) } }
            } } }
            @if !given.words.is_empty() { p class="hand" { (given.words) } }
            @if let Some(by) = by { @if !by.source.is_empty() { p class="hint" { "Source of the rubric: " (by.source) } } }
            (form::press(&format!("/studio/judgement/{}/back", one.id), "Take it away", Some("Take this judgement away?")))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn filled(lines: &[(&str, &str)]) -> Filled {
        Filled {
            player: String::new(),
            piece: String::new(),
            rubric: String::new(),
            words: String::new(),
            lines: lines
                .iter()
                .map(|(name, value)| ((*name).to_owned(), (*value).to_owned()))
                .collect(),
        }
    }

    #[test]
    fn what_was_not_judged_is_not_counted_as_nothing() {
        let document = Document::read("Tone | 10\nRhythm | 5").unwrap();
        let given = filled(&[("points.0", "7,5"), ("points.1", ""), ("words.1", "next time")])
            .given(&document)
            .unwrap();
        assert_eq!(given.sum(), (7.5, 10.0));
        assert!(
            filled(&[("points.0", "11")])
                .given(&document)
                .unwrap_err()
                .to_string()
                .contains("from 0 to 10")
        );
        assert!(filled(&[("points.0", "-1")]).given(&document).is_err());
        assert!(filled(&[]).given(&document).is_err(), "nothing at all");
    }
}
