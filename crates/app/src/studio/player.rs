//! How does one player's page look? What she is, what she works on, when she practises, what she did, what is handed out.

use crate::days;
use crate::error::AppError;
use crate::screen::{Screen, page};
use crate::state::App;
use crate::studio::{form, player_form, record};
use crate::today::{Practice, Program, programs};
use axum::extract::{Path, State};
use axum::response::Html;
use maud::{Markup, html};
use practice::plan::Date;
use std::sync::Arc;
use store::{AssignmentRow, CutRow, PieceRow, PieceSearch, PlayerId, PlayerRow};

/// A player's page.
pub(crate) async fn screen(
    State(app): State<Arc<App>>,
    Path(player): Path<i64>,
) -> Result<Html<String>, AppError> {
    app.aside(move |app| Ok(Html(drawn(app, player)?.into_string())))
        .await
}

/// A piece she has or had to work on.
struct Given {
    row: AssignmentRow,
    piece: PieceRow,
    cuts: Vec<CutRow>,
}

fn drawn(app: &App, player: i64) -> Result<Markup, AppError> {
    let today = app.today();
    let row = app.store.player(PlayerId(player))?;
    let mut given = Vec::new();
    for assignment in app.store.assignments_of_player(row.id)? {
        let piece = app.store.piece(assignment.piece)?;
        let cuts = app.store.cuts(assignment.id)?;
        given.push(Given {
            row: assignment,
            piece,
            cuts,
        });
    }
    let programs = programs(app, &row, today)?;
    let practice = Practice::of(app, row.id)?;
    let pieces = app.store.pieces(&PieceSearch::default())?;
    let record = record::drawn(app, &row, &programs, today)?;
    Ok(page(&Screen {
        title: &row.name,
        secret: &app.secret,
        class: "studio",
        styles: &["studio.css", "today.css"],
        script: Some("studio.js"),
        line: html! {
            h1 { (row.name) }
            p class="facts" { (facts(&row).join(" · ")) }
        },
        body: html! {
            (player_form::instruments())
            (about(&row))
            section class="works" aria-labelledby="works" {
                h2 id="works" { "Working on" }
                @if !given.iter().any(|one| one.row.done.is_none()) { p { "Nothing yet." } }
                ol class="given" { @for one in given.iter().filter(|one| one.row.done.is_none()) { li { (piece(&row, one, &programs, today)) } } }
                details class="add" {
                    summary { "Give a piece to get ready" }
                    (form::form(&format!("/studio/player/{player}/assign"), "Give it", &assignment_fields(None, Some(&pieces))))
                }
                (done(&row, &given))
            }
            (when(&row, &practice, programs.len()))
            (handed(&row, &programs, &given))
            (record)
        },
    }))
}

fn facts(row: &PlayerRow) -> Vec<String> {
    let profile = row.profile().unwrap_or_default();
    let sign =
        |note: &str| notation::Pitch::parse(note).map_or_else(|| note.to_owned(), notation::Pitch::sign);
    let mut facts: Vec<String> = Vec::new();
    facts.extend(profile.instrument);
    facts.extend(profile.level);
    facts.extend(
        profile
            .range
            .map(|range| format!("{} to {}", sign(&range.low), sign(&range.high))),
    );
    facts.extend(
        profile
            .breath_seconds
            .map(|seconds| format!("breath {seconds} s")),
    );
    facts.extend(
        profile
            .tongue_per_second
            .map(|notes| format!("tongue {notes} notes a second")),
    );
    facts.extend(row.large_print.then(|| "large print".to_owned()));
    facts
}

fn about(row: &PlayerRow) -> Markup {
    html! {
        section class="about" aria-label="About" {
            @if let Some(day) = &row.put_away { p { "Put away on " (days::kept(day)) "; the record is kept." (form::press_with(&format!("/studio/player/{}/away", row.id), "Bring back", "away", false)) } }
            p class="plays" { (facts(row).join(" · ")) }
            @if !row.notes.is_empty() { p class="hand notes-of" { (row.notes) } }
            p class="ways" { a href={ "/today/" (row.id) } { "Today’s sitting" } }
            details class="change" {
                summary { "Change" }
                (form::form(&format!("/studio/player/{}", row.id), "Keep", &player_form::fields(Some(row))))
                @if row.put_away.is_none() { (form::press_with(&format!("/studio/player/{}/away", row.id), "Put away", "away", true)) }
            }
        }
    }
}

fn piece(player: &PlayerRow, one: &Given, programs: &[Program], today: Date) -> Markup {
    let program = programs
        .iter()
        .find(|program| program.pieces().iter().any(|piece| piece.id == one.piece.id));
    let to = format!("/studio/player/{}/assignment/{}", player.id, one.row.id);
    html! {
        h3 { a href={ "/part/" (one.piece.id) "?player=" (player.id) } { (one.piece.title) } }
        p {
            "since " (days::kept(&one.row.since))
            @match program {
                Some(program) if program.has_day => { "; " @if let Some(day) = &program.day_name { (day) ", " } (days::said(program.until)) ", " (days::far(program.until, today)) },
                Some(_) => "; no day is set, so four weeks are planned at a time",
                None => { @if let Some(until) = &one.row.until { "; " (days::kept(until)) ", which is past" } },
            }
            "."
            @if crate::today::from_memory(&one.row.sittings) { " From memory." }
        }
        @if !one.row.goal.is_empty() { p { "For: " (one.row.goal) } }
        @if !one.row.note.is_empty() { p class="hand" { (one.row.note) } }
        @if one.piece.put_away.is_some() { p class="slip-said" { "This piece is put away in the folder, so it is not planned." } }
        (cuts(player, one))
        p class="ways" {
            @if let Some(program) = program { a href={ "/today/" (player.id) "?program=" (program.key) } { "Its sitting" } }
            a href={ "/studio/judge?player=" (player.id) "&piece=" (one.piece.id) } { "Judge it" }
        }
        details class="change" {
            summary { "Change" }
            (form::form(&to, "Keep", &assignment_fields(Some(&one.row), None)))
            (form::form(&format!("{to}/cuts"), "Add the cut", &html! {
                div class="fields" {
                    (form::line("Only these bars", "bars", "", "1-20"))
                    (form::line("What the cut is called", "name", "", "A"))
                }
            }))
            (form::press(&format!("{to}/back"), "Take it back", Some("Take this piece back, with its cuts? What was practised stays in the record.")))
        }
    }
}

fn cuts(player: &PlayerRow, one: &Given) -> Markup {
    html! {
        @if !one.cuts.is_empty() {
            ul class="cuts" aria-label="Cuts" {
                @for cut in &one.cuts {
                    li {
                        @if !cut.name.is_empty() { (cut.name) ": " }
                        "bars " (cut.from.label) "–" (cut.to.label)
                        @if !cut.placed { ", which are not in the file of now" }
                        " " (form::press(&format!("/studio/player/{}/cut/{}/back", player.id, cut.id), "Take the cut back", None))
                    }
                }
            }
        }
    }
}

fn assignment_fields(row: Option<&AssignmentRow>, pieces: Option<&[PieceRow]>) -> Markup {
    let said = |of: fn(&AssignmentRow) -> &str| row.map_or("", of);
    html! {
        div class="fields" {
            @if let Some(pieces) = pieces {
                @let among: Vec<(String, String)> = std::iter::once((String::new(), "choose".to_owned())).chain(pieces.iter().map(|piece| (piece.id.to_string(), piece.title.clone()))).collect();
                (form::choice("Piece", "piece", &among, ""))
            }
            (form::date("Ready by", "until", row.and_then(|row| row.until.as_deref()).unwrap_or_default()))
            (form::line("For (a day ahead by its name counts as its date)", "goal", said(|row| &row.goal), "Winter studio evening"))
        }
        (form::lines("Note", "note", said(|row| &row.note), 2))
        p {
            (form::tick("From memory", "from_memory", row.is_some_and(|row| crate::today::from_memory(&row.sittings))))
            @if row.is_some() { (form::tick("Done with", "done", row.is_some_and(|row| row.done.is_some()))) }
        }
    }
}

fn done(player: &PlayerRow, given: &[Given]) -> Markup {
    let past: Vec<&Given> = given.iter().filter(|one| one.row.done.is_some()).collect();
    html! {
        @if !past.is_empty() {
            details class="past" {
                summary { "Done with" }
                ul { @for one in past {
                    li {
                        a href={ "/part/" (one.piece.id) "?player=" (player.id) } { (one.piece.title) } ", " (days::kept(one.row.done.as_deref().unwrap_or_default()))
                        details class="change" { summary { "Change" } (form::form(&format!("/studio/player/{}/assignment/{}", player.id, one.row.id), "Keep", &assignment_fields(Some(&one.row), None))) }
                    }
                } }
            }
        }
    }
}

fn when(row: &PlayerRow, practice: &Practice, programs: usize) -> Markup {
    html! {
        section class="when" aria-labelledby="when" {
            h2 id="when" { "Practice" }
            p {
                (practice.minutes) " minutes a day, rests included"
                @if programs > 1 { ", shared evenly by what is due on " (programs) " days" }
                @if !practice.off.is_empty() { "; off: " (practice.off) }
                @if !practice.at.is_empty() { "; at " (practice.at) }
                "."
            }
            details class="change" {
                summary { "Change" }
                (form::form(&format!("/studio/player/{}/practice", row.id), "Keep", &html! {
                    div class="fields" {
                        (form::line("Minutes a day", "minutes", &practice.minutes.to_string(), "30"))
                        (form::line("Days off (sun, 2026-12-24..2026-12-26)", "off", &practice.off, "one a week is kept free in any case"))
                        (form::line("Time of day, for the calendar", "at", &practice.at, "17:30"))
                    }
                }))
            }
        }
    }
}

/// What can be given into her hands.
fn handed(row: &PlayerRow, programs: &[Program], given: &[Given]) -> Markup {
    html! {
        section class="handed" aria-labelledby="handed" {
            h2 id="handed" { "To hand out" }
            p class="hint" { "Files that open without this program: PDF for paper, a page of its own for a tablet or telephone, dates for a calendar." }
            ul {
                @for program in programs {
                    @let to = |form: &str| format!("/studio/player/{}/week/{form}?program={}", row.id, program.key);
                    li { "The week of " (program.title()) ": " a href=(to("pdf")) { "PDF" } " · " a href=(to("html")) { "page" } " · " a href=(to("ics")) { "calendar" } }
                }
                @for one in given.iter().filter(|one| one.row.done.is_none()) {
                    @let to = |form: &str| format!("/studio/player/{}/sheet/{}/{form}", row.id, one.piece.id);
                    li { "What to know of " (one.piece.title) ": " a href=(to("pdf")) { "PDF" } " · " a href=(to("html")) { "page" } }
                }
            }
        }
    }
}
