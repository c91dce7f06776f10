//! The screen itself: the page above, the reading under it, what it could be beside.

use super::stand;
use crate::error::AppError;
use crate::screen::{self, Screen};
use crate::state::App;
use axum::extract::{Path, State};
use axum::response::Html;
use maud::{Markup, html};
use std::sync::Arc;

/// The screen of a piece that was read from paper.
pub(super) async fn screen(
    State(app): State<Arc<App>>,
    Path(id): Path<i64>,
) -> Result<Html<String>, AppError> {
    app.aside(move |app| {
        let stand = stand(app, id)?;
        let title = &stand.row.title;
        let page = screen::page(&Screen {
            title,
            secret: &app.secret,
            class: "paper-read",
            styles: &["mending.css"],
            script: Some("mending.js"),
            line: html! {
                h1 { (title) }
                p class="facts" { "held against the page" }
                a class="to-part" href={ "/part/" (id) } { "The part" }
            },
            body: body(id),
        });
        Ok(Html(page.into_string()))
    })
    .await
}

fn body(id: i64) -> Markup {
    html! {
        div class="mending" data-piece=(id) {
            section class="held" tabindex="-1" aria-label="Page and reading" aria-describedby="keys" {
                h2 class="where" { "Being looked up …" }
                figure class="scan" {
                    figcaption { "On paper" }
                    div class="drawn" {}
                }
                figure class="ours" {
                    figcaption { "As it was read" }
                    div class="drawn" aria-live="off" {}
                }
                div class="asked" {
                    p class="taken" role="status" {}
                    div class="readings" role="group" aria-label="What it is" {}
                }
                (tools())
                figure class="whole-line" {
                    figcaption { "The whole line: touch a sign to put it right" }
                    div class="drawn paper-line" {}
                    div class="drawn our-line" aria-hidden="true" {}
                }
                p class="unseen" id="keys" {
                    "Enter: it is right so. 1 to 9: another reading. Page Down and Page Up: next and last place. Left and Right: the sign before and after. \
                     Up and Down: a step higher and lower. W, H, Q, E, S, T: whole, half, quarter, eighth, sixteenth, thirty-second. Full stop: dot. \
                     Hash, B, N: sharp, flat, natural; 0: no accidental. Y: tie. A: a note after this one; R: a rest. Delete: nothing stands here. Z: undo."
                }
            }
            aside class="to-look-at" aria-label="Where to look" {
                h2 { "Where to look" }
                p class="count" role="status" {}
                ol class="places" {}
                h2 { "What changed" }
                ul class="changed" aria-live="polite" {}
                p class="keeping" {
                    button type="button" class="undo" disabled { "Undo" }
                    button type="button" class="test-page" aria-pressed="false" { "A test page of mine" }
                }
                p class="facts" {
                    "A test page is kept to tell how much of your own pages is read right: “foreread export” writes them out, “foreread scan --check” reads them again."
                }
                p class="caution" {
                    "Words on the page, cue notes and a second voice are not put right here. Printed music may be copied only as far as the law where you live \
                     allows it; the pages stay on this machine."
                }
            }
        }
    }
}

/// What can be said of the sign in hand, beside its likely readings.
fn tools() -> Markup {
    let group = |label: &'static str, buttons: &[(&'static str, &'static str, &'static str)]| {
        html! {
            span role="group" aria-label=(label) {
                @for (does, words, key) in buttons {
                    button type="button" data-does=(does) aria-keyshortcuts=(key) { (words) }
                }
            }
        }
    };
    html! {
        div class="tools" role="group" aria-label="Put it right by hand" {
            (group("Way", &[("before", "Last place", "PageUp"), ("after", "Next place", "PageDown"), ("left", "Sign before", "ArrowLeft"), ("right", "Sign after", "ArrowRight")]))
            (group("Pitch", &[("up", "Step up", "ArrowUp"), ("down", "Step down", "ArrowDown")]))
            (group("Accidental", &[("sharp", "Sharp", "#"), ("flat", "Flat", "b"), ("natural", "Natural", "n"), ("none", "No accidental", "0")]))
            (group("Value", &[("w", "Whole", "w"), ("h", "Half", "h"), ("q", "Quarter", "q"), ("e", "Eighth", "e"), ("s", "16th", "s"), ("t", "32nd", "t"), ("dot", "Dot", ".")]))
            (group("Sign", &[("tie", "Tie", "y"), ("remove", "Nothing here", "Delete"), ("add", "Add a note", "a"), ("rest", "Add a rest", "r")]))
        }
    }
}
