//! How does the studio look? The days ahead, and the players as in a teacher's book: what each plays, works on, and did last.

use crate::days;
use crate::error::AppError;
use crate::screen::{Screen, page};
use crate::state::App;
use crate::studio::{ahead, call_begun, form, player_form};
use crate::today::{Program, programs};
use axum::extract::{Query, State};
use axum::response::Html;
use maud::{Markup, html};
use practice::plan::Date;
use serde::Deserialize;
use std::sync::Arc;
use store::PlayerRow;

/// What is asked of the studio.
#[derive(Debug, Default, Deserialize)]
pub(crate) struct Asked {
    /// Those who left.
    #[serde(default)]
    away: bool,
}

/// The studio.
pub(crate) async fn screen(
    State(app): State<Arc<App>>,
    Query(asked): Query<Asked>,
) -> Result<Html<String>, AppError> {
    app.aside(move |app| Ok(Html(drawn(app, &asked)?.into_string())))
        .await
}

/// A line of the book.
struct Line {
    player: PlayerRow,
    instrument: String,
    level: String,
    programs: Vec<Program>,
    last: Option<Date>,
}

fn drawn(app: &App, asked: &Asked) -> Result<Markup, AppError> {
    let today = app.today();
    let all = app.store.players(true)?;
    let here: Vec<PlayerRow> = all
        .iter()
        .filter(|player| player.put_away.is_none())
        .cloned()
        .collect();
    let shown = all
        .into_iter()
        .filter(|player| player.put_away.is_some() == asked.away);
    let lines: Vec<Line> = shown
        .map(|player| line(app, player, today))
        .collect::<Result<_, _>>()?;
    let days = app.store.occasions(Some(&today.to_string()))?;
    let calls = app.store.calls()?;
    let folder = app.store.pieces(&store::PieceSearch::default())?;
    let name = app
        .store
        .setting("studio.name")?
        .and_then(|name| serde_json::from_str::<String>(&name).ok());
    Ok(page(&Screen {
        title: "Studio",
        secret: &app.secret,
        class: "studio",
        styles: &["studio.css"],
        script: Some("studio.js"),
        line: html! {
            h1 { (name.as_deref().unwrap_or("Studio")) }
            p class="facts" { (here.len()) @if here.len() == 1 { " player" } @else { " players" } ", " (days::said(today)) }
        },
        body: html! {
            (player_form::instruments())
            @if !asked.away { (ahead::list(&days, &here, &calls, today)) }
            section class="book" aria-labelledby="players" {
                h2 id="players" { @if asked.away { "Put away" } @else { "Players" } }
                @if lines.is_empty() { p { @if asked.away { "Nobody is put away." } @else { "There is nobody in the studio yet." } } }
                ul class="players" { @for line in &lines { li { (drawn_line(line, today)) } } }
                p class="put-away" { @if asked.away { a href="/studio" { "Back to the studio" } } @else { a href="/studio?away=true" { "Those who were put away" } } }
            }
            @if !asked.away {
                details class="add" { summary { "Add a player" } (form::form("/studio/players", "Add", &player_form::fields(None))) }
                (weeks(&lines))
                (more(&calls, &folder, today))
            }
        },
    }))
}

fn line(app: &App, player: PlayerRow, today: Date) -> Result<Line, AppError> {
    let profile = player.profile().unwrap_or_default();
    let visits = app.store.visits_of_player(player.id, None)?;
    Ok(Line {
        instrument: profile.instrument.unwrap_or_default(),
        level: profile.level.unwrap_or_default(),
        programs: programs(app, &player, today)?,
        last: visits.last().and_then(|visit| days::read(&visit.date)),
        player,
    })
}

fn drawn_line(line: &Line, today: Date) -> Markup {
    let id = line.player.id;
    html! {
        div class="who" {
            h3 { a href={ "/studio/player/" (id) } { (line.player.name) } }
            p class="plays" { (line.instrument) @if !line.level.is_empty() { ", " (line.level) } }
        }
        ul class="on" {
            @if line.programs.is_empty() { li { "nothing to get ready" } }
            @for program in &line.programs {
                li { (program.title()) ", " @if let Some(day) = &program.day_name { (day) ", " } @if program.has_day { (days::far(program.until, today)) } @else { "no day set" } }
            }
        }
        p class="last" { @match line.last { Some(last) => { "practised " (days::far(last, today)) }, None => "nothing written down yet" } }
        p class="ways" {
            @if line.player.put_away.is_some() { (form::press_with(&format!("/studio/player/{id}/away"), "Bring back", "away", false)) }
            @else { a href={ "/today/" (id) } aria-label={ "Today, " (line.player.name) } { "Today" } }
        }
    }
}

/// Who is ticked gets a week.
fn weeks(lines: &[Line]) -> Markup {
    let ready: Vec<&Line> = lines.iter().filter(|line| !line.programs.is_empty()).collect();
    html! {
        @if !ready.is_empty() {
            section class="weeks" aria-labelledby="weeks" {
                h2 id="weeks" { "Week sheets in one print" }
                form action="/studio/weeks.pdf" method="get" class="weeks-form" {
                    fieldset class="several" {
                        legend { "For whom" }
                        @for line in &ready { label class="tick" { input type="checkbox" name="player" value=(line.player.id) checked; " " (line.player.name) } }
                    }
                    label class="tick" { input type="checkbox" name="both" value="true"; " printed on both sides: each begins on a new leaf" }
                    p class="send" { button type="submit" class="keep" { "Make the sheets (PDF)" } span class="hint" { "Seven days from today for each, with the notes of the hard spots. A dozen players take a minute." } }
                }
            }
        }
    }
}

fn more(calls: &[store::CallRow], folder: &[store::PieceRow], today: Date) -> Markup {
    html! {
        section class="calls" aria-labelledby="calls" {
            h2 id="calls" { "Calls" }
            ul {
                @for call in calls {
                    li {
                        a href={ "/studio/call/" (call.id) } { (call.name) }
                        @if let Some(date) = call.date.as_deref().and_then(days::read) { ", " (days::said(date)) ", " (days::far(date, today)) }
                    }
                }
            }
            details class="add" {
                summary { "Add a call" }
                (call_begun::form(folder))
            }
            details class="add" {
                summary { "Add a call that somebody wrote down as a file" }
                (form::form("/studio/calls", "Add", &html! {
                    p class="hint" { "Its text: name, date, pieces with their cuts and tempos, scales, errata. The demo's call shows all that can be said." }
                    (form::lines("The call", "text", "name = \"\"\ndate = 2027-02-20\n\n[[pieces]]\nfile = \"\"\n\n  [[pieces.cuts]]\n  name = \"A\"\n  bars = \"pickup to 5 through downbeat of 13\"\n  tempo = \"q = 66-72\"\n", 12))
                }))
            }
        }
        section class="rubrics" { h2 { "Judging" } p { a href="/studio/rubrics" { "Rubrics" } ": your own, and published ones to begin with." } }
        section class="rubrics" { h2 { "Other devices" } p { a href="/devices" { "Let a tablet or a player's own device in" } ", and shut it out again." } }
    }
}
