//! What does a person see of a part? The screen with its paper and margin, a further page, one bar explained.

use crate::error::AppError;
use crate::hers;
use crate::part::margin as margins;
use crate::part::notes::lines;
use crate::part::point::Labels;
use crate::part::{bar as bars, hear, paper};
use crate::prepared::{Choices, Prepared, prepared};
use crate::screen::{Screen, page as whole_page};
use crate::state::App;
use crate::workshop::Urgency;
use axum::extract::{Path, Query, State};
use axum::response::{Html, IntoResponse, Response};
use maud::{Markup, PreEscaped, html};
use notation::BarIndex;
use serde::Deserialize;
use std::sync::Arc;
use std::time::Duration;
use store::PlayerRow;

/// What an address says beside the piece.
#[derive(Clone, Debug, Default, Deserialize)]
pub(crate) struct Wanted {
    part: Option<String>,
    level: Option<String>,
    player: Option<i64>,
}

impl Wanted {
    /// For whom, and which part; empty words are none.
    pub fn choices(self) -> Choices {
        let said = |words: Option<String>| words.filter(|words| !words.trim().is_empty());
        Choices {
            part: said(self.part),
            level: said(self.level),
            player: self.player,
        }
    }
}

/// How long a person looks at nothing before she is told what is going on.
const PATIENCE: Duration = Duration::from_millis(600);

/// The whole screen: the first page at once, the others when they are looked for. A part that takes longer to engrave shows how
/// it begins meanwhile.
pub(crate) async fn screen(
    State(app): State<Arc<App>>,
    Path(id): Path<i64>,
    Query(wanted): Query<Wanted>,
) -> Result<Response, AppError> {
    let making = prepared(&app, id, wanted.choices(), Urgency::Awaited);
    let Ok(part) = tokio::time::timeout(PATIENCE, making).await else {
        // The work goes on; the page asks again.
        return waiting(&app, id).await;
    };
    let part = part?;
    app.aside(move |app| {
        let players = app.store.players(false)?;
        Ok(Html(drawn(&part, &app.secret, &players).into_string()).into_response())
    })
    .await
}

/// What is shown while a part is engraved: how it begins, if that is known.
async fn waiting(app: &Arc<App>, id: i64) -> Result<Response, AppError> {
    let row = app.aside(move |app| crate::pieces::row(app, id)).await?;
    let opening = app.openings.known(&row);
    let page = whole_page(&Screen {
        title: &row.title,
        secret: &app.secret,
        class: "folder waiting",
        styles: &["folder.css"],
        script: None,
        line: html! { h1 { (row.title) } },
        body: html! {
            p class="understood" role="status" { "The part is being read and engraved." }
            @if let Some(opening) = opening { div class="opening" { (PreEscaped(opening.as_ref())) } }
        },
    });
    // The page asks for itself again after a second.
    Ok(([("refresh", "1")], Html(page.into_string())).into_response())
}

/// One further page.
pub(crate) async fn page(
    State(app): State<Arc<App>>,
    Path((id, number)): Path<(i64, usize)>,
    Query(wanted): Query<Wanted>,
) -> Result<Html<String>, AppError> {
    let part = prepared(&app, id, wanted.choices(), Urgency::Awaited).await?;
    app.aside(move |_| {
        let page = paper::page(&part, &lines(&part), number).ok_or(AppError::NotFound)?;
        Ok(Html(page.into_string()))
    })
    .await
}

/// The margin alone, as it is now, with what can be undone.
pub(crate) async fn margin(
    State(app): State<Arc<App>>,
    Path(id): Path<i64>,
    Query(wanted): Query<Wanted>,
) -> Result<Html<String>, AppError> {
    let part = prepared(&app, id, wanted.choices(), Urgency::Awaited).await?;
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
    Path((id, bar)): Path<(i64, u32)>,
    Query(wanted): Query<Wanted>,
) -> Result<Html<String>, AppError> {
    let part = prepared(&app, id, wanted.choices(), Urgency::Awaited).await?;
    let shown = bars::bar(&part, &lines(&part), BarIndex(bar)).ok_or(AppError::NotFound)?;
    Ok(Html(shown.into_string()))
}

fn drawn(part: &Prepared, secret: &str, players: &[PlayerRow]) -> Markup {
    let lines = lines(part);
    let query = query(&part.choices);
    let pages = part.copy.laid.pages.len();
    let name = &part.copy.title;
    whole_page(&Screen {
        title: name,
        secret,
        class: "part",
        styles: &["part.css"],
        script: Some("part.js"),
        line: html! {
            h1 { (name) }
            p class="facts" { (facts(part)) }
            (readers(part, players))
            button type="button" class="pencil-taken" aria-pressed="false" { "Pencil" }
            button type="button" class="margin-shown" aria-pressed="true" { "Margin" }
        },
        body: html! {
            div class="desk" data-piece=(part.row.id) data-query=(query) data-labels=(labels_said(part)) {
                div class="music" role="group" aria-label={ (name) ", the part: " (pages) @if pages == 1 { " page" } @else { " pages" } } {
                    p class="unseen" id="how" {
                        "Arrow keys go from bar to bar. Enter explains the bar. Shift and arrow keys choose bars to go round. Space plays and stops."
                    }
                    @for number in 0..pages {
                        @if number == 0 {
                            @if let Some(page) = paper::page(part, &lines, 0) { (page) }
                        } @else {
                            (paper::page_to_come(part, number, &format!("/part/{}/page/{number}{query}", part.row.id)))
                        }
                    }
                }
                aside class="margin" aria-label="Margin" {
                    div class="margin-notes" { (margins::margin(part, &lines)) }
                    div class="bar-shown" hidden {}
                }
            }
            (hers::tray(part))
            (hear::strip(part))
        },
    })
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
            "read for "
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

/// The printed labels of all bars, for the script: one to a line.
fn labels_said(part: &Prepared) -> String {
    let labels = Labels::of(&part.copy.piece);
    let all = (0..part.copy.piece.bars.len()).map(|bar| labels.label(BarIndex::from_usize(bar)));
    all.collect::<Vec<_>>().join("\n")
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
        };
        assert_eq!(query(&choices), "?part=2&level=upper%20intermediate&player=3");
        assert_eq!(query(&Choices::default()), "");
    }
}
