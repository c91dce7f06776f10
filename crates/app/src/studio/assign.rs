//! What is a player given to work on? A piece until a day, to what end, and which cuts of it.

use crate::error::AppError;
use crate::pieces;
use crate::state::App;
use crate::studio::form::{self, Go, Nothing, TEXT};
use axum::Json;
use axum::extract::{Path, State};
use notation::Quarters;
use serde::Deserialize;
use std::sync::Arc;
use store::{AssignmentId, AssignmentRow, Bars, CutId, NewAssignment, NewCut, PieceId, PlayerId};

/// A piece as it is assigned.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(crate) struct Filled {
    piece: String,
    until: String,
    goal: String,
    note: String,
    from_memory: bool,
    done: bool,
}

fn home(player: i64) -> Json<Go> {
    Go::to(format!("/studio/player/{player}"))
}

/// Assigns a piece.
pub(crate) async fn assign(
    State(app): State<Arc<App>>,
    Path(player): Path<i64>,
    Json(filled): Json<Filled>,
) -> Result<Json<Go>, AppError> {
    app.aside(move |app| {
        let piece: i64 = filled
            .piece
            .parse()
            .map_err(|_| AppError::Asked("no piece is chosen — choose one of the folder".to_owned()))?;
        pieces::row(app, piece)?;
        let row = app.store.assign(&NewAssignment {
            piece: PieceId(piece),
            player: PlayerId(player),
            since: app.today().to_string(),
            until: form::day(&filled.until, "the day")?,
            goal: form::text(&filled.goal, form::NAME, "the goal")?,
            note: form::text(&filled.note, TEXT, "the note")?,
        })?;
        if filled.from_memory {
            app.store.change_assignment(&AssignmentRow {
                sittings: sittings(true),
                ..row
            })?;
        }
        Ok(home(player))
    })
    .await
}

fn sittings(from_memory: bool) -> String {
    serde_json::json!({ "from_memory": from_memory }).to_string()
}

/// The assignment of a player.
fn own(app: &App, player: i64, assignment: i64) -> Result<AssignmentRow, AppError> {
    let all = app.store.assignments_of_player(PlayerId(player))?;
    let own = all.into_iter().find(|row| row.id == AssignmentId(assignment));
    own.ok_or(AppError::NotFound)
}

/// Changes what is said of an assignment.
pub(crate) async fn change(
    State(app): State<Arc<App>>,
    Path((player, assignment)): Path<(i64, i64)>,
    Json(filled): Json<Filled>,
) -> Result<Json<Go>, AppError> {
    app.aside(move |app| {
        let row = own(app, player, assignment)?;
        let done = match (&row.done, filled.done) {
            (Some(day), true) => Some(day.clone()),
            (None, true) => Some(app.today().to_string()),
            (_, false) => None,
        };
        app.store.change_assignment(&AssignmentRow {
            until: form::day(&filled.until, "the day")?,
            goal: form::text(&filled.goal, form::NAME, "the goal")?,
            note: form::text(&filled.note, TEXT, "the note")?,
            sittings: sittings(filled.from_memory),
            done,
            ..row
        })?;
        Ok(home(player))
    })
    .await
}

/// Takes an assignment back; what was practised stays.
pub(crate) async fn back(
    State(app): State<Arc<App>>,
    Path((player, assignment)): Path<(i64, i64)>,
    Json(_): Json<Nothing>,
) -> Result<Json<Go>, AppError> {
    app.aside(move |app| {
        let row = own(app, player, assignment)?;
        app.store.remove_assignment(row.id)?;
        Ok(home(player))
    })
    .await
}

/// A cut as it is filled in.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(crate) struct Cut {
    bars: String,
    name: String,
    note: String,
}

/// Adds a cut, by the bars' printed numbers.
pub(crate) async fn add_cut(
    State(app): State<Arc<App>>,
    Path((player, assignment)): Path<(i64, i64)>,
    Json(cut): Json<Cut>,
) -> Result<Json<Go>, AppError> {
    app.aside(move |app| {
        let row = own(app, player, assignment)?;
        let piece = pieces::row(app, row.piece.0)?;
        let opened = pieces::open(app, &piece)?;
        let span = desk::bar_span(&opened.piece, &form::name(&cut.bars, "which bars")?)
            .map_err(|error| AppError::Asked(error.to_string().replace("--bars: ", "")))?;
        let part = desk::choose_part(&opened, piece.part.as_deref())?.index;
        let bars = Bars::of(&opened.piece, part);
        let hold = |bar: notation::BarIndex| bars.hold(bar.0, Quarters::ZERO, None).ok_or(AppError::NotFound);
        app.store.add_cut(&NewCut {
            assignment: row.id,
            name: form::text(&cut.name, form::NAME, "the cut's name")?,
            from: hold(span.from)?,
            to: hold(span.to)?,
            tempo: String::new(),
            note: form::text(&cut.note, TEXT, "the note")?,
        })?;
        Ok(home(player))
    })
    .await
}

/// Takes a cut back.
pub(crate) async fn cut_back(
    State(app): State<Arc<App>>,
    Path((player, cut)): Path<(i64, i64)>,
    Json(_): Json<Nothing>,
) -> Result<Json<Go>, AppError> {
    app.aside(move |app| {
        app.store.remove_cut(CutId(cut))?;
        Ok(home(player))
    })
    .await
}
