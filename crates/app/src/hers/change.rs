//! What did she do? One gesture of her pencil, kept at once, undone and done again.

use crate::error::AppError;
use crate::hers::apply::sign;
use crate::hers::decided::BreathIs;
use crate::hers::place::{self, Touch};
use crate::hers::{choose, marks};
use crate::lan::Asker;
use crate::part::Wanted;
use crate::prepared::{Prepared, prepared};
use crate::state::App;
use crate::workshop::Urgency;
use axum::Json;
use axum::extract::{Path, Query, State};
use serde::{Deserialize, Serialize};
use std::sync::Arc;

/// A gesture.
#[derive(Clone, Debug, Deserialize)]
#[serde(tag = "do", rename_all = "kebab-case", deny_unknown_fields)]
pub(crate) enum Gesture {
    /// A sign put where she touched, or at a note.
    Add {
        /// Its name in a legend.
        sign: String,
        /// Words or a number with it.
        #[serde(default)]
        text: String,
        /// Where.
        #[serde(default)]
        at: Option<Touch>,
        /// At this note of a bar, instead.
        #[serde(default)]
        note: Option<(u32, String)>,
        /// Over these bars, instead.
        #[serde(default)]
        bars: Option<(u32, u32)>,
    },
    /// The mark under a touch rubbed out.
    Rub {
        /// Where.
        at: Touch,
    },
    /// The mark under one touch put where the other is.
    Move {
        /// The mark.
        at: Touch,
        /// Where to.
        to: Touch,
    },
    /// A mark rubbed out, by its place in the list of marks.
    Erase {
        /// Its index.
        mark: usize,
    },
    /// One of ours kept for good.
    Keep {
        /// Its index.
        mark: usize,
    },
    /// What she erased, confirmed or could not be placed, taken back.
    TakeBack {
        /// Its row.
        row: i64,
    },
    /// A key named, of the whole or of some bars; no tonic takes it back.
    Key {
        /// The bars, if it is not of the whole.
        #[serde(default)]
        bars: Option<(u32, u32)>,
        /// `Bb`.
        #[serde(default)]
        tonic: String,
        /// `minor`, `dorian`.
        #[serde(default)]
        scale: String,
    },
    /// A breath before a note, or none there; nothing said: the proposal stands again.
    Breathe {
        /// The bar.
        bar: u32,
        /// The note.
        note: String,
        /// What is done there.
        #[serde(default)]
        how: Option<BreathIs>,
    },
    /// A choice taken back: the proposal stands again.
    TakeBackChoice {
        /// Its row.
        row: i64,
    },
    /// A fingering chosen at a note; no name takes the choice back.
    Finger {
        /// The bar.
        bar: u32,
        /// The note.
        note: String,
        /// The fingering's name.
        name: String,
    },
    /// The last gesture undone.
    Undo,
    /// The gesture that was undone last done again.
    Redo,
}

/// What came of it.
#[derive(Debug, Serialize)]
pub(crate) struct Done {
    /// In words.
    said: String,
}

/// Keeps a gesture.
pub(crate) async fn gesture(
    State(app): State<Arc<App>>,
    asker: Asker,
    Path(id): Path<i64>,
    Query(wanted): Query<Wanted>,
    Json(gesture): Json<Gesture>,
) -> Result<Json<Done>, AppError> {
    let part = prepared(&app, id, wanted.choices(asker), Urgency::Awaited).await?;
    app.aside(move |app| {
        let said = done(app, &part, &gesture)?;
        Ok(Json(Done { said }))
    })
    .await
}

pub(super) fn nothing(what: &str) -> AppError {
    AppError::Asked(what.to_owned())
}

fn done(app: &App, part: &Prepared, gesture: &Gesture) -> Result<String, AppError> {
    let piece = part.row.id;
    Ok(match gesture {
        Gesture::Add {
            sign: name,
            text,
            at,
            note,
            bars,
        } => {
            let (from, to) = marks::ends(part, sign(name), at.as_ref(), note.as_ref(), *bars)?;
            match choose::breath_of_sign(part, sign(name), &from) {
                Some(how) => choose::breathe_at(app, part, &from, Some(how))?,
                None => marks::add(app, part, name, text, (place::stands(part, sign(name), from), to))?,
            }
        }
        Gesture::Rub { at } => erase(app, part, under(part, at)?)?,
        Gesture::Move { at, to } => {
            let mark = ours_or_hers(part, under(part, at)?)?;
            match choose::breath_of_mark(part, mark) {
                Some(breath) => choose::move_breath(app, part, &breath, to)?,
                None => marks::shift(app, part, mark, to)?,
            }
        }
        Gesture::Erase { mark } => erase(app, part, *mark)?,
        Gesture::Keep { mark } => match choose::breath_of_mark(part, ours_or_hers(part, *mark)?) {
            Some(breath) => choose::keep_breath(app, part, &breath)?,
            None => marks::keep(app, part, *mark)?,
        },
        Gesture::TakeBack { row } => {
            // Only a row of this piece: another's number is no row of it.
            let found = part.hers.marks.iter().find(|known| known.id.0 == *row);
            let found = found.ok_or_else(|| nothing("that was taken back already — load the page anew"))?;
            app.store.erase_mark(found.id)?;
            "Taken back".to_owned()
        }
        Gesture::TakeBackChoice { row } => {
            let found = part.hers.choices.iter().find(|known| known.id.0 == *row);
            let found = found.ok_or_else(|| nothing("that was taken back already — load the page anew"))?;
            app.store.take_back_choice(found.id)?;
            "Taken back: the proposal stands again".to_owned()
        }
        Gesture::Key { bars, tonic, scale } => choose::key(app, part, *bars, tonic, scale)?,
        Gesture::Breathe { bar, note, how } => choose::breathe(app, part, *bar, note, *how)?,
        Gesture::Finger { bar, note, name } => choose::finger(app, part, *bar, note, name)?,
        Gesture::Undo => match app.store.undo(piece)? {
            Some(_) => "Undone".to_owned(),
            None => "There is nothing to undo".to_owned(),
        },
        Gesture::Redo => match app.store.redo(piece)? {
            Some(_) => "Done again".to_owned(),
            None => "There is nothing to do again".to_owned(),
        },
    })
}

fn under(part: &Prepared, at: &Touch) -> Result<usize, AppError> {
    place::mark_at(part, at).ok_or_else(|| nothing("there is no mark here — touch nearer to it"))
}

/// A breath that is rubbed out is struck out of the reading, too, so that the next best place is proposed.
fn erase(app: &App, part: &Prepared, mark: usize) -> Result<String, AppError> {
    let mark = ours_or_hers(part, mark)?;
    match choose::breath_of_mark(part, mark) {
        Some(breath) => choose::strike_breath(app, part, &breath),
        None => marks::erase(app, part, mark),
    }
}

/// A mark that is ours or hers to change; what a call corrects is the call's.
fn ours_or_hers(part: &Prepared, mark: usize) -> Result<usize, AppError> {
    let of_call = part
        .copy
        .marks
        .get(mark)
        .is_some_and(|mark| mark.matter == desk::ERRATA);
    if of_call {
        return Err(nothing(
            "this is corrected by a call — it goes when the call’s text is changed, on the call’s page",
        ));
    }
    Ok(mark)
}
