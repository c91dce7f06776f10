//! Which takes of a piece are there, and how does a new one come? Recorded here or brought as a file; noted, written down, deleted.

use super::held::{self, hear, rows};
use crate::error::AppError;
use crate::lan::Asker;
use crate::look::title;
use crate::screen::Screen;
use crate::state::App;
use crate::{days, pieces};
use axum::Json;
use axum::body::Bytes;
use axum::extract::{Path, Query, State};
use axum::http::{HeaderName, HeaderValue};
use axum::response::{Html, IntoResponse, Response};
use desk::LogAsked;
use maud::{Markup, html};
use serde::{Deserialize, Serialize};
use std::sync::Arc;
use store::{NewTake, NewVisit, PieceId, PieceRow, PlayerId, PlayerRow, TakeId, TakeRow};

/// Whose takes.
#[derive(Clone, Debug, Default, Deserialize)]
pub(crate) struct Whose {
    player: Option<String>,
    name: Option<String>,
}

impl Whose {
    /// Who is named; at a player's device that player, whatever is named.
    fn player(&self, asker: Asker) -> Result<Option<PlayerId>, AppError> {
        if let Some(player) = asker.player() {
            return Ok(Some(player));
        }
        let said = self
            .player
            .as_deref()
            .map(str::trim)
            .filter(|text| !text.is_empty());
        said.map(|text| text.parse().map(PlayerId).map_err(|_| AppError::NotFound))
            .transpose()
    }
}

/// The takes of a piece.
pub(crate) async fn screen(
    State(app): State<Arc<App>>,
    asker: Asker,
    Path(id): Path<i64>,
    Query(whose): Query<Whose>,
) -> Result<Response, AppError> {
    let drawn = app
        .aside(move |app| {
            let player = whose.player(asker)?;
            let row = pieces::row(app, id)?;
            let takes = app.store.takes(Some(PieceId(id)), player)?;
            let players = asker.players(app)?;
            Ok(Html(
                drawn((app, asker), &row, &takes, &players, player).into_string(),
            ))
        })
        .await?;
    // The only screen that may listen.
    let may_listen = (
        HeaderName::from_static("permissions-policy"),
        HeaderValue::from_static("camera=(), geolocation=(), microphone=(self), usb=(), payment=()"),
    );
    Ok(([may_listen], drawn).into_response())
}

fn drawn(
    (app, asker): (&App, Asker),
    row: &PieceRow,
    takes: &[TakeRow],
    players: &[PlayerRow],
    player: Option<PlayerId>,
) -> Markup {
    let name = title(row);
    asker.page(&Screen {
        title: &format!("{name}: takes"),
        secret: &app.secret,
        class: "takes",
        styles: &["takes.css"],
        script: Some("takes.js"),
        line: html! { h1 { (name) } p class="facts" { "Takes" } },
        body: html! {
            div class="leaf takes-leaf" data-piece=(row.id) {
                p { a href={ "/part/" (row.id) } { "Back to the part" } }
                @if asker.player().is_none() {
                    label class="who" {
                        "played by "
                        select name="player" {
                            option value="" selected[player.is_none()] { "nobody in particular" }
                            @for one in players { option value=(one.id) selected[player == Some(one.id)] { (one.name) } }
                        }
                    }
                }
                section class="tape" aria-labelledby="new-take" {
                    h2 id="new-take" { "A new take" }
                    p { "Play the piece, or some bars of it, as it goes; stopping and going back is heard, too. Sound never leaves this machine." }
                    div class="running" {
                        button type="button" class="record" aria-pressed="false" { "Record" }
                        span class="ran" role="timer" aria-label="Recorded so far" { "0:00" }
                        svg class="loud" viewBox="0 0 100 6" preserveAspectRatio="none" aria-hidden="true" { path d="" {} }
                    }
                    div class="played-back" hidden {
                        button type="button" class="hear-back" { "Hear it" }
                        button type="button" class="keep" { "Keep it and hear what happened" }
                        button type="button" class="drop" { "Let it go" }
                    }
                    label class="bring" { "or bring a recording (WAV, FLAC, MP3, Ogg Vorbis, M4A): " input type="file" name="file" accept=".wav,.flac,.mp3,.ogg,.oga,.m4a,.mp4,.aif,.aiff,audio/*"; }
                    p class="coming" role="status" {}
                }
                section aria-labelledby="earlier-takes" {
                    h2 id="earlier-takes" { "Earlier takes" }
                    @if takes.is_empty() { p { "None yet." } }
                    ol class="plain kept-takes" {
                        @for take in takes { (one(take, players)) }
                    }
                }
            }
        },
    })
}

fn one(take: &TakeRow, players: &[PlayerRow]) -> Markup {
    let who = take
        .player
        .and_then(|id| players.iter().find(|player| player.id == id));
    let heard = wire::read_take(&take.document);
    html! {
        li data-take=(take.id) {
            a href={ "/take/" (take.id) } { time datetime=(take.recorded) { (days::moment(&take.recorded)) } }
            @if let Some(who) = who { ", " (who.name) }
            @if let Some(seconds) = take.seconds { ", " (length(seconds)) }
            @if let Some(heard) = &heard {
                @if heard.counts.bars == 0 { ": nothing of the piece was heard" }
                @else {
                    ": " (heard.counts.clean_bars) " of " (heard.counts.bars) @if heard.counts.bars == 1 { " bar" } @else { " bars" } " clean"
                    @if let Some(bpm) = heard.tempo.bpm { ", at " (format!("{bpm:.0}")) }
                }
            }
            @if !take.note.is_empty() { p class="noted" { (take.note) } }
        }
    }
}

/// `1:05`
pub(super) fn length(seconds: f64) -> String {
    let whole = seconds.max(0.0).round();
    format!("{:.0}:{:02.0}", (whole / 60.0).floor(), whole % 60.0)
}

/// What came of a sound.
#[derive(Debug, Serialize)]
pub(crate) struct Brought {
    take: i64,
    said: String,
}

/// Takes a sound in, hears it, and keeps both.
pub(crate) async fn bring(
    State(app): State<Arc<App>>,
    asker: Asker,
    Path(id): Path<i64>,
    Query(whose): Query<Whose>,
    bytes: Bytes,
) -> Result<Json<Brought>, AppError> {
    let (take, piece, taken) = app
        .aside(move |app| {
            let player = whose.player(asker)?;
            let row = pieces::row(app, id)?;
            let name = whose.name.clone().unwrap_or_else(|| "take.wav".to_owned());
            // Only what can be heard is kept.
            let taken = hear(app, &row, &name, &bytes)?;
            let take = app.store.add_take(&NewTake {
                piece: row.id,
                player,
                file_name: name,
                bytes: bytes.to_vec(),
                seconds: Some(taken.seconds),
            })?;
            let take = app.store.set_heard(take.id, Some(taken.seconds), &taken.json())?;
            Ok((take, row, taken))
        })
        .await?;
    let said = taken.heard.summary.first().cloned().unwrap_or_default();
    // It is kept already: if the press fails, the screen of the take says so.
    let _ = held::hold(&app, take.id, piece, taken).await;
    Ok(Json(Brought {
        take: take.id.0,
        said,
    }))
}

/// What is to be remembered.
#[derive(Debug, Deserialize)]
pub(crate) struct Noted {
    note: String,
}

/// The longest note, in letters.
const LONGEST_NOTE: usize = 2_000;

/// Writes a note to a take.
pub(crate) async fn note(
    State(app): State<Arc<App>>,
    Path(id): Path<i64>,
    Json(noted): Json<Noted>,
) -> Result<Json<String>, AppError> {
    app.aside(move |app| {
        let note: String = noted.note.trim().chars().take(LONGEST_NOTE).collect();
        Ok(Json(app.store.set_take_note(TakeId(id), &note)?.note))
    })
    .await
}

/// Writes what was heard into the log of practice, once.
pub(crate) async fn log(State(app): State<Arc<App>>, Path(id): Path<i64>) -> Result<Json<String>, AppError> {
    let (shown, take) = held::shown(&app, id).await?;
    app.aside(move |app| {
        let mark = mark(&take);
        if is_written(app, &take)? {
            return Ok(Json("It stands in the log already.".to_owned()));
        }
        let (_, piece) = rows(app, id)?;
        let opened = pieces::open(app, &piece)?;
        let date = take.recorded.get(..10).map(str::to_owned);
        let visits = shown.taken.visits(date.as_deref());
        let lines = visits.into_iter().map(|visit| {
            desk::log_line(
                &opened,
                &LogAsked {
                    part: piece.part.clone(),
                    note: Some(mark.clone()),
                    ..visit
                },
            )
        });
        let lines = lines.collect::<Result<Vec<String>, _>>()?;
        let visits: Vec<NewVisit> = lines
            .into_iter()
            .map(|line| NewVisit {
                piece: piece.id,
                player: take.player,
                line,
            })
            .collect();
        app.store.log_visits(&visits)?;
        Ok(Json(match visits.len() {
            0 => "Too little was heard to write anything down.".to_owned(),
            1 => "Written into the log as one visit.".to_owned(),
            many => format!("Written into the log as {many} visits."),
        }))
    })
    .await
}

/// By what the visits of a take are known.
fn mark(take: &TakeRow) -> String {
    format!("heard in take {}", take.id)
}

/// Whether a take stands in the log.
pub(super) fn is_written(app: &App, take: &TakeRow) -> Result<bool, AppError> {
    let mark = format!("\"{}\"", mark(take));
    let visits = app.store.visits(take.piece, take.player)?;
    Ok(visits.iter().any(|visit| visit.line.contains(&mark)))
}

/// Deletes a take, its sound and what was heard.
pub(crate) async fn away(State(app): State<Arc<App>>, Path(id): Path<i64>) -> Result<Json<bool>, AppError> {
    app.aside(move |app| {
        app.store.remove_take(TakeId(id))?;
        app.takes.forget(|(take, _)| take.0 == id);
        Ok(Json(true))
    })
    .await
}
