//! How does the folder look? A line for her wishes, and the pieces that fit, each with how it begins.

use crate::error::AppError;
use crate::folder::cards::{Card, card};
use crate::folder::features::FEATURES;
use crate::folder::{summary, wish};
use crate::screen::{Screen, page};
use crate::state::App;
use axum::extract::{Query, State};
use axum::response::Html;
use maud::{Markup, html};
use serde::Deserialize;
use std::sync::Arc;
use store::{PieceRow, PlayerRow};

/// What is asked of the folder.
#[derive(Clone, Debug, Default, Deserialize)]
pub(crate) struct Asked {
    #[serde(default)]
    wish: String,
    #[serde(default)]
    away: bool,
}

/// The most letters of a wish that are read.
const LONGEST: usize = 500;

/// The folder.
pub(crate) async fn screen(
    State(app): State<Arc<App>>,
    Query(asked): Query<Asked>,
) -> Result<Html<String>, AppError> {
    app.aside(move |app| Ok(Html(drawn(app, &asked)?.into_string())))
        .await
}

fn drawn(app: &App, asked: &Asked) -> Result<Markup, AppError> {
    let words: String = asked.wish.chars().take(LONGEST).collect();
    let players = app.store.players(false)?;
    let mut wished = wish::read(&words, &players);
    wished.search.put_away = asked.away;
    let rows = app.store.pieces(&wished.search)?;
    let all = app.store.pieces(&store::PieceSearch::default())?.len();
    let cards: Vec<Card> = rows.into_iter().map(|row| of(app, row)).collect();
    Ok(page(&Screen {
        title: "Folder",
        secret: &app.secret,
        class: "folder",
        styles: &["folder.css"],
        script: Some("folder.js"),
        line: html! { h1 { "Folder" } p class="facts" { (counted(all)) } },
        body: html! {
            (search(&words, &players))
            @if !wished.understood.is_empty() {
                p class="understood" {
                    (cards.len()) @if cards.len() == 1 { " piece: " } @else { " pieces: " }
                    (wished.understood.join("; ")) ". "
                    a href="/" { "All pieces" }
                }
            }
            form id="beside" action="/compare" method="get" { button type="submit" class="compare" disabled { "Lay side by side" } }
            (ways_in())
            @if cards.is_empty() { (nothing(asked, &wished.understood)) }
            ul class="pieces" { @for one in &cards { (card(one)) } }
            p class="put-away" { @if asked.away { a href="/" { "Back to the folder" } } @else { a href="/?away=true" { "What was put away" } } }
        },
    }))
}

/// A piece with its summary; one that can't be read says why.
pub(super) fn of(app: &App, row: PieceRow) -> Card {
    let summary = summary::of(app, &row).map_err(|error| error.to_string());
    Card { row, summary }
}

fn counted(pieces: usize) -> String {
    format!("{pieces} {}", if pieces == 1 { "piece" } else { "pieces" })
}

fn search(words: &str, players: &[PlayerRow]) -> Markup {
    html! {
        form class="wish" role="search" action="/" method="get" {
            label for="wish" { "Looking for" }
            input type="search" id="wish" name="wish" value=(words) maxlength=(LONGEST) autocomplete="off"
                placeholder="B♭ clarinet, crosses the break, no more than three flats";
            button type="submit" { "Find" }
            details class="wishes" {
                summary { "What can be asked" }
                p { "Wishes are divided by commas. Touch one to add it; “no” before it asks for pieces without it." }
                ul class="phrases" {
                    @for feature in FEATURES { li { button type="button" class="phrase" { (feature.name) } } }
                    @for phrase in ["no more than three flats", "no more than two sharps", "6/8", "at most 40 bars", "at most 2 minutes"] {
                        li { button type="button" class="phrase" { (phrase) } }
                    }
                    @for player in players { li { button type="button" class="phrase" { "fits " (player.name) } } }
                }
            }
        }
    }
}

fn ways_in() -> Markup {
    html! {
        div class="drop" {
            p {
                "Drop files here, or "
                label class="choose" { "choose them" input type="file" multiple class="unseen" id="files"; }
                ": MusicXML, MEI, ABC, kern or MIDI; or printed pages of one part (PDF, PNG, JPEG, TIFF)."
            }
            p class="facts" { "Printed music may be copied only as far as the law where you live allows it; what you bring in stays on this machine." }
            ul class="came" aria-live="polite" {}
        }
    }
}

fn nothing(asked: &Asked, understood: &[String]) -> Markup {
    html! {
        p class="nothing" {
            @if asked.away { "Nothing is put away." }
            @else if understood.is_empty() { "The folder is empty. Drop a piece into it." }
            @else { "No piece fits all of this. Leave one wish out." }
        }
    }
}
