//! The screen itself: the page above, the reading under it, what it could be beside.

use super::stand;
use crate::error::AppError;
use crate::screen::{self, Screen};
use crate::state::App;
use axum::extract::{Path, State};
use axum::response::Html;
use maud::{Markup, html};
use pageread::TextKind;
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
                (words())
                figure class="whole-line" {
                    figcaption { "The whole line: touch a sign to put it right" }
                    div class="drawn paper-line" {}
                    div class="drawn our-line" aria-hidden="true" {}
                }
                p class="unseen" id="keys" {
                    "Enter: it is right so. 1 to 9: another reading. Page Down and Page Up: next and last place. Left and Right: the sign before and after. \
                     Up and Down: a step higher and lower. W, H, Q, E, S, T: whole, half, quarter, eighth, sixteenth, thirty-second. Full stop: dot. \
                     Hash, B, N: sharp, flat, natural; 0: no accidental. Y: tie. F: fermata. A: a note after this one; R: a rest. Delete: nothing stands here. \
                     J and K: the next and the last text or sign beside the staff. X: the text in hand, to be put right, or one to be added. D: a dynamic, \
                     a sign of the road map or a bar line to be added. Escape: back from there. Z: undo."
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
                    "Cue notes and a second voice are not put right here. Printed music may be copied only as far as the law where you live \
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
            span role="group" aria-label=(label) data-of=[(!matches!(label, "Way" | "Sign")).then_some("note")] {
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
            (group("Sign", &[("tie", "Tie", "y"), ("fermata", "Fermata", "f"), ("remove", "Nothing here", "Delete"), ("add", "Add a note", "a"), ("rest", "Add a rest", "r")]))
        }
    }
}

/// What can be put beside or on the staff where the sign in hand stands: what it is called, and by which name the reading knows it.
const SIGNS: [(&str, &[(&str, &str)]); 4] = [
    (
        "Dynamics",
        &[
            ("p", "dynamic:p"),
            ("pp", "dynamic:pp"),
            ("ppp", "dynamic:ppp"),
            ("mp", "dynamic:mp"),
            ("mf", "dynamic:mf"),
            ("f", "dynamic:f"),
            ("ff", "dynamic:ff"),
            ("fff", "dynamic:fff"),
            ("sf", "dynamic:sf"),
            ("sfz", "dynamic:sfz"),
            ("fp", "dynamic:fp"),
            ("sfp", "dynamic:sfp"),
            ("rf", "dynamic:rf"),
            ("rfz", "dynamic:rfz"),
            ("fz", "dynamic:fz"),
            ("crescendo hairpin begins", "dynamic:cresc"),
            ("crescendo hairpin ends", "dynamic:cresc_end"),
            ("diminuendo hairpin begins", "dynamic:dim"),
            ("diminuendo hairpin ends", "dynamic:dim_end"),
        ],
    ),
    (
        "Road map",
        &[
            ("segno", "road:segno"),
            ("coda sign", "road:coda"),
            ("first ending over this bar", "ending:v1"),
            ("second ending over this bar", "ending:v2"),
            ("third ending over this bar", "ending:v3"),
            ("ending bracket 1 begins", "road:v1"),
            ("ending bracket 2 begins", "road:v2"),
            ("ending bracket ends", "road:vend"),
        ],
    ),
    (
        "Bar lines",
        &[
            ("bar line", "bar:single"),
            ("double bar line", "bar:double"),
            ("final bar line", "bar:final"),
            ("repeat begins", "bar:rep_start"),
            ("repeat ends", "bar:rep_end"),
            ("repeat ends and begins", "bar:rep_both"),
        ],
    ),
    (
        "Above the staff",
        &[
            ("breath mark", "road:breath"),
            ("caesura", "road:caesura"),
            ("ottava 8va", "road:8va"),
            ("ottava 8vb", "road:8vb"),
            ("end of the ottava", "road:ott_end"),
        ],
    ),
];

const KINDS: [TextKind; 10] = [
    TextKind::Tempo,
    TextKind::Expression,
    TextKind::Dynamic,
    TextKind::Rehearsal,
    TextKind::Jump,
    TextKind::BarNumber,
    TextKind::Title,
    TextKind::Composer,
    TextKind::Part,
    TextKind::Other,
];

/// Signs that were missed, and what is written in letters.
fn words() -> Markup {
    html! {
        div class="tools signs-here" role="group" aria-label="A sign that was missed" {
            label { "A sign that was missed " select class="sign-here" aria-keyshortcuts="d" {
                @for (group, signs) in SIGNS {
                    optgroup label=(group) {
                        @for (words, name) in signs { option value=(name) { (words) } }
                    }
                }
            } }
            button type="button" data-does="put" { "Put it here" }
            button type="button" data-does="toText" aria-keyshortcuts="x" { "Words that were missed, or are in hand" }
        }
        fieldset class="words-here" {
            legend { "Words" }
            label class="letters" { "Text " input type="text" class="text" maxlength="300" autocomplete="off" spellcheck="false" aria-keyshortcuts="x"; }
            label { "What it is " select class="kind" {
                @for kind in KINDS {
                    option value=(serde_json::to_value(kind).ok().and_then(|kind| kind.as_str().map(str::to_owned)).unwrap_or_default()) { (kind.name()) }
                }
            } }
            span class="metronome" role="group" aria-label="Metronome mark" {
                label { "Metronome mark " select class="note" {
                    option value="" { "none" }
                    option value="2" { "whole" }
                    option value="3" { "half" }
                    option value="4" { "quarter" }
                    option value="5" { "eighth" }
                    option value="6" { "16th" }
                } }
                label { "dots " select class="dots" { option { "0" } option { "1" } option { "2" } } }
                label { "= " span class="unseen" { "beats a minute " } input type="text" class="value" size="6" maxlength="40" autocomplete="off"; }
            }
            span class="buttons" {
                button type="button" data-does="keepText" { "Keep this text" }
                button type="button" data-does="noText" { "It is no text" }
                button type="button" data-does="addText" { "Add it here" }
            }
        }
    }
}
