//! Who looks at which piece, and for how long? The slip before the part is laid open.

use crate::error::AppError;
use crate::lan::Asker;
use crate::look::words::{clock, day, title};
use crate::pieces;
use crate::screen::Screen;
use crate::state::App;
use axum::extract::{Path, Query, State};
use axum::response::Html;
use maud::{Markup, html};
use practice::look_first::Time;
use serde::Deserialize;
use std::sync::Arc;
use store::{LookFirstRow, PieceId, PieceRow, PlayerRow};

/// What an address says beside the piece.
#[derive(Clone, Debug, Default, Deserialize)]
pub(crate) struct Wanted {
    pub player: Option<String>,
    pub clock: Option<String>,
}

impl Wanted {
    /// The player's number; nothing for nobody in particular.
    ///
    /// # Errors
    /// If it is no number.
    pub fn player(&self) -> Result<Option<i64>, AppError> {
        let said = self
            .player
            .as_deref()
            .map(str::trim)
            .filter(|text| !text.is_empty());
        said.map(|text| text.parse().map_err(|_| AppError::NotFound))
            .transpose()
    }

    /// The clock; a minute if nothing is said.
    pub fn time(&self) -> Time {
        self.clock.as_deref().and_then(Time::from_id).unwrap_or_default()
    }
}

/// All pieces to look at, and everybody's record.
pub(crate) async fn index(State(app): State<Arc<App>>, asker: Asker) -> Result<Html<String>, AppError> {
    app.aside(move |app| {
        let (rows, players) = (asker.pieces(app)?, asker.players(app)?);
        Ok(Html(all(app, asker, &rows, &players).into_string()))
    })
    .await
}

fn all(app: &App, asker: Asker, rows: &[PieceRow], players: &[PlayerRow]) -> Markup {
    asker.page(&Screen {
        title: "Look first",
        secret: &app.secret,
        class: "look-begin",
        styles: &["look.css"],
        script: None,
        line: html! { h1 { "Look first" } },
        body: html! {
            div class="leaf" {
                p class="lead" {
                    "Before the first note a good reader looks for half a minute. Choose a piece, look at the clean part, answer "
                    "what you see; then see what was missed."
                }
                div class="halves" {
                    section {
                        h2 { "Which piece?" }
                        @if rows.is_empty() {
                            @if asker.player().is_some() { p { "No piece has been given to you yet." } }
                            @else { p { "The folder is empty. " a href="/" { "Drop a piece into it." } } }
                        }
                        ul class="plain" { @for row in rows { li { a href={ "/look/" (row.id) } { (title(row)) } } } }
                    }
                    section {
                        h2 { "What is being missed?" }
                        @if players.is_empty() { p { "No player is in the studio yet." } }
                        ul class="plain" {
                            @for player in players { li { a href={ "/look/player/" (player.id) } { (player.name) } } }
                        }
                    }
                }
            }
        },
    })
}

/// The slip of one piece.
pub(crate) async fn begin(
    State(app): State<Arc<App>>,
    asker: Asker,
    Path(id): Path<i64>,
    Query(wanted): Query<Wanted>,
) -> Result<Html<String>, AppError> {
    app.aside(move |app| {
        let slip = Slip {
            row: pieces::row(app, id)?,
            players: asker.players(app)?,
            looks: app.store.look_firsts(Some(PieceId(id)), asker.player())?,
            asker,
            player: asker.reads_for(wanted.player()?),
            time: wanted.time(),
        };
        Ok(Html(drawn(&app.secret, &slip).into_string()))
    })
    .await
}

/// What the slip of a piece says.
struct Slip {
    row: PieceRow,
    players: Vec<PlayerRow>,
    looks: Vec<LookFirstRow>,
    asker: Asker,
    player: Option<i64>,
    time: Time,
}

fn drawn(secret: &str, slip: &Slip) -> Markup {
    let Slip {
        row, players, looks, ..
    } = slip;
    let name = title(row);
    slip.asker.page(&Screen {
        title: &format!("{name}: look first"),
        secret,
        class: "look-begin",
        styles: &["look.css"],
        script: None,
        line: html! { h1 { (name) } p class="facts" { "Look first" } },
        body: html! {
            div class="leaf" {
                form action={ "/look/" (row.id) "/now" } method="get" {
                    p class="lead" {
                        "The part is laid open without a pencil mark. Answer what you see, and point at bars for proof. "
                        "Leave out what you don't come to: nobody sees everything at once."
                    }
                    @if slip.asker.player().is_none() { (who(players, slip.player)) }
                    (how_long(slip.time))
                    p { button type="submit" class="first" { "Lay the part open" } }
                }
                @if !looks.is_empty() { (earlier(looks, players, slip.asker)) }
                p { a href={ "/part/" (row.id) } { "The part with everything pencilled in" } }
            }
        },
    })
}

fn who(players: &[PlayerRow], chosen: Option<i64>) -> Markup {
    html! {
        fieldset class="picks" {
            legend { "Who looks?" }
            label class="pick" { input type="radio" name="player" value="" checked[chosen.is_none()]; span { "Nobody in particular" } }
            @for player in players {
                label class="pick" {
                    input type="radio" name="player" value=(player.id) checked[chosen == Some(player.id.0)];
                    span { (player.name) }
                }
            }
        }
    }
}

fn how_long(time: Time) -> Markup {
    let said = |time: Time| match time {
        Time::Thirty => "Half a minute",
        Time::Sixty => "A minute",
        Time::Free => "No clock",
    };
    html! {
        fieldset class="picks" {
            legend { "How long?" }
            @for one in Time::ALL {
                label class="pick" {
                    input type="radio" name="clock" value=(one.id()) checked[one == time];
                    span { (said(one)) }
                }
            }
        }
    }
}

fn earlier(looks: &[LookFirstRow], players: &[PlayerRow], asker: Asker) -> Markup {
    let named = if asker.player().is_some() { &[] } else { players };
    html! {
        section {
            h2 { "Looked at before" }
            ul class="plain" {
                @for look in looks.iter().take(12) {
                    li {
                        a href={ "/look/" (look.piece) "/seen/" (look.id) } {
                            (day(&look.made))
                            @if let Some(player) = named.iter().find(|player| Some(player.id) == look.player) { ", " (player.name) }
                        }
                        @if let Some(read) = wire::read_look_first(&look.document) { ", " (clock(&read.clock)) }
                    }
                }
            }
        }
    }
}
