//! What is read at sight today? A fresh piece for this player, the same all day, another tomorrow; kept as it was when it was read.

use crate::days;
use crate::error::AppError;
use crate::state::App;
use crate::today::act::Found;
use crate::today::done::{self, Read, Written};
use crate::today::notes::{STAFF_MM, WIDTH_MM, figure};
use axum::extract::{Path, Query, State};
use axum::http::header;
use axum::response::{IntoResponse, Response};
use desk::{ConvertAsked, ListenAsked, PlayerAsked, Printer, Readings, ReadingsAsked, SoundForm, Target};
use maud::{Markup, html};
use serde::Deserialize;
use sha2::{Digest, Sha256};
use std::sync::Arc;
use store::PlayerId;

/// The piece of a turn: by the player, the day and the turn it is always the same.
///
/// # Errors
/// If nothing can be written for such a player.
fn piece(found: &Found, turn: &str) -> Result<Readings, AppError> {
    let player = &found.planning.player;
    let seed = Sha256::digest(format!("{} {} {turn}", player.id, found.on).as_bytes());
    let seed = seed
        .iter()
        .take(8)
        .fold(0_u64, |seed, byte| seed << 8 | u64::from(*byte));
    Ok(desk::readings(&ReadingsAsked {
        player: PlayerAsked {
            text: Some(player.file.clone()),
            ..PlayerAsked::default()
        },
        seed,
        count: 1,
        ..ReadingsAsked::default()
    })?)
}

/// The piece engraved; where none can be written for her, what to take instead.
pub(super) fn drawn(found: &Found, turn: &str, printer: &mut Printer) -> Result<Markup, AppError> {
    let readings = match piece(found, turn) {
        Ok(readings) => readings,
        Err(AppError::Desk(error)) => {
            return Ok(
                html! { p { "Take any piece that you have never seen. (None is written here: " (error) ")" } },
            );
        }
        Err(other) => return Err(other),
    };
    let Some(reading) = readings.first() else {
        return Ok(html! {});
    };
    let picture = desk::reading_picture(reading, WIDTH_MM, STAFF_MM, printer)?;
    Ok(figure(
        (&picture.svg, picture.width_mm),
        turn,
        &reading.title,
        Some(&desk::reading_said(reading)),
    ))
}

/// What is kept when it was read.
pub(super) fn written(found: &Found, turn: &str, felt: Option<&str>) -> Written {
    let read = piece(found, turn).ok().and_then(|readings| {
        let reading = readings.first()?;
        let page = page(&readings).ok()?;
        Some(Read {
            title: reading.title.clone(),
            said: desk::reading_said(reading),
            page,
        })
    });
    let said = match felt {
        Some(felt) => format!("read, felt {felt}"),
        None => "read".to_owned(),
    };
    Written {
        said,
        visits: Vec::new(),
        read,
    }
}

fn page(readings: &Readings) -> Result<String, AppError> {
    let reading = readings.first().ok_or(AppError::NotFound)?;
    let opened = desk::reading_opened(reading);
    let bytes = desk::convert(&opened, Target::MusicXml, &ConvertAsked::default())?.bytes;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}

/// The piece as a file: to hear it, or to take it along.
pub(super) fn file(found: &Found, turn: &str, form: Option<&str>) -> Result<Response, AppError> {
    let readings = piece(found, turn)?;
    if form == Some("wav") {
        let reading = readings.first().ok_or(AppError::NotFound)?;
        let heard = desk::listen(&desk::reading_opened(reading), &ListenAsked::default())?;
        let bytes = desk::to_bytes(&heard, SoundForm::Wav)?;
        return Ok(([(header::CONTENT_TYPE, "audio/wav")], bytes).into_response());
    }
    Ok(notation(page(&readings)?))
}

fn notation(page: String) -> Response {
    let headers = [
        (
            header::CONTENT_TYPE,
            "application/vnd.recordare.musicxml+xml".to_owned(),
        ),
        (
            header::CONTENT_DISPOSITION,
            "attachment; filename=\"read-at-sight.musicxml\"".to_owned(),
        ),
    ];
    (headers, page).into_response()
}

/// Which piece that was read.
#[derive(Clone, Debug, Deserialize)]
pub(crate) struct Which {
    on: String,
    turn: String,
}

/// A piece that was read once, as it was.
pub(crate) async fn read(
    State(app): State<Arc<App>>,
    Path(player): Path<i64>,
    Query(which): Query<Which>,
) -> Result<Response, AppError> {
    app.aside(move |app| {
        let on = days::read(&which.on).ok_or(AppError::NotFound)?;
        let done = done::of(app, PlayerId(player), on)?;
        let over = done.over.get(&which.turn).ok_or(AppError::NotFound)?;
        let read = over.read.as_ref().ok_or(AppError::NotFound)?;
        Ok(notation(read.page.clone()))
    })
    .await
}
