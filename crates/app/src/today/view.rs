//! How does today look? Whose sitting, its turns in order with what to do and their notes, what tomorrow will be, and how far it is.

use crate::days;
use crate::error::AppError;
use crate::lan::Asker;
use crate::screen::{Screen, capital, page};
use crate::state::App;
use crate::today::done::{self, Done};
use crate::today::plans::{Planning, planning};
use crate::today::program::{Of, Program, programs};
use crate::today::progress;
use crate::today::turns::{Afterwards, Named, afterwards, named, sitting};
use axum::extract::{Path, Query, State};
use axum::response::Html;
use desk::Planned;
use load::ladder::Rung;
use maud::{Markup, html};
use practice::plan::{Date, DayIs, OffBy, Sitting, TurnKind};
use serde::Deserialize;
use sheet::{DayCard, PlanPage, TurnLine};
use std::sync::Arc;
use store::{PlayerId, PlayerRow};

/// What an address says beside the player.
#[derive(Clone, Debug, Default, Deserialize)]
pub(crate) struct Wanted {
    /// Which program, by its key.
    program: Option<String>,
}

/// Whose day it is.
pub(crate) async fn choose(State(app): State<Arc<App>>) -> Result<Html<String>, AppError> {
    app.aside(|app| Ok(Html(choice(app)?.into_string()))).await
}

fn choice(app: &App) -> Result<Markup, AppError> {
    let today = app.today();
    let mut rows = Vec::new();
    for player in app.store.players(false)? {
        let programs = programs(app, &player, today)?;
        rows.push((player, programs));
    }
    Ok(page(&Screen {
        title: "Today",
        secret: &app.secret,
        class: "today",
        styles: &["today.css"],
        script: None,
        line: html! { h1 { "Today" } p class="facts" { (days::said(today)) } },
        body: html! {
            h2 { "Who practises?" }
            @if rows.is_empty() { p { "There is nobody in the studio yet. " a href="/studio" { "Add a player" } " first." } }
            ul class="who" {
                @for (player, programs) in &rows {
                    li {
                        a href={ "/today/" (player.id) } { (player.name) }
                        span class="what" {
                            @if programs.is_empty() { "nothing to get ready" }
                            @for (at, program) in programs.iter().enumerate() {
                                @if at > 0 { "; " }
                                (program.title()) ", " (days::far(program.until, today))
                            }
                        }
                    }
                }
            }
        },
    }))
}

/// A player's day.
pub(crate) async fn screen(
    State(app): State<Arc<App>>,
    asker: Asker,
    Path(player): Path<i64>,
    Query(wanted): Query<Wanted>,
) -> Result<Html<String>, AppError> {
    app.aside(move |app| Ok(Html(drawn(app, asker, player, &wanted)?.into_string())))
        .await
}

fn drawn(app: &App, asker: Asker, player: i64, wanted: &Wanted) -> Result<Markup, AppError> {
    let today = app.today();
    let player = app.store.player(PlayerId(player))?;
    let programs = programs(app, &player, today)?;
    let chosen = match &wanted.program {
        Some(key) => programs.iter().find(|program| program.key == *key),
        None => programs.first(),
    };
    let body = match chosen {
        None => nothing(asker, &player),
        Some(program) => match of_program((app, asker), &player, program, today) {
            Ok(day) => day,
            // A piece that can't be planned says so here; the others can still be chosen.
            Err(error) => {
                html! { p class="slip-said" role="alert" { (capital(&plain(&error.to_string()))) } }
            }
        },
    };
    Ok(asker.page(&Screen {
        title: &format!("Today: {}", player.name),
        secret: &app.secret,
        class: if player.large_print {
            "today large"
        } else {
            "today"
        },
        styles: &["today.css"],
        script: Some("today.js"),
        line: html! {
            h1 { (player.name) }
            p class="facts" { (days::said(today)) }
        },
        body: html! {
            @if programs.len() > 1 { (choose_program(&programs, chosen, &player, today)) }
            (body)
        },
    }))
}

/// Advice of the command line, as it is said on a screen.
fn plain(words: &str) -> String {
    words
        .replace(" with --until, or another today with --today", "")
        .replace(" with --minutes", "")
        .replace("--off: ", "")
        .replace("--at: ", "")
}

fn nothing(asker: Asker, player: &PlayerRow) -> Markup {
    html! {
        section class="sitting" {
            h2 { "Nothing to get ready" }
            p { (player.name) " has no piece to work on, or the day is past. " @if asker.player().is_none() { a href={ "/studio/player/" (player.id) } { "Give a piece" } "." } }
        }
    }
}

fn choose_program(programs: &[Program], chosen: Option<&Program>, player: &PlayerRow, today: Date) -> Markup {
    html! {
        nav class="programs" aria-label="What to get ready" {
            @for program in programs {
                @let is_it = chosen.is_some_and(|chosen| chosen.key == program.key);
                a href={ "/today/" (player.id) "?program=" (program.key) } aria-current=[is_it.then_some("page")] {
                    (program.title()) ", " (days::far(program.until, today))
                }
            }
        }
    }
}

/// All that a day's screen shows of a program.
struct Day<'a> {
    asker: Asker,
    player: &'a PlayerRow,
    program: &'a Program,
    planning: &'a Planning,
    planned: &'a Planned,
    /// The day's page in words; its turns in the order of the sitting.
    page: &'a PlanPage,
    done: &'a Done,
    today: Date,
}

fn of_program(
    (app, asker): (&App, Asker),
    player: &PlayerRow,
    program: &Program,
    today: Date,
) -> Result<Markup, AppError> {
    let planning = planning(app, player, program, today)?;
    let planned = planning.made(app)?;
    let done = done::of(app, player.id, today)?;
    let page = planned.days(today, 1);
    let day = Day {
        asker,
        player,
        program,
        planning: &planning,
        planned: &planned,
        page: &page,
        done: &done,
        today,
    };
    // By all that was done so far: tomorrow, and how far it is.
    let next = planning.tomorrow(app)?;
    let after = next.made(app);
    let shown = after.as_ref().map_or(&planned, |after| after);
    Ok(html! {
        (head(&day))
        (cautions(&page))
        @match sitting(&planned, today) {
            Some(sitting) => (turns(&day, sitting)),
            None => (no_sitting(&day)),
        }
        (tomorrow(after.as_deref().ok(), next.on, program, today))
        section class="how-far" {
            h2 { "How far it is" }
            @for number in 0..shown.question.works.len() { (progress::picture(&shown.question, number, today)) }
        }
        (beside(&planned))
    })
}

fn head(day: &Day) -> Markup {
    let program = day.program;
    let minutes = day
        .page
        .days
        .first()
        .map(|card| card.minutes.clone())
        .unwrap_or_default();
    let about = day
        .page
        .days
        .first()
        .map(|card| card.about.clone())
        .unwrap_or_default();
    html! {
        section class="sitting-head" {
            h2 { (program.title()) }
            p class="facts" {
                @if let Some(name) = &program.day_name { (name) ", " }
                @else if !program.has_day { "no day is set, so four weeks are planned, to " }
                (days::said(program.until)) ", " (days::far(program.until, day.today)) "."
                @if !minutes.is_empty() { " Today " (minutes) ": " span class="hand" { (about) } }
            }
            @if let Of::Call(call, _) = &program.of { p { "The call: " @if day.asker.player().is_none() { a href={ "/studio/call/" (call.id) } { (call.name) } } @else { (call.name) } } }
            @if !day.page.milestones.is_empty() {
                dl class="milestones" { @for (name, text) in &day.page.milestones { div { dt { (capital(name)) } dd { (text) } } } }
            }
        }
    }
}

fn no_sitting(day: &Day) -> Markup {
    let is = day
        .planned
        .plan
        .calendar
        .days
        .iter()
        .find(|(date, _)| *date == day.today)
        .map(|(_, is)| *is);
    let next = day.planned.plan.sittings.first();
    html! {
        section class="sitting" {
            p class="off" {
                @match is {
                    Some(DayIs::Off(OffBy::Week)) => "No sitting today: one day a week belongs to rest.",
                    Some(DayIs::Off(OffBy::Asked)) => "No sitting today: it is a day off.",
                    _ => "No sitting today.",
                }
                @if let Some(next) = next { " The next is on " (days::short(next.date)) "." }
            }
        }
    }
}

fn turns(day: &Day, sitting: &Sitting) -> Markup {
    let lines: &[TurnLine] = day.page.days.first().map_or(&[], |card: &DayCard| &card.turns);
    let named = named(sitting);
    html! {
        section class="timer" aria-label="Timer" {
            button type="button" class="begin" { "Begin" }
            p class="now" role="timer" { span class="left" { (clock(sitting.secs())) } " " span class="doing-now" { "for the whole sitting" } }
            button type="button" class="next" disabled { "Next" }
            p class="unseen" id="timer-keys" { "Space begins and pauses. Page down, or a foot pedal, goes to the next turn." }
        }
        ol class="turns" data-player=(day.player.id) data-program=(day.program.key) data-on=(day.today) {
            @for (turn, line) in named.iter().zip(lines) { (turn_drawn(day, turn, line)) }
        }
    }
}

fn clock(secs: u32) -> String {
    format!("{}:{:02}", secs / 60, secs % 60)
}

fn turn_drawn(day: &Day, turn: &Named, line: &TurnLine) -> Markup {
    let key = done::key(&day.program.key, &turn.name);
    let over = day.done.over.get(&key);
    let rest = turn.turn.kind == TurnKind::Rest;
    let query = query(day, &turn.name);
    let notes =
        !turn.turn.bars.is_empty() || matches!(turn.turn.kind, TurnKind::WarmUp | TurnKind::SightReading);
    html! {
        li class={ "turn" @if rest { " rest" } @if over.is_some() { " over" } } id=(turn.name) data-turn=(turn.name) data-secs=(turn.turn.secs) data-rest[rest]
            data-name={ (line.name) @if !line.bars.is_empty() { ", " (line.bars) } } {
            p class="minutes" { (line.minutes) span class="unit" { " min" } }
            div class="what" {
                h3 { (line.name) @if !line.bars.is_empty() { " " span class="bars" { (line.bars) } } }
                @if rest {
                    p { "Put the instrument down. Stand up, breathe, look out of the window." }
                } @else {
                    @if !line.how.is_empty() { p class="hand" { (capital(&line.how)) } }
                    @if !line.why.is_empty() && line.why != line.how { p class="why" { (capital(&line.why)) "." } }
                    p class="doing" { (capital(&line.what)) "." @if !line.stop.is_empty() { " Stop " (line.stop) "." } }
                    (rungs(day, turn, &key))
                    @if notes { div class="notes" data-from={ "/today/" (day.player.id) "/notes" (query) } {} }
                    (ways(day, turn, &query))
                }
            }
            (afterwards_drawn(turn, over.map(|over| over.said.as_str()), rest))
        }
    }
}

fn query(day: &Day, turn: &str) -> String {
    format!("?program={}&on={}&turn={turn}", day.program.key, day.today)
}

/// The rungs, each to be ticked.
fn rungs(day: &Day, turn: &Named, key: &str) -> Markup {
    let ticked = day.done.ticked.get(key);
    html! {
        @if !turn.turn.tempi.is_empty() {
            ul class="rungs" aria-label="Tempi" {
                @for (at, rung) in turn.turn.tempi.iter().enumerate() {
                    li { label {
                        input type="checkbox" class="rung" data-rung=(at) checked[ticked.is_some_and(|ticked| ticked.contains(&at))];
                        " " (times(rung)) " at " span class="tempo" { (rung.beat.sign()) " = " (rung.bpm) }
                        @if rung.click != rung.beat { span class="click" { " (click " (rung.click.sign()) " = " (rung.click_bpm) ")" } }
                    } }
                }
            }
        }
    }
}

fn times(rung: &Rung) -> String {
    match rung.times.0.max(1) {
        1 => "once".to_owned(),
        2 => "twice".to_owned(),
        times => format!("{times} times"),
    }
}

/// Where a turn leads: its bars on the part, its drill as a file, its sound.
fn ways(day: &Day, turn: &Named, query: &str) -> Markup {
    let piece = turn
        .turn
        .work
        .and_then(|work| day.planning.piece_of(day.planned, work));
    let drill = turn.turn.drill.is_some() && turn.turn.kind != TurnKind::LookAlikes
        || matches!(turn.turn.kind, TurnKind::WarmUp | TurnKind::SightReading);
    // Heard before it is read it would be read no more.
    let hear = if turn.turn.kind == TurnKind::SightReading {
        "Hear it afterwards"
    } else {
        "Hear it"
    };
    html! {
        p class="ways" {
            @if let Some(piece) = &piece { a href={ "/part/" (piece.id) "?player=" (day.player.id) } { "The part" } }
            @if drill {
                span class="of-drill" hidden {
                    button type="button" class="hear" data-sound={ "/today/" (day.player.id) "/drill" (query) "&form=wav" } data-words=(hear) { (hear) }
                    a href={ "/today/" (day.player.id) "/drill" (query) "&form=musicxml" } download { "Take it along (MusicXML)" }
                }
            }
        }
    }
}

/// What is said after a turn, in one touch.
fn afterwards_drawn(turn: &Named, over: Option<&str>, rest: bool) -> Markup {
    let felt = |words: &'static str, clean: Option<u32>| {
        html! { button type="button" class="went" data-felt=(words) data-clean=[clean] { (words) } }
    };
    html! {
        div class="afterwards" {
            p class="over-said" hidden[over.is_none()] { span class="said-of-it" { (over.unwrap_or_default()) } " " button type="button" class="strike" { "Strike out" } }
            div class="ask" hidden[over.is_some()] {
                @match afterwards(turn.turn) {
                    _ if rest => { button type="button" class="went" { "Rested" } },
                    Afterwards::Passage => {
                        div role="group" aria-label="Right three times in a row, and it felt" { span { "Three in a row, it felt" } (felt("easy", Some(3))) (felt("steady", Some(3))) (felt("hard", Some(3))) }
                        div role="group" aria-label="Not yet" { span { "Not yet:" } button type="button" class="went" data-felt="steady" data-clean="1" { "nearly" } button type="button" class="went" data-felt="hard" data-clean="0" { "it sticks" } }
                    },
                    Afterwards::Bars => {
                        div role="group" aria-label="Done, and it felt" { span { "Done, it felt" } (felt("easy", None)) (felt("steady", None)) (felt("hard", None)) }
                    },
                    Afterwards::Done => { button type="button" class="went" { "Done" } },
                }
            }
        }
    }
}

fn cautions(page: &PlanPage) -> Markup {
    html! {
        aside class="cautions" aria-label="Cautions" {
            @if let [line] = page.cautions.as_slice() { p { (line) } }
            @else { h2 { "Before you begin" } @for line in &page.cautions { p { (line) } } }
        }
    }
}

/// The next sitting, by what was done so far.
fn tomorrow(planned: Option<&Planned>, on: Date, program: &Program, today: Date) -> Markup {
    let Some((planned, sitting)) =
        planned.and_then(|planned| Some((planned, planned.plan.sittings.first()?)))
    else {
        return html! {
            @if program.until == on { section class="tomorrow" { h2 { "Tomorrow" } p { "The day itself: warm up, play the first lines slowly, hear the rest in your head; eat, breathe, go." } } }
        };
    };
    let page = planned.days(sitting.date, 1);
    html! {
        section class="tomorrow" {
            h2 { "The next sitting, " @if sitting.date == on { "tomorrow" } @else { (days::short(sitting.date)) ", " (days::far(sitting.date, today)) } }
            p class="hint" { "As it stands by what is written down so far; what you write down today changes it." }
            @for card in &page.days {
                ul class="lines" {
                    @for line in card.turns.iter().filter(|line| !line.rest) {
                        li {
                            (line.minutes) " min " b { (line.name) }
                            @if !line.bars.is_empty() { " " (line.bars) }
                            @if !line.tempo.is_empty() { " · " (line.tempo) }
                            @if !line.how.is_empty() { " · " span class="hand" { (line.how) } }
                            @if !line.why.is_empty() { " " i { "(" (line.why) ")" } }
                        }
                    }
                }
            }
        }
    }
}

/// What there is no time for, and what was found on the way.
fn beside(planned: &Planned) -> Markup {
    html! {
        @if !planned.plan.left.is_empty() {
            details class="left-out" {
                summary { "What there is no time for" }
                ul { @for left in &planned.plan.left { li { (capital(&left.says)) "." } } }
            }
        }
        @if !planned.findings.is_empty() {
            details class="found" {
                summary { "What to know of this plan" }
                ul { @for finding in &planned.findings { li { (capital(&plain(&finding.to_string()))) } } }
            }
        }
    }
}
