//! What happened in a take? The part with what was heard pencilled in, and beside it the words: what to work on, bar by bar, tuning,
//! rubrics, an earlier take.

use super::held::{Shown, shown};
use super::list::{is_written, length};
use crate::days;
use crate::error::AppError;
use crate::lan::Asker;
use crate::part::{Labels, paper_page};
use crate::screen::{Screen, capital};
use crate::state::App;
use axum::extract::{Path, Query, State};
use axum::response::Html;
use maud::{Markup, html};
use notation::BarIndex;
use serde::{Deserialize, Serialize};
use std::sync::Arc;
use store::TakeRow;

/// What to compare with.
#[derive(Clone, Debug, Default, Deserialize)]
pub(crate) struct Wanted {
    beside: Option<i64>,
}

/// A take.
pub(crate) async fn screen(
    State(app): State<Arc<App>>,
    asker: Asker,
    Path(id): Path<i64>,
    Query(wanted): Query<Wanted>,
) -> Result<Html<String>, AppError> {
    let (shown, take) = shown(&app, id).await?;
    app.aside(move |app| {
        let mut others = app.store.takes(Some(take.piece), None)?;
        others.retain(|other| other.id.0 < take.id.0 && asker.sees(other.player));
        let player = match take.player {
            Some(player) => app.store.player(player).ok(),
            None => None,
        };
        let beside = wanted.beside.map_or_else(
            || others.iter().find(|other| other.player == take.player),
            |id| others.iter().find(|other| other.id.0 == id),
        );
        let about = About {
            shown: &shown,
            take: &take,
            who: player.map(|player| player.name),
            others: &others,
            beside,
            written: is_written(app, &take)?,
        };
        Ok(Html(drawn(asker, &app.secret, &about).into_string()))
    })
    .await
}

/// One further page.
pub(crate) async fn page(
    State(app): State<Arc<App>>,
    Path((id, number)): Path<(i64, usize)>,
) -> Result<Html<String>, AppError> {
    let (shown, _) = shown(&app, id).await?;
    app.aside(move |_| {
        let page = paper_page(&shown, &[], number).ok_or(AppError::NotFound)?;
        Ok(Html(page.into_string()))
    })
    .await
}

struct About<'a> {
    shown: &'a Shown,
    take: &'a TakeRow,
    who: Option<String>,
    others: &'a [TakeRow],
    beside: Option<&'a TakeRow>,
    written: bool,
}

/// A bar for the script: which, from when to when, how fast beside the model, what was heard.
#[derive(Serialize)]
struct BarPlayed {
    bar: u32,
    pass: u32,
    from: f64,
    to: f64,
    tempo: Option<String>,
    says: String,
}

fn bars_played(shown: &Shown) -> String {
    let thousandth = |secs: f64| (secs * 1000.0).round() / 1000.0;
    let all: Vec<BarPlayed> = shown
        .taken
        .played_bars()
        .into_iter()
        .map(|bar| BarPlayed {
            bar: bar.bar.0,
            pass: bar.pass,
            from: thousandth(bar.from_secs),
            to: thousandth(bar.to_secs),
            tempo: bar.hundredths.map(|hundredths| format!("{hundredths:.0}%")),
            says: bar.says,
        })
        .collect();
    serde_json::to_string(&all).unwrap_or_else(|_| "[]".to_owned())
}

fn drawn(asker: Asker, secret: &str, about: &About) -> Markup {
    let (shown, take) = (about.shown, about.take);
    let name = &shown.copy.title;
    let all = Labels::of(&shown.copy.piece).said();
    asker.page(&Screen {
        title: &format!("{name}: a take"),
        secret,
        class: "part take",
        styles: &["part.css", "takes.css"],
        script: Some("take.js"),
        line: html! {
            h1 { (name) }
            p class="facts" {
                "Take of " time datetime=(take.recorded) { (days::moment(&take.recorded)) } @if let Some(who) = &about.who { ", " (who) } ", " (length(shown.taken.seconds))
            }
        },
        body: html! {
            div class="desk take-desk" data-piece=(take.piece) data-take=(take.id) data-labels=(all) data-bars=(bars_played(shown)) {
                (music(shown, take))
                aside class="margin heard" aria-label="What was heard" {
                    section class="bar-heard" hidden aria-live="polite" {}
                    (summary(about))
                    (work(shown, take))
                    (beside(about))
                    (bar_by_bar(shown))
                    (tuning(shown))
                    (rubrics(shown))
                    (keeping(about))
                }
            }
        },
    })
}

fn music(shown: &Shown, take: &TakeRow) -> Markup {
    let how =
        "Arrow keys go from bar to bar. Enter tells what was heard in the bar and lets it be heard again.";
    crate::part::music(shown, &[], "the part with what was heard", how, |number| {
        format!("/take/{}/page/{number}", take.id)
    })
}

fn summary(about: &About) -> Markup {
    let taken = &about.shown.taken;
    html! {
        section {
            h2 class="opening" tabindex="-1" { "What was heard" }
            @for line in &taken.heard.summary { p { (line) } }
            @for finding in taken.findings.iter().take(3) { p class="doing" { (capital(&finding.to_string())) "." } }
            div class="hear" {
                button type="button" class="hear-all" { "Hear the take" }
                button type="button" class="hear-stop" hidden { "Stop" }
            }
        }
    }
}

fn work(shown: &Shown, take: &TakeRow) -> Markup {
    let work = &shown.taken.heard.work;
    html! {
        @if !work.is_empty() {
            section class="work" {
                h2 { "Worth working on" }
                @for (number, one) in work.iter().enumerate() {
                    div class="spot" {
                        h3 {
                            span class="rank" { (number + 1) } " "
                            @if let Some((from, to)) = one.bars {
                                button type="button" class="point" data-bars=(indices(from, to)) { (capital(&one.what)) }
                            } @else { (capital(&one.what)) }
                        }
                        p class="why" { (capital(&one.why)) "." }
                        p class="doing" { (capital(&one.how)) "." }
                        @if one.drill.is_some() && one.bars.is_some() {
                            details class="drill" data-from={ "/take/" (take.id) "/drill/" (number) } {
                                summary { "The drill, in notes" }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn indices(from: BarIndex, to: BarIndex) -> String {
    (from.0..=to.0)
        .map(|bar| bar.to_string())
        .collect::<Vec<_>>()
        .join(" ")
}

fn beside(about: &About) -> Markup {
    html! {
        @if !about.others.is_empty() {
            section class="beside-earlier" {
                h2 { "Beside an earlier take" }
                label { "compared with "
                    select name="beside" {
                        @for other in about.others {
                            option value=(other.id) selected[about.beside.is_some_and(|beside| beside.id == other.id)] {
                                (days::moment(&other.recorded))
                            }
                        }
                    }
                }
                @match about.beside.and_then(|beside| wire::read_take(&beside.document)) {
                    Some(earlier) => {
                        @let told = about.shown.taken.beside(&earlier);
                        ul class="plain" { @for line in &told.says { li { (line) } } }
                        @if let Some(other) = about.beside { p { a href={ "/take/" (other.id) } { "The earlier take" } } }
                    }
                    None => p { "Nothing was heard in an earlier take of this player." }
                }
            }
        }
    }
}

fn bar_by_bar(shown: &Shown) -> Markup {
    let odd: Vec<_> = shown
        .taken
        .played_bars()
        .into_iter()
        .filter(|bar| !bar.says.is_empty())
        .collect();
    html! {
        section {
            h2 { "Bar by bar" }
            @if odd.is_empty() { p { "Every bar that was played was clean." } }
            ul class="plain" {
                @for bar in &odd {
                    li {
                        button type="button" class="point" data-bars=(bar.bar.0) { "Bar " (shown.taken.bar_label(bar.bar)) @if bar.pass > 1 { ", time " (bar.pass) } }
                        " " (bar.says)
                    }
                }
            }
            @if !odd.is_empty() { p class="foot" { "What is not named was clean." } }
        }
    }
}

fn tuning(shown: &Shown) -> Markup {
    let heard = &shown.taken.heard;
    html! {
        @if !heard.intonation.is_empty() {
            section {
                h2 { "Tuning" }
                p { "Against A = " (format!("{:.1}", heard.a4)) " hertz, the take’s own." }
                div class="wide" {
                    table {
                        thead { tr { th scope="col" { "written" } th scope="col" { "cents" } th scope="col" { "heard" } } }
                        tbody {
                            @for note in &heard.intonation {
                                tr {
                                    th scope="row" { (note.written.sign()) @if note.matters { b { " matters" } } }
                                    td { (cents(note.cents)) }
                                    td { (note.count) @if note.count == 1 { " time" } @else { " times" } }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// `+12`, `−3`, `0`.
fn cents(cents: f64) -> String {
    let whole = cents.round();
    if whole == 0.0 {
        "0".to_owned()
    } else {
        format!("{whole:+.0}").replace('-', "−")
    }
}

fn rubrics(shown: &Shown) -> Markup {
    let judged = shown
        .taken
        .judged
        .iter()
        .filter(|judged| !judged.lines.is_empty() && shown.taken.heard.tells());
    html! {
        @for judged in judged {
            section class="rubric" {
                h2 { "By “" (judged.name) "”" }
                p class="foot" { (judged.source) }
                ul class="plain" {
                    @for line in &judged.lines {
                        li { (line.name) ": " (line.points) " of " (line.most) @if !line.words.is_empty() { " (" (line.words) ")" } }
                    }
                }
            }
        }
    }
}

fn keeping(about: &About) -> Markup {
    let take = about.take;
    html! {
        section class="keeping" {
            h2 { "Keeping it" }
            label class="note-of-take" { "To remember" textarea name="note" rows="2" maxlength="2000" { (take.note) } }
            div class="ways-on" {
                button type="button" class="write-down" disabled[about.written] { "Write it into the log" }
                span class="written-said" role="status" { @if about.written { "It stands in the log already." } }
                a href={ "/takes/" (take.piece) @if let Some(player) = take.player { "?player=" (player) } } { "All takes" }
                a href={ "/part/" (take.piece) } { "The part" }
                button type="button" class="delete" { "Delete this take" }
                button type="button" class="delete-really" hidden { "Delete it for good, sound and all" }
            }
        }
    }
}
