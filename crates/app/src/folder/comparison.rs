//! How do pieces stand beside each other? Their openings and facts, line by line.

use crate::error::AppError;
use crate::folder::cards::Card;
use crate::folder::features::FEATURES;
use crate::folder::view::of;
use crate::pieces;
use crate::screen::{Screen, page};
use crate::state::App;
use axum::extract::{RawQuery, State};
use axum::response::Html;
use maud::{Markup, html};
use std::collections::BTreeSet;
use std::sync::Arc;

/// Pieces that fit side by side.
const MOST: usize = 4;

/// Pieces side by side.
pub(crate) async fn compare(
    State(app): State<Arc<App>>,
    RawQuery(query): RawQuery,
) -> Result<Html<String>, AppError> {
    let ids = ids(query.as_deref().unwrap_or_default());
    if ids.len() < 2 {
        return Err(AppError::Asked(
            "fewer than two pieces are chosen — tick the pieces to lay side by side".to_owned(),
        ));
    }
    app.aside(move |app| {
        let cards = ids.iter().map(|id| Ok(of(app, pieces::row(app, *id)?)));
        let cards = cards.collect::<Result<Vec<Card>, AppError>>()?;
        Ok(Html(drawn(app, &cards).into_string()))
    })
    .await
}

/// `piece=3&piece=5`.
fn ids(query: &str) -> Vec<i64> {
    let mut seen = BTreeSet::new();
    query
        .split('&')
        .filter_map(|pair| pair.strip_prefix("piece="))
        .filter_map(|id| id.parse().ok())
        .filter(|id| seen.insert(*id))
        .take(MOST)
        .collect()
}

fn drawn(app: &App, cards: &[Card]) -> Markup {
    let mut names: Vec<&'static str> = Vec::new();
    for (name, _) in cards.iter().flat_map(Card::facts) {
        if !names.contains(&name) {
            names.push(name);
        }
    }
    let fact = |card: &Card, name: &str| {
        let found = card.facts().into_iter().find(|(known, _)| *known == name);
        found.map_or_else(|| "–".to_owned(), |(_, words)| words)
    };
    let mut tables: Vec<String> = cards
        .iter()
        .flat_map(Card::levels)
        .map(|(table, _)| table)
        .collect();
    tables.sort();
    tables.dedup();
    let level = |card: &Card, table: &str| {
        let found = card.levels().into_iter().find(|(known, _)| known == table);
        found.map_or_else(|| "–".to_owned(), |(_, level)| level)
    };
    page(&Screen {
        title: "Side by side",
        secret: &app.secret,
        class: "folder side-by-side",
        styles: &["folder.css"],
        script: Some("folder.js"),
        line: html! { h1 { "Side by side" } },
        body: html! {
            div class="wide" { table class="beside-table" {
                thead { tr { th {} @for card in cards { th scope="col" {
                    a class="piece-title" href={ "/part/" (card.row.id) } { (card.row.title) }
                    div class="opening" data-from={ "/piece/" (card.row.id) "/opening" } aria-hidden="true" {}
                } } } }
                tbody {
                    @for name in &names { tr { th scope="row" { (name) } @for card in cards { td { (fact(card, name)) } } } }
                    tr { th scope="row" { "what for" } @for card in cards { td { (card.row.purpose) } } }
                    @for feature in FEATURES {
                        @let held: Vec<bool> = cards.iter().map(|card| card.features().contains(&feature.name)).collect();
                        @if held.contains(&true) {
                            tr { th scope="row" { (feature.name) } @for held in held { td { @if held { "yes" } @else { "no" } } } }
                        }
                    }
                    @for table in &tables { tr { th scope="row" { (table) } @for card in cards { td { (level(card, table)) } } } }
                }
            } }
        },
    })
}

#[cfg(test)]
mod tests {
    use super::ids;

    #[test]
    fn pieces_are_taken_once_and_at_most_four() {
        assert_eq!(ids("piece=3&piece=5&piece=3&x=1&piece=zz"), [3, 5]);
        assert_eq!(ids("piece=1&piece=2&piece=3&piece=4&piece=5").len(), 4);
        assert!(ids("").is_empty());
    }
}
