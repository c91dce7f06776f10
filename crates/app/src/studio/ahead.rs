//! Which days are ahead? Concerts, auditions, lessons, each with its players and how far it is off.

use crate::days;
use crate::error::AppError;
use crate::state::App;
use crate::studio::form::{self, Go, Nothing, TEXT};
use axum::Json;
use axum::extract::{Path, State};
use maud::{Markup, html};
use practice::plan::Date;
use serde::Deserialize;
use std::sync::Arc;
use store::{CallId, CallRow, NewOccasion, OccasionId, OccasionRow, PlayerId, PlayerRow};

/// Kinds that are proposed; any word can be written.
const KINDS: [&str; 5] = ["concert", "audition", "lesson", "recital", "competition"];

/// A day as it is filled in.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(crate) struct Filled {
    date: String,
    name: String,
    kind: String,
    requirements: String,
    deadline: String,
    call: String,
    players: Vec<String>,
}

impl Filled {
    fn to_occasion(&self) -> Result<NewOccasion, AppError> {
        let date = form::day(&self.date, "the day")?;
        let date = date.ok_or_else(|| AppError::Asked("the day is missing — choose it".to_owned()))?;
        Ok(NewOccasion {
            date,
            name: form::name(&self.name, "what it is called")?,
            kind: form::text(&self.kind, form::NAME, "what it is")?,
            requirements: form::text(&self.requirements, TEXT, "what is asked for")?,
            deadline: form::day(&self.deadline, "the day to sign up")?,
            call: self.call.parse().ok().map(CallId),
            players: self
                .players
                .iter()
                .filter_map(|id| id.parse().ok())
                .map(PlayerId)
                .collect(),
        })
    }
}

/// A new day.
pub(crate) async fn add(
    State(app): State<Arc<App>>,
    Json(filled): Json<Filled>,
) -> Result<Json<Go>, AppError> {
    app.aside(move |app| {
        app.store.add_occasion(&filled.to_occasion()?)?;
        Ok(Go::to("/studio"))
    })
    .await
}

/// A day changed.
pub(crate) async fn change(
    State(app): State<Arc<App>>,
    Path(day): Path<i64>,
    Json(filled): Json<Filled>,
) -> Result<Json<Go>, AppError> {
    app.aside(move |app| {
        let new = filled.to_occasion()?;
        app.store.change_occasion(&OccasionRow {
            id: OccasionId(day),
            date: new.date,
            name: new.name,
            kind: new.kind,
            requirements: new.requirements,
            deadline: new.deadline,
            call: new.call,
            players: new.players,
        })?;
        Ok(Go::to("/studio"))
    })
    .await
}

/// A day taken away.
pub(crate) async fn back(
    State(app): State<Arc<App>>,
    Path(day): Path<i64>,
    Json(_): Json<Nothing>,
) -> Result<Json<Go>, AppError> {
    app.aside(move |app| {
        app.store.remove_occasion(OccasionId(day))?;
        Ok(Go::to("/studio"))
    })
    .await
}

/// The days ahead, each to be changed.
pub(crate) fn list(ahead: &[OccasionRow], players: &[PlayerRow], calls: &[CallRow], today: Date) -> Markup {
    html! {
        section class="ahead" aria-labelledby="ahead" {
            h2 id="ahead" { "Days ahead" }
            @if ahead.is_empty() { p { "No day is set." } }
            ol class="days" {
                @for day in ahead {
                    li { (one(day, players, calls, today)) }
                }
            }
            details class="add" {
                summary { "Set a day" }
                (form::form("/studio/days", "Set it", &fields(None, players, calls)))
            }
            datalist id="kinds" { @for kind in KINDS { option value=(kind) {} } }
        }
    }
}

fn one(day: &OccasionRow, players: &[PlayerRow], calls: &[CallRow], today: Date) -> Markup {
    let date = days::read(&day.date).unwrap_or(today);
    let who: Vec<&str> = players
        .iter()
        .filter(|player| day.players.contains(&player.id))
        .map(|player| player.name.as_str())
        .collect();
    html! {
        p class="far" { (days::far(date, today)) }
        div class="day" {
            h3 { (day.name) }
            p { (days::said(date)) @if !day.kind.is_empty() { ", " (day.kind) } @if !who.is_empty() { ": " (who.join(", ")) } "." }
            @if !day.requirements.is_empty() { p class="hand" { (day.requirements) } }
            @if let Some(deadline) = day.deadline.as_deref().and_then(days::read) {
                p class="deadline" { "Sign up by " (days::said(deadline)) ", " (days::far(deadline, today)) "." }
            }
            @if let Some(call) = calls.iter().find(|call| Some(call.id) == day.call) { p { a href={ "/studio/call/" (call.id) } { "The call: " (call.name) } } }
            details class="change" {
                summary { "Change" }
                (form::form(&format!("/studio/day/{}", day.id), "Keep", &fields(Some(day), players, calls)))
                (form::press(&format!("/studio/day/{}/back", day.id), "Take this day away", Some("Take this day away? The pieces given stay.")))
            }
        }
    }
}

fn fields(day: Option<&OccasionRow>, players: &[PlayerRow], calls: &[CallRow]) -> Markup {
    let said = |of: fn(&OccasionRow) -> &str| day.map_or("", of);
    let among: Vec<(String, String)> = players
        .iter()
        .map(|player| (player.id.to_string(), player.name.clone()))
        .collect();
    let chosen: Vec<String> = day.map_or_else(Vec::new, |day| {
        day.players.iter().map(ToString::to_string).collect()
    });
    let mut of_calls = vec![(String::new(), "none".to_owned())];
    of_calls.extend(calls.iter().map(|call| (call.id.to_string(), call.name.clone())));
    let call = day
        .and_then(|day| day.call)
        .map_or_else(String::new, |call| call.to_string());
    html! {
        div class="fields" {
            (form::date("Day", "date", said(|day| &day.date)))
            (form::line("What it is called", "name", said(|day| &day.name), "Winter studio evening"))
            (form::line_from("What it is", "kind", said(|day| &day.kind), "kinds"))
            (form::date("Sign up by", "deadline", day.and_then(|day| day.deadline.as_deref()).unwrap_or_default()))
            (form::choice("Its call", "call", &of_calls, &call))
        }
        (form::lines("What is asked for", "requirements", said(|day| &day.requirements), 2))
        (form::several("Who plays", "players", &among, &chosen))
    }
}
