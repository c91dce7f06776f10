//! What of a sitting is done? Rungs that were ticked and turns that were logged, kept day by day for each player.

use crate::error::AppError;
use crate::state::App;
use practice::plan::Date;
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Mutex, MutexGuard, PoisonError};
use store::{NewVisit, PlayerId, VisitId};

/// What is done of one day's sittings, by the program's key and the turn's name.
#[derive(Clone, PartialEq, Eq, Debug, Default, Serialize, Deserialize)]
#[serde(default)]
pub(crate) struct Done {
    /// Rungs that were ticked.
    pub ticked: BTreeMap<String, BTreeSet<usize>>,
    /// Turns that are over, with what was said of them.
    pub over: BTreeMap<String, Over>,
}

/// A turn that is over.
#[derive(Clone, PartialEq, Eq, Debug, Default, Serialize, Deserialize)]
pub(crate) struct Over {
    /// What was said, in words.
    pub said: String,
    /// Its lines in the log.
    pub visits: Vec<i64>,
    /// What was read at sight.
    #[serde(default)]
    pub read: Option<Read>,
}

/// A piece that was read at sight, kept as it was.
#[derive(Clone, PartialEq, Eq, Debug, Default, Serialize, Deserialize)]
pub(crate) struct Read {
    /// Its title.
    pub title: String,
    /// What it is, in a line.
    pub said: String,
    /// The page, as MusicXML.
    pub page: String,
}

/// How a turn went, to be written down.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub(crate) struct Written {
    /// In words.
    pub said: String,
    /// Which visits it was.
    pub visits: Vec<NewVisit>,
    /// What was read at sight.
    pub read: Option<Read>,
}

impl Over {
    /// Its lines.
    pub fn visits(&self) -> impl Iterator<Item = VisitId> + '_ {
        self.visits.iter().copied().map(VisitId)
    }
}

/// One hand writes at a time: what two windows tick at once is all kept.
#[derive(Default)]
pub(crate) struct Sittings {
    writing: Mutex<()>,
}

/// What is done of a day.
///
/// # Errors
/// If the store refuses.
pub(crate) fn of(app: &App, player: PlayerId, on: Date) -> Result<Done, AppError> {
    let kept = app.store.setting(&setting(player, on))?;
    Ok(kept
        .and_then(|text| serde_json::from_str(&text).ok())
        .unwrap_or_default())
}

/// Changes what is done of a day, with nobody else writing.
///
/// # Errors
/// What `change` says, or if the store refuses.
pub(crate) fn change<T>(
    app: &App,
    player: PlayerId,
    on: Date,
    change: impl FnOnce(&mut Done) -> Result<T, AppError>,
) -> Result<T, AppError> {
    let _writing = hold(app);
    let mut done = of(app, player, on)?;
    let value = change(&mut done)?;
    app.store.set_setting(&setting(player, on), &text(&done)?)?;
    Ok(value)
}

/// Writes a turn down, with its visits in the log: both or neither. Said twice (a page open in two windows) it is written down once.
/// `went` says from the ticked rungs what is said of it and which visits it was.
///
/// # Errors
/// What `went` says, or if the store refuses.
pub(crate) fn write_down(
    app: &App,
    player: PlayerId,
    on: Date,
    key: &str,
    went: impl FnOnce(&BTreeSet<usize>) -> Result<Written, AppError>,
) -> Result<String, AppError> {
    let _writing = hold(app);
    let mut done = of(app, player, on)?;
    if let Some(over) = done.over.get(key) {
        return Ok(over.said.clone());
    }
    let ticked = done.ticked.get(key).cloned().unwrap_or_default();
    let Written { said, visits, read } = went(&ticked)?;
    app.store.log_sitting(&visits, &setting(player, on), |rows| {
        let over = Over {
            said: said.clone(),
            visits: rows.iter().map(|row| row.id.0).collect(),
            read,
        };
        done.over.insert(key.to_owned(), over);
        Ok(serde_json::to_string(&done)?)
    })?;
    Ok(said)
}

/// Strikes out what was written down of a turn, with its visits: both or neither. Says whether there was anything.
///
/// # Errors
/// If the store refuses.
pub(crate) fn strike(app: &App, player: PlayerId, on: Date, key: &str) -> Result<bool, AppError> {
    let _writing = hold(app);
    let mut done = of(app, player, on)?;
    let Some(over) = done.over.remove(key) else {
        return Ok(false);
    };
    let visits: Vec<VisitId> = over.visits().collect();
    app.store
        .strike_sitting(&visits, &setting(player, on), &text(&done)?)?;
    Ok(true)
}

fn hold(app: &App) -> MutexGuard<'_, ()> {
    app.sittings
        .writing
        .lock()
        .unwrap_or_else(PoisonError::into_inner)
}

fn text(done: &Done) -> Result<String, AppError> {
    serde_json::to_string(done).map_err(|error| AppError::Asked(error.to_string()))
}

/// What a player read at sight, the last first: the day, the turn's key, the piece.
///
/// # Errors
/// If the store refuses.
pub(crate) fn read_at_sight(app: &App, player: PlayerId) -> Result<Vec<(Date, String, Read)>, AppError> {
    let start = format!("sitting.{player}.");
    let mut all: Vec<(Date, String, Read)> = Vec::new();
    for (name, value) in app.store.settings()? {
        let Some(on) = name.strip_prefix(&start).and_then(crate::days::read) else {
            continue;
        };
        let done: Done = serde_json::from_str(&value).unwrap_or_default();
        let read = done
            .over
            .into_iter()
            .filter_map(|(key, over)| Some((key, over.read?)));
        all.extend(read.map(|(key, read)| (on, key, read)));
    }
    all.sort_by(|one, other| other.0.cmp(&one.0).then_with(|| one.1.cmp(&other.1)));
    Ok(all)
}

fn setting(player: PlayerId, on: Date) -> String {
    format!("sitting.{player}.{on}")
}

/// A turn's name among all programs of a day.
pub(crate) fn key(program: &str, turn: &str) -> String {
    format!("{program}/{turn}")
}
