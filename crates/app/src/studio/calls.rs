//! What does a call ask for? Its pieces with their cuts and how long each lasts, scales, errata, what changed; and its text.

use crate::days;
use crate::error::AppError;
use crate::screen::{Screen, capital, page};
use crate::state::App;
use crate::studio::form::{self, Go, Nothing};
use crate::today::{call_pieces, open_named, open_nothing};
use axum::Json;
use axum::extract::{Path, Query, State};
use axum::response::Html;
use desk::{CallOpened, CallPieceOpened, CutFound};
use maud::{Markup, html};
use practice::call::CallPiece;
use practice::plan::Date;
use serde::Deserialize;
use std::collections::BTreeMap;
use std::sync::Arc;
use store::{CallId, CallRow, NewCall, PieceId, PieceRow, PieceSearch};

/// The longest call, in letters.
const LONGEST: usize = 30_000;

/// A call as it is filled in.
#[derive(Debug, Default, Deserialize)]
pub(crate) struct Filled {
    text: String,
    /// `piece.0` and so on: which piece of the folder the file of that number is.
    #[serde(flatten)]
    pieces: BTreeMap<String, String>,
}

/// Understands a call, without its pieces.
pub(super) fn understood(text: &str) -> Result<CallOpened, AppError> {
    if text.chars().count() > LONGEST {
        return Err(AppError::Asked(
            "a call of more than 30000 letters is not kept — leave out what is no requirement".to_owned(),
        ));
    }
    Ok(desk::open_call_text(text, &mut open_nothing)?)
}

/// The file's name alone.
fn stem(file: &str) -> &str {
    let name = file.rsplit(['/', '\\']).next().unwrap_or(file);
    name.split('.').next().unwrap_or(name)
}

impl Filled {
    fn to_call(&self, app: &App) -> Result<NewCall, AppError> {
        let call = understood(&self.text)?.call;
        let folder = app.store.pieces(&PieceSearch::default())?;
        let mut pieces = Vec::new();
        for (number, listed) in call.pieces.iter().enumerate() {
            let said = self.pieces.get(&format!("piece.{number}")).map(String::as_str);
            let chosen = match said {
                Some(id) => id.parse().ok().map(PieceId),
                // A file that is called like one of the folder is taken for it.
                None => folder
                    .iter()
                    .find(|row| stem(&row.file_name).eq_ignore_ascii_case(stem(&listed.file)))
                    .map(|row| row.id),
            };
            pieces.extend(chosen.map(|id| (listed.file.clone(), id)));
        }
        Ok(NewCall {
            name: form::name(&call.name, "the call's name")?,
            date: call.date.map(|date| date.to_string()),
            text: self.text.clone(),
            pieces,
        })
    }
}

/// A new call.
pub(crate) async fn add(
    State(app): State<Arc<App>>,
    Json(filled): Json<Filled>,
) -> Result<Json<Go>, AppError> {
    app.aside(move |app| {
        let row = app.store.add_call(&filled.to_call(app)?)?;
        Ok(Go::to(format!("/studio/call/{}", row.id)))
    })
    .await
}

/// A call changed.
pub(crate) async fn change(
    State(app): State<Arc<App>>,
    Path(call): Path<i64>,
    Json(filled): Json<Filled>,
) -> Result<Json<Go>, AppError> {
    app.aside(move |app| {
        app.store.change_call(CallId(call), &filled.to_call(app)?)?;
        Ok(Go::to(format!("/studio/call/{call}")))
    })
    .await
}

/// A call taken away.
pub(crate) async fn back(
    State(app): State<Arc<App>>,
    Path(call): Path<i64>,
    Json(_): Json<Nothing>,
) -> Result<Json<Go>, AppError> {
    app.aside(move |app| {
        app.store.remove_call(CallId(call))?;
        Ok(Go::to("/studio"))
    })
    .await
}

/// Since when changes are wanted.
#[derive(Debug, Default, Deserialize)]
pub(crate) struct Since {
    since: Option<String>,
}

/// A call's page.
pub(crate) async fn screen(
    State(app): State<Arc<App>>,
    Path(call): Path<i64>,
    Query(since): Query<Since>,
) -> Result<Html<String>, AppError> {
    app.aside(move |app| Ok(Html(drawn(app, call, &since)?.into_string())))
        .await
}

fn drawn(app: &App, call: i64, since: &Since) -> Result<Markup, AppError> {
    let today = app.today();
    let row = app.store.call(CallId(call))?;
    let named = call_pieces(app, &row)?;
    let folder = app.store.pieces(&PieceSearch::default())?;
    let opened = desk::open_call_text(&row.text, &mut |file| open_named(app, &named, file));
    let since = since.since.as_deref().and_then(days::read);
    let files: Vec<String> = opened.as_ref().map_or_else(
        |_| Vec::new(),
        |opened| {
            opened
                .call
                .pieces
                .iter()
                .map(|piece| piece.file.clone())
                .collect()
        },
    );
    Ok(page(&Screen {
        title: &row.name,
        secret: &app.secret,
        class: "studio",
        styles: &["studio.css"],
        script: Some("studio.js"),
        line: html! {
            h1 { (row.name) }
            p class="facts" { @if let Some(date) = row.date.as_deref().and_then(days::read) { (days::said(date)) ", " (days::far(date, today)) } }
        },
        body: html! {
            @match &opened {
                Ok(opened) => (asked_for(opened, &row, &named, since, today)),
                Err(error) => p class="slip-said" role="alert" { (capital(&error.to_string())) },
            }
            (change_it(&row, &files, &named, &folder))
        },
    }))
}

fn asked_for(
    opened: &CallOpened,
    row: &CallRow,
    named: &[(String, PieceRow)],
    since: Option<Date>,
    today: Date,
) -> Markup {
    let call = &opened.call;
    html! {
        section class="call" aria-label="What it asks for" {
            @if let (Some(date), Some(left)) = (call.date, call.days_left(today)) {
                p class="far" { (days::said(date)) ": " (days::far(date, today)) @if left >= 56 { " (" (left) " days)" } }
            }
            @if !call.notes.is_empty() { p class="hand" { (call.notes) } }
            @for (listed, piece) in call.pieces.iter().zip(&opened.pieces) {
                (of_piece(listed, piece, named.iter().find(|(file, _)| *file == listed.file).map(|(_, row)| row)))
            }
            @if !call.scales.is_empty() {
                h2 { "Scales" }
                ul { @for scale in &call.scales {
                    li { (scale.says) @if let Some(tempo) = &scale.tempo { ", " (tempo.in_words()) } @if scale.memorised { ", from memory" } }
                } }
            }
            @if let Some(said) = &call.sight_reading { h2 { "At sight" } p { (said) } }
            (changes(opened, row, since))
        }
    }
}

fn of_piece(listed: &CallPiece, piece: &CallPieceOpened, row: Option<&PieceRow>) -> Markup {
    html! {
        section class="of-call" {
            h2 { (piece.title) @if listed.memorised { ", from memory" } }
            @if !listed.edition.is_empty() { p class="hint" { "Edition: " (listed.edition) } }
            @if !piece.cuts.is_empty() {
                div class="scrolls" { table {
                    thead { tr { th scope="col" { "cut" } th scope="col" { "from – to" } th scope="col" { "tempo" } th scope="col" { "lasts" } } }
                    tbody { @for cut in &piece.cuts { (cut_row(cut)) } }
                } }
            }
            @if let Some(row) = row { p { a href={ "/part/" (row.id) } { "Open the part" @if !listed.errata.is_empty() { ", with its errata" } } } }
            @if !listed.errata.is_empty() {
                h3 { "Errata" }
                ul { @for erratum in &listed.errata { li { @if let Some(date) = erratum.date { (days::said(date)) ": " } (erratum.in_words()) } } }
            }
            @for finding in &piece.findings { p class="slip-said" { (capital(&finding.to_string())) } }
        }
    }
}

fn cut_row(cut: &CutFound) -> Markup {
    let says = cut
        .found
        .as_ref()
        .map_or_else(|| cut.cut.range.said.clone(), |found| found.says.clone());
    let lasts = match cut.seconds {
        Some((slow, fast)) if (slow - fast).abs() < 0.5 => clock(slow),
        Some((slow, fast)) => format!("{} to {}", clock(fast), clock(slow)),
        None => "–".to_owned(),
    };
    html! {
        tr {
            th scope="row" { (cut.cut.name) }
            td {
                (says) @if cut.found.as_ref().is_some_and(|found| found.repeats) { ", with repeats" }
                @if !cut.cut.notes.is_empty() { p class="hand" { (cut.cut.notes) } }
                @for finding in &cut.findings { p class="slip-said" { (capital(&finding.to_string())) } }
            }
            td { (cut.cut.tempo.as_ref().map_or_else(|| "as marked".to_owned(), practice::call::tempo::Asked::in_words)) }
            td { (lasts) }
        }
    }
}

/// Minutes and seconds.
fn clock(seconds: f64) -> String {
    let whole = seconds.round().clamp(0.0, 86_400.0);
    format!("{:.0}:{:02.0}", (whole / 60.0).floor(), whole % 60.0)
}

fn changes(opened: &CallOpened, row: &CallRow, since: Option<Date>) -> Markup {
    let from = since.or_else(|| days::read("1900-01-01"));
    let changed = from.map_or_else(Vec::new, |from| opened.call.changed_since(from));
    html! {
        h2 { "What changed" }
        form action={ "/studio/call/" (row.id) } method="get" class="since" {
            label class="field" { span { "Since" } input type="date" name="since" value=[since.map(|day| day.to_string())]; }
            button type="submit" { "Show" }
        }
        @if changed.is_empty() { p { "Nothing." } }
        ul { @for (date, piece, says) in &changed {
            li { (days::said(*date)) ": " @if let Some(piece) = piece.and_then(|at| opened.pieces.get(at)) { (piece.title) ": " } (says) }
        } }
    }
}

fn change_it(row: &CallRow, files: &[String], named: &[(String, PieceRow)], folder: &[PieceRow]) -> Markup {
    let among: Vec<(String, String)> = std::iter::once((String::new(), "not in the folder".to_owned()))
        .chain(
            folder
                .iter()
                .map(|piece| (piece.id.to_string(), piece.title.clone())),
        )
        .collect();
    html! {
        details class="change" {
            summary { "Change the call" }
            (form::form(&format!("/studio/call/{}", row.id), "Keep", &html! {
                div class="fields" {
                    @for (number, file) in files.iter().enumerate() {
                        @let chosen = named.iter().find(|(name, _)| name == file).map_or_else(String::new, |(_, piece)| piece.id.to_string());
                        (form::choice(&format!("{file} is"), &format!("piece.{number}"), &among, &chosen))
                    }
                }
                label class="field wide-field" { span { "The call, as the list was sent out" } textarea name="text" rows="24" maxlength=(LONGEST) spellcheck="false" class="written" { (row.text) } }
            }))
            (form::press(&format!("/studio/call/{}/back", row.id), "Take the call away", Some("Take this call away? Its pieces stay in the folder.")))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{clock, stem, understood};

    #[test]
    fn a_file_is_known_by_its_name_alone() {
        assert_eq!(stem("../pieces/kite_weather.musicxml"), "kite_weather");
        assert_eq!(stem("kite"), "kite");
        assert_eq!(stem("C:\\x\\a.mxl"), "a");
    }

    #[test]
    fn what_is_not_understood_is_said_with_its_line() {
        let said = understood(
            "name = \"x\"\n[[pieces]]\nfile = \"a\"\n[[pieces.cuts]]\nbars = \"somewhere nice\"\n",
        )
        .unwrap_err()
        .to_string();
        assert!(
            said.contains("line 5") && said.contains("somewhere nice"),
            "{said}"
        );
        assert_eq!(clock(83.4), "1:23");
    }
}
