//! What does she see while she looks? The clean part, the clock, and one question after another.

use crate::error::AppError;
use crate::lan::Asker;
use crate::look::begin::Wanted;
use crate::look::clean::{Clean, clean};
use crate::part::{Labels, paper_page};
use crate::screen::Screen;
use crate::state::App;
use crate::workshop::Urgency;
use axum::extract::{Path, Query, State};
use axum::response::Html;
use maud::{Markup, html};
use practice::look_first::{Ask, Choosing, Pointing, Time};
use std::sync::Arc;

/// The clean part with its questions; the clock begins when it is on the screen.
pub(crate) async fn now(
    State(app): State<Arc<App>>,
    asker: Asker,
    Path(id): Path<i64>,
    Query(wanted): Query<Wanted>,
) -> Result<Html<String>, AppError> {
    let (player, time) = (asker.reads_for(wanted.player()?), wanted.time());
    let part = clean(&app, id, player, Urgency::Awaited).await?;
    let seed = seed()?;
    app.aside(move |app| {
        let asks = desk::look_first(&part.opened, &part.copy, time, u64::from(seed))?;
        if asks.is_empty() {
            return Err(AppError::Asked(
                "there is no note in this part to ask about — choose another piece".to_owned(),
            ));
        }
        let laid = Laid {
            asks: &asks,
            time,
            seed,
            asker,
        };
        Ok(Html(drawn(&part, &app.secret, &laid).into_string()))
    })
    .await
}

/// One further page.
pub(crate) async fn page(
    State(app): State<Arc<App>>,
    asker: Asker,
    Path((id, number)): Path<(i64, usize)>,
    Query(wanted): Query<Wanted>,
) -> Result<Html<String>, AppError> {
    let part = clean(&app, id, asker.reads_for(wanted.player()?), Urgency::Awaited).await?;
    app.aside(move |_| {
        let page = paper_page(&part, &[], number).ok_or(AppError::NotFound)?;
        Ok(Html(page.into_string()))
    })
    .await
}

/// Other choices each time; small enough for a script's numbers.
fn seed() -> Result<u32, AppError> {
    let mut bytes = [0_u8; 4];
    getrandom::fill(&mut bytes).map_err(|error| AppError::Random(error.to_string()))?;
    Ok(u32::from_le_bytes(bytes))
}

/// The pages of a clean part.
pub(super) fn music(part: &Clean, how: &str) -> Markup {
    let query = part
        .choices
        .player
        .map_or_else(String::new, |player| format!("?player={player}"));
    let id = part.row.id;
    crate::part::music(part, &[], "the part, without pencil", how, |number| {
        format!("/look/{id}/page/{number}{query}")
    })
}

/// The printed labels of all bars, for the script.
pub(super) fn labels(part: &Clean) -> String {
    Labels::of(&part.copy.piece).said()
}

/// What is laid beside the part.
struct Laid<'a> {
    asks: &'a [Ask],
    time: Time,
    seed: u32,
    asker: Asker,
}

fn drawn(part: &Clean, secret: &str, laid: &Laid) -> Markup {
    let Laid {
        asks,
        time,
        seed,
        asker,
    } = *laid;
    let name = &part.copy.title;
    let player = part
        .choices
        .player
        .map_or_else(String::new, |player| player.to_string());
    let seconds = time
        .seconds()
        .map_or_else(String::new, |seconds| seconds.to_string());
    asker.page(&Screen {
        title: &format!("{name}: look first"),
        secret,
        class: "part look",
        styles: &["part.css", "look.css"],
        script: Some("look.js"),
        line: html! { h1 { (name) } p class="facts" { "The clean part" @if let Some(name) = &part.player_name { ", for " (name) } } },
        body: html! {
            div class="desk looking" data-piece=(part.row.id) data-player=(player) data-clock=(time.id()) data-seconds=(seconds)
                data-seed=(seed) data-labels=(labels(part)) {
                (music(part, "Arrow keys go from bar to bar. Enter or Space points at the bar, or takes the finger away again."))
                aside class="margin asking" aria-label="Questions" {
                    (clock(time))
                    (steps(asks, time))
                    div class="asks" {
                        @for (at, ask) in asks.iter().enumerate() { (question(ask, at, asks.len())) }
                    }
                    (over(time))
                    div class="turn" {
                        button type="button" class="back" disabled { "Back" }
                        button type="button" class="next" { "Next" }
                        button type="button" class="done" { "See what there was" }
                    }
                    p class="keys" { "Keys: numbers choose, 0 says nowhere, ← → go from question to question, Page Down turns the page." }
                }
            }
        },
    })
}

fn clock(time: Time) -> Markup {
    html! {
        div class="clock" {
            @if let Some(seconds) = time.seconds() {
                span class="left" role="timer" aria-label="Seconds left" { (seconds) }
                svg class="lead" viewBox="0 0 100 4" preserveAspectRatio="none" aria-hidden="true" {
                    path class="whole" d="M0 2.2C20 1.6 60 2.6 100 2" {}
                    path class="rest" d="M0 2.2C20 1.6 60 2.6 100 2" {}
                }
            } @else {
                span class="left" { "No clock" }
            }
        }
    }
}

/// All questions by name; how far the routine comes in the time is a line between them.
fn steps(asks: &[Ask], time: Time) -> Markup {
    let reached = asks
        .iter()
        .filter(|ask| time.reached().contains(&ask.look))
        .count();
    html! {
        nav class="steps" aria-label="All questions" {
            ol {
                @for (at, ask) in asks.iter().enumerate() {
                    @if at == reached && at > 0 { li class="beyond" { "then, if there is time" } }
                    li { button type="button" class="step" data-at=(at) aria-current=[(at == 0).then_some("step")] { (ask.look.name()) span class="unseen state" {} } }
                }
            }
        }
    }
}

fn question(ask: &Ask, at: usize, of: usize) -> Markup {
    let look = ask.look.id();
    html! {
        section class="ask" data-look=(look) aria-labelledby={ "ask-" (look) } hidden[at > 0] {
            h2 id={ "ask-" (look) } tabindex="-1" { (ask.look.name()) span class="unseen" { ", question " (at + 1) " of " (of) } }
            @if let Some(choosing) = &ask.choose { (choices(choosing, look)) }
            @if let Some(pointing) = &ask.point { (bars(pointing)) }
        }
    }
}

fn choices(choosing: &Choosing, look: &str) -> Markup {
    let kind = if choosing.several { "checkbox" } else { "radio" };
    let none = choosing.choices.len().saturating_sub(1);
    html! {
        fieldset class="picks" data-several[choosing.several] {
            legend { (choosing.asks) @if choosing.several { span class="all" { " Choose all." } } }
            @for (at, choice) in choosing.choices.iter().enumerate() {
                label class="pick" {
                    input type=(kind) name={ "choose-" (look) } value=(at) data-none[choosing.several && at == none];
                    span { (choice.says) }
                }
            }
        }
    }
}

fn bars(pointing: &Pointing) -> Markup {
    html! {
        div class="pointing" role="group" aria-label=(pointing.asks) {
            p { (pointing.asks) }
            p class="pointed" aria-live="polite" { span class="hint" { "Touch bars on the page." } }
            button type="button" class="nowhere" aria-pressed="false" { "Nowhere" }
        }
    }
}

fn over(time: Time) -> Markup {
    let said = match time {
        Time::Thirty => "The half minute is over.",
        _ => "The minute is over.",
    };
    html! {
        section class="over" hidden aria-labelledby="over" {
            h2 id="over" tabindex="-1" { (said) }
            p { "The part stays open: look on as long as you like. What you did not come to counts as not looked at, not as missed." }
        }
    }
}
