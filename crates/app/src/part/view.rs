//! What does a person see of a part? The screen with its paper and margin, a further page, one bar explained.

use crate::coming::in_two;
use crate::error::AppError;
use crate::hers;
use crate::lan::Asker;
use crate::part::margin as margins;
use crate::part::notes::lines;
use crate::part::point::Labels;
use crate::part::{bar as bars, hear, paper};
use crate::prepared::{Choices, Prepared, prepared};
use crate::screen::{self, Screen};
use crate::state::App;
use crate::workshop::Urgency;
use axum::extract::{Path, Query, State};
use axum::response::{Html, IntoResponse, Response};
use maud::{Markup, PreEscaped, html};
use notation::BarIndex;
use serde::Deserialize;
use std::sync::Arc;
use std::time::Duration;
use store::{PieceRow, PlayerRow};

/// What an address says beside the piece.
#[derive(Clone, Debug, Default, Deserialize)]
pub(crate) struct Wanted {
    part: Option<String>,
    level: Option<String>,
    player: Option<i64>,
    /// `large`, or the usual size.
    print: Option<String>,
}

impl Wanted {
    /// For whom, and which part; empty words are none. At a player's device it is read for that player.
    pub fn choices(self, asker: Asker) -> Choices {
        let said = |words: Option<String>| words.filter(|words| !words.trim().is_empty());
        Choices {
            part: said(self.part),
            level: said(self.level).filter(|_| asker.player().is_none()),
            player: asker.reads_for(self.player),
            large: self.print.as_deref() == Some("large"),
        }
    }
}

/// What is made already or made as quickly is answered in one piece, with its own status if something is amiss.
const AT_ONCE: Duration = Duration::from_millis(30);

/// The whole screen: the first page, and the others when they are looked for. While it is engraved, its head has gone ahead.
pub(crate) async fn screen(
    State(app): State<Arc<App>>,
    asker: Asker,
    Path(id): Path<i64>,
    Query(wanted): Query<Wanted>,
) -> Result<Response, AppError> {
    let row = app.aside(move |app| crate::pieces::row(app, id)).await?;
    let (choices, working) = (wanted.choices(asker), Arc::clone(&app));
    let mut making = Box::pin(async move { prepared(&working, id, choices, Urgency::Awaited).await });
    if let Ok(part) = tokio::time::timeout(AT_ONCE, &mut making).await {
        let part = part?;
        let page = app
            .aside(move |app| shown(app, asker, &part, |screen| asker.page(screen)))
            .await?;
        return Ok(Html(page.into_string()).into_response());
    }
    let beginning = begun(&app, asker, &row);
    Ok(in_two(beginning, async move {
        let made = async {
            let part = making.await?;
            app.aside(move |app| shown(app, asker, &part, |screen| asker.rest(screen)))
                .await
        };
        made.await
            .unwrap_or_else(|error| screen::mistake_after_all(asker, &error.to_string()))
    }))
}

/// A screen of a part, as a page or as the rest of one.
fn shown<T>(
    app: &App,
    asker: Asker,
    part: &Prepared,
    page: impl FnOnce(&Screen) -> T,
) -> Result<T, AppError> {
    let players = asker.players(app)?;
    let paper = asker.player().is_none() && app.store.has_paper(part.row.id)?;
    Ok(page(&drawn(part, &app.secret, asker, &players, paper)))
}

/// What is shown while a part is engraved: how it begins, if that is known.
fn begun(app: &App, asker: Asker, row: &PieceRow) -> String {
    let opening = app.openings.known(row);
    let meanwhile = html! {
        div class="meanwhile" {
            p role="status" { "“" (row.title) "” is being read and engraved." }
            @if let Some(opening) = opening { div class="opening" { (PreEscaped(opening.as_ref())) } }
        }
    };
    screen::beginning(&around(asker, &row.title, &app.secret), &meanwhile)
}

/// What stands around every part.
fn around<'a>(asker: Asker, title: &'a str, secret: &'a str) -> Screen<'a> {
    Screen {
        title,
        secret,
        class: if asker.player().is_none() {
            "part"
        } else {
            "part of-player"
        },
        styles: &["part.css"],
        script: Some("part.js"),
        line: html! {},
        body: html! {},
    }
}

/// One further page.
pub(crate) async fn page(
    State(app): State<Arc<App>>,
    asker: Asker,
    Path((id, number)): Path<(i64, usize)>,
    Query(wanted): Query<Wanted>,
) -> Result<Html<String>, AppError> {
    let part = prepared(&app, id, wanted.choices(asker), Urgency::Awaited).await?;
    app.aside(move |_| {
        let page = paper::page(&part, &lines(&part), number).ok_or(AppError::NotFound)?;
        Ok(Html(page.into_string()))
    })
    .await
}

/// The margin alone, as it is now, with what can be undone.
pub(crate) async fn margin(
    State(app): State<Arc<App>>,
    asker: Asker,
    Path(id): Path<i64>,
    Query(wanted): Query<Wanted>,
) -> Result<Html<String>, AppError> {
    let part = prepared(&app, id, wanted.choices(asker), Urgency::Awaited).await?;
    app.aside(move |_| {
        let (undo, redo) = part.hers.steps;
        let shown = html! {
            div class="margin-notes" data-undo=(undo) data-redo=(redo) { (margins::margin(&part, &lines(&part))) }
        };
        Ok(Html(shown.into_string()))
    })
    .await
}

/// What is in one bar, why it is hard and how to play it.
pub(crate) async fn bar(
    State(app): State<Arc<App>>,
    asker: Asker,
    Path((id, bar)): Path<(i64, u32)>,
    Query(wanted): Query<Wanted>,
) -> Result<Html<String>, AppError> {
    let part = prepared(&app, id, wanted.choices(asker), Urgency::Awaited).await?;
    let shown = bars::bar(&part, &lines(&part), BarIndex(bar)).ok_or(AppError::NotFound)?;
    Ok(Html(shown.into_string()))
}

fn drawn<'a>(
    part: &'a Prepared,
    secret: &'a str,
    asker: Asker,
    players: &[PlayerRow],
    paper: bool,
) -> Screen<'a> {
    let teacher = asker.player().is_none();
    let lines = lines(part);
    let query = query(&part.choices);
    let name = &part.copy.title;
    Screen {
        line: html! {
            h1 { (name) }
            p class="facts" { (facts(part)) }
            @if teacher { (readers(part, players)) }
            @else { span class="reader" { "read for " (players.first().map_or("you", |player| player.name.as_str())) } }
            a class="to-takes" href={ "/takes/" (part.row.id) @if let Some(player) = part.choices.player.filter(|_| teacher) { "?player=" (player) } } { "Takes" }
            @if paper { a class="to-paper" href={ "/paper/" (part.row.id) } { "The page" } }
            button type="button" class="pencil-taken" aria-pressed="false" hidden[!teacher] { "Pencil" }
            button type="button" class="margin-shown" aria-pressed="true" { "Margin" }
            button type="button" class="stand-up" { "On the stand" }
        },
        body: html! {
            div class="desk" data-piece=(part.row.id) data-query=(query) data-labels=(Labels::of(&part.copy.piece).said()) {
                (paper::music(part, &lines, "the part",
                    "Arrow keys go from bar to bar. Enter explains the bar. Shift and arrow keys choose bars to go round. Space plays and stops.",
                    |number| format!("/part/{}/page/{number}{query}", part.row.id)))
                (margins::drawings())
                aside class="margin" aria-label="Margin" {
                    div class="margin-notes" { (margins::margin(part, &lines)) }
                    div class="bar-shown" hidden {}
                }
            }
            (hers::tray(part))
            (hear::strip(part))
            (stand_tools(part))
        },
        ..around(asker, name, secret)
    }
}

/// What is at hand on the stand.
fn stand_tools(part: &Prepared) -> Markup {
    html! {
        div class="stand-tools" role="group" aria-label="On the stand" {
            button type="button" class="to-desk" { "Off the stand" }
            button type="button" class="large" aria-pressed=(part.choices.large) { "Large print" }
            button type="button" class="play" aria-pressed="false" { "Play" }
            span class="at-tempo" {
                button type="button" class="slower" { "Slower" }
                span class="tempo-now" role="status" data-beat=(hear::beat(part)) {}
                button type="button" class="faster" { "Faster" }
            }
            span class="which-page" {}
            button type="button" class="turn-back" { "Turn back" }
            button type="button" class="turn-on" { "Turn" }
            p class="caution" hidden {}
        }
    }
}

/// What the part is, without for whom: that is chosen beside.
fn facts(part: &Prepared) -> String {
    let facts = part.sheet.facts.iter().filter(|fact| !fact.starts_with("for "));
    facts.cloned().collect::<Vec<_>>().join(" · ")
}

/// For whom the part is read: a usual player of some level, or one of the studio.
fn readers(part: &Prepared, players: &[PlayerRow]) -> Markup {
    let choices = &part.choices;
    let level = choices.level.as_deref().unwrap_or("intermediate");
    html! {
        label class="reader" {
            span class="reads" { "read for " }
            select name="reader" {
                @for (name, words) in LEVELS {
                    option value={ "level=" (name) } selected[choices.player.is_none() && level == name] { (words) }
                }
                @for player in players {
                    option value={ "player=" (player.id) } selected[choices.player == Some(player.id.0)] { (player.name) }
                }
            }
        }
    }
}

/// Levels of usual players, by the desk's names.
const LEVELS: [(&str, &str); 3] = [
    ("student", "a student"),
    ("intermediate", "an intermediate player"),
    ("professional", "a professional"),
];

/// The choices as they stand in addresses.
fn query(choices: &Choices) -> String {
    let mut pairs: Vec<String> = Vec::new();
    for (name, value) in [("part", &choices.part), ("level", &choices.level)] {
        if let Some(value) = value {
            pairs.push(format!("{name}={}", percent(value)));
        }
    }
    pairs.extend(choices.player.map(|player| format!("player={player}")));
    pairs.extend(choices.large.then(|| "print=large".to_owned()));
    if pairs.is_empty() {
        String::new()
    } else {
        format!("?{}", pairs.join("&"))
    }
}

/// Words as they may stand in an address. Source: RFC 3986, section 2.3.
fn percent(words: &str) -> String {
    let plain = |byte: u8| byte.is_ascii_alphanumeric() || b"-._~".contains(&byte);
    words
        .bytes()
        .map(|byte| {
            if plain(byte) {
                char::from(byte).to_string()
            } else {
                format!("%{byte:02X}")
            }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::{percent, query};
    use crate::prepared::Choices;

    #[test]
    fn words_in_addresses_are_words_alone() {
        assert_eq!(percent("B♭ & \"x\""), "B%E2%99%AD%20%26%20%22x%22");
        let choices = Choices {
            part: Some("2".to_owned()),
            level: Some("upper intermediate".to_owned()),
            player: Some(3),
            large: true,
        };
        assert_eq!(
            query(&choices),
            "?part=2&level=upper%20intermediate&player=3&print=large"
        );
        assert_eq!(query(&Choices::default()), "");
    }
}
