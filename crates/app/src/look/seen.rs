//! What was there to see? Bar by bar what was missed, each with its evidence and its place on the part, and kindly what was left out.

use crate::error::AppError;
use crate::lan::Asker;
use crate::look::clean::{Clean, clean};
use crate::look::now::{labels, music};
use crate::look::words::{bars, class, clock, day, evidence, is_missed, listed, missed, used, verdict};
use crate::screen::Screen;
use crate::state::App;
use crate::workshop::Urgency;
use axum::extract::{Path, State};
use axum::response::Html;
use maud::{Markup, html};
use std::sync::Arc;
use store::{LookFirstRow, PieceId, StoreError};
use wire::{LookFirstJson, LookSaid, LookedAt};

/// One look, afterwards.
pub(crate) async fn seen(
    State(app): State<Arc<App>>,
    asker: Asker,
    Path((id, look)): Path<(i64, i64)>,
) -> Result<Html<String>, AppError> {
    let (row, read) = app.aside(move |app| found(app, asker, id, look)).await?;
    // A player who was taken out of the studio meanwhile is nobody in particular.
    let player = row.player.map(|player| player.0);
    let part = match clean(&app, id, player, Urgency::Awaited).await {
        Err(AppError::Kept(StoreError::Gone { .. })) if player.is_some() => {
            clean(&app, id, None, Urgency::Awaited).await?
        }
        part => part?,
    };
    app.aside(move |app| Ok(Html(drawn(&part, &app.secret, asker, &row, &read).into_string())))
        .await
}

fn found(app: &App, asker: Asker, id: i64, look: i64) -> Result<(LookFirstRow, LookFirstJson), AppError> {
    let rows = app.store.look_firsts(Some(PieceId(id)), None)?;
    let row = rows
        .into_iter()
        .find(|row| row.id.0 == look && asker.sees(row.player))
        .ok_or(AppError::NotFound)?;
    let read = wire::read_look_first(&row.document).ok_or(AppError::NotFound)?;
    Ok((row, read))
}

fn drawn(part: &Clean, secret: &str, asker: Asker, row: &LookFirstRow, look: &LookFirstJson) -> Markup {
    let name = &part.copy.title;
    let who = part
        .choices
        .player
        .map_or_else(String::new, |player| format!("?player={player}"));
    let again = part.choices.player.map_or_else(
        || format!("/look/{}?clock={}", row.piece, look.clock),
        |player| format!("/look/{}?player={player}&clock={}", row.piece, look.clock),
    );
    asker.page(&Screen {
        title: &format!("{name}: what there was to see"),
        secret,
        class: "part look",
        styles: &["part.css", "look.css"],
        script: Some("seen.js"),
        line: html! { h1 { (name) } p class="facts" { "What there was to see" } },
        body: html! {
            div class="desk seen-desk" data-piece=(row.piece) data-labels=(labels(part)) data-missed=(missed_bars(look)) {
                (music(part, "Arrow keys go from bar to bar. Enter tells what is said of the bar in the margin."))
                aside class="margin told-after" aria-label="What there was to see" {
                    h2 tabindex="-1" class="opening" { (opening(part, look)) }
                    p class="when" { (day(&row.made)) ", " (clock(&look.clock)) ", looked for " (used(look.used_seconds)) "." }
                    @if row.version != part.row.version {
                        p class="doing" { "The piece has had another file since: bars may stand elsewhere now." }
                    }
                    (summary(look))
                    (places(look))
                    section class="in-order" {
                        h2 { "Question by question" }
                        @for question in &look.questions { (one(question)) }
                    }
                    p class="on" {
                        a href=(again) { "Look again" } " · "
                        a href={ "/part/" (row.piece) (who) } { "The part with everything pencilled in" }
                        @if let Some(player) = part.choices.player { " · " a href={ "/look/player/" (player) } { "What keeps being missed" } }
                    }
                }
            }
        },
    })
}

/// Whose look it was.
fn opening(part: &Clean, look: &LookFirstJson) -> String {
    let who = part
        .player_name
        .as_deref()
        .map_or_else(String::new, |name| format!("{name}: "));
    let missed = look.questions.iter().any(is_missed);
    let looked = look
        .questions
        .iter()
        .any(|question| question.verdict != "not_looked");
    let said = match (looked, missed) {
        (false, _) => "nothing was answered this time",
        (true, true) => "this is what escaped",
        (true, false) => "nothing escaped of what was looked at",
    };
    crate::screen::capital(&format!("{who}{said}"))
}

/// `Key, metre and count and tempo`, as a sentence begins.
fn named(names: &[&str]) -> String {
    crate::screen::capital(&listed(names).to_lowercase())
}

/// The questions by how they stand.
fn summary(look: &LookFirstJson) -> Markup {
    let of = |id: &str, within: Option<bool>| -> Vec<&str> {
        let all = look.questions.iter().filter(|question| question.verdict == id);
        let held = all.filter(|question| within.is_none_or(|within| question.within_time == within));
        held.map(|question| question.name.as_str()).collect()
    };
    let beyond = of("not_looked", Some(false));
    html! {
        dl class="stand" {
            @for id in ["seen", "half", "missed"] {
                @let names = of(id, None);
                @if !names.is_empty() { dt { span class={ "sign " (class(id)) } aria-hidden="true" {} (verdict(id)) } dd { (named(&names)) } }
            }
            @let left = of("not_looked", Some(true));
            @if !left.is_empty() { dt { span class="sign not-looked" aria-hidden="true" {} (verdict("not_looked")) } dd { (named(&left)) } }
        }
        @if !beyond.is_empty() {
            p class="kind" {
                "For " (listed(&beyond).to_lowercase()) " there was no time, and in " (clock(&look.clock)) " there seldom is. It is all told below."
            }
        }
    }
}

/// What was missed or half seen, in the order of the page.
fn places(look: &LookFirstJson) -> Markup {
    let mut all: Vec<(&LookedAt, &LookSaid)> = look
        .questions
        .iter()
        .flat_map(|question| question.said.iter().map(move |said| (question, said)))
        .filter(|(_, said)| said.verdict == "missed" || said.verdict == "half")
        .collect();
    all.sort_by_key(|(_, said)| said.at.first().copied());
    html! {
        @if !all.is_empty() {
            section class="bar-by-bar" {
                h2 { "Bar by bar" }
                ol class="escaped" {
                    @for (question, said) in all { li { (place(question, said)) } }
                }
            }
        }
    }
}

fn place(question: &LookedAt, said: &LookSaid) -> Markup {
    let inside = html! {
        span class={ "sign " (class(&said.verdict)) } aria-hidden="true" {}
        span class="words" {
            span class="about" { (question.name) }
            @if !said.bars.is_empty() { span class="where" { (bars(&said.bars)) } }
            span class="unseen" { ", " (verdict(&said.verdict)) }
            span class="says" { (said.says) }
            @if !said.evidence.is_empty() { span class="evidence" { (evidence(&said.evidence)) } }
        }
    };
    html! {
        @if said.at.is_empty() {
            div class="place-told bare" { (inside) }
        } @else {
            button type="button" class="place-told" data-bars=(indices(&said.at)) { (inside) }
        }
    }
}

/// Indices for the script: `3 4 5`.
fn indices(at: &[u32]) -> String {
    at.iter().map(u32::to_string).collect::<Vec<_>>().join(" ")
}

/// The bars where something was missed, for pencil brackets on the page.
fn missed_bars(look: &LookFirstJson) -> String {
    let missed = look.questions.iter().flat_map(missed);
    let mut at: Vec<u32> = missed.filter_map(|said| said.at.first().copied()).collect();
    at.sort_unstable();
    at.dedup();
    indices(&at)
}

fn one(question: &LookedAt) -> Markup {
    let looked = question.verdict != "not_looked";
    html! {
        details class="looked" open[is_missed(question)] {
            summary {
                span class={ "sign " (class(&question.verdict)) } aria-hidden="true" {}
                span class="asked" { (question.name) } span class="stands" { (verdict(&question.verdict)) }
            }
            @if looked { p class="hers" { (hers(question)) } }
            ul class="all-said" { @for said in &question.said { li { (place_short(said, looked)) } } }
            @if !question.beside.is_empty() { p class="beside" { (question.beside) } }
        }
    }
}

fn place_short(said: &LookSaid, looked: bool) -> Markup {
    html! {
        @if looked { span class={ "sign " (class(&said.verdict)) } aria-hidden="true" {} span class="unseen" { (verdict(&said.verdict)) ": " } }
        (said.says)
        @if !said.evidence.is_empty() { " " span class="evidence" { (evidence(&said.evidence)) } }
        @if !said.at.is_empty() { " " button type="button" class="point" data-bars=(indices(&said.at)) { (bars(&said.bars)) } }
    }
}

/// What she answered, in a sentence.
fn hers(question: &LookedAt) -> String {
    let mut said: Vec<String> = Vec::new();
    if let Some(chosen) = question.chosen.as_ref().filter(|chosen| !chosen.is_empty()) {
        said.push(format!("Answered: {}.", chosen.join("; ")));
    }
    match question.pointed.as_deref() {
        Some([]) => said.push("Pointed nowhere.".to_owned()),
        Some(labels) => said.push(format!("Pointed at {}.", bars(labels))),
        None => {}
    }
    said.join(" ")
}
