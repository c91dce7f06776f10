//! What was made of a piece already? A part engraved, pencilled and surveyed for somebody, kept for the next look.

use crate::errata::{self, OfCall};
use crate::error::AppError;
use crate::hers::{self, Hers};
use crate::pieces;
use crate::recent::Recent;
use crate::state::App;
use crate::workshop::Urgency;
use desk::{Asked, Copy, CopyAsked, DeskError, Opened, PlayerAsked, Printer};
use engrave::Edition;
use std::sync::Arc;
use store::{MarkRow, PieceRow, PlayerId};

/// For whom a part is read, and which.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub(crate) struct Choices {
    /// The part, by its number or name, instead of the piece's own.
    pub part: Option<String>,
    /// The player's level, in words.
    pub level: Option<String>,
    /// A player of the studio.
    pub player: Option<i64>,
    /// Whether it is in large print.
    pub large: bool,
}

/// What a part was made from: if anything of it changes, it is made anew.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) struct Key {
    row: PieceRow,
    choices: Choices,
    /// The player's own file.
    player: Option<String>,
    hers: Hers,
    /// What calls correct in it.
    errata: Vec<OfCall>,
}

/// A part, ready to be shown.
#[derive(Debug)]
pub(crate) struct Prepared {
    /// The piece.
    pub row: PieceRow,
    /// What it was made for.
    pub choices: Choices,
    /// The desk's words for that.
    pub asked: Asked,
    /// The file as read; where a call corrects something, the part alone with that in it.
    pub opened: Opened,
    /// The part, engraved, pencilled, surveyed.
    pub copy: Copy,
    /// What was found, in words.
    pub sheet: sheet::Sheet,
    /// What the teacher has pencilled and chosen.
    pub hers: Hers,
    /// How many of the copy's marks are ours, those of errata among them; hers follow.
    pub ours: usize,
    /// The calls that correct something in it.
    pub calls: Vec<String>,
}

impl Prepared {
    /// Her row of a mark of the copy, by its index; `None` for one of ours.
    pub fn hers_at(&self, index: usize) -> Option<&MarkRow> {
        self.hers.drawn().nth(index.checked_sub(self.ours)?)
    }
}

/// The last parts that were made: a folder's worth.
pub(crate) type Kept = Recent<Key, Prepared, 64>;

/// A part, from what is kept or made now.
///
/// # Errors
/// If there is no such piece, part or player, it can't be read, or the press fails.
pub(crate) async fn prepared(
    app: &Arc<App>,
    id: i64,
    choices: Choices,
    urgency: Urgency,
) -> Result<Arc<Prepared>, AppError> {
    let key = app.aside(move |app| key(app, id, choices)).await?;
    if let Some(found) = app.kept.get(&key) {
        return Ok(found);
    }
    if urgency == Urgency::Awaited && app.workshop.is_busy() {
        let asked = key.clone();
        if let Ok(part) = app.aside(move |app| from_kept(app, asked)).await {
            return Ok(part);
        }
    }
    app.on_press(urgency, move |app, printer| {
        // Somebody else may have asked for the same meanwhile.
        if let Some(found) = app.kept.get(&key) {
            return Ok(found);
        }
        let part = Arc::new(make(app, &key, printer)?);
        app.kept.put(key, Arc::clone(&part));
        Ok(part)
    })
    .await
}

/// A part whose music was engraved before: made without waiting for the press.
///
/// # Errors
/// If it was not, or something else is amiss.
fn from_kept(app: &App, key: Key) -> Result<Arc<Prepared>, AppError> {
    let mut printer = Printer::kept_alone(&app.engraved).map_err(DeskError::Press)?;
    let part = Arc::new(make(app, &key, &mut printer)?);
    app.kept.put(key, Arc::clone(&part));
    Ok(part)
}

fn key(app: &App, id: i64, choices: Choices) -> Result<Key, AppError> {
    let row = pieces::row(app, id)?;
    let player = choices
        .player
        .map(|id| app.store.player(PlayerId(id)))
        .transpose()?;
    let player = player.map(|player| player.file);
    let hers = hers::of(app, row.id, choices.player.map(PlayerId))?;
    let errata = errata::of(app, &row)?;
    Ok(Key {
        errata,
        row,
        choices,
        player,
        hers,
    })
}

fn make(app: &App, key: &Key, printer: &mut Printer) -> Result<Prepared, AppError> {
    let mut opened = pieces::open(app, &key.row)?;
    let mut wanted = CopyAsked {
        asked: asked(key),
        ..edition(key.choices.large)
    };
    let corrected = errata::corrected(&opened, wanted.asked.part.as_deref(), &key.errata)?;
    let mut not_applied = Vec::new();
    if let Some(corrected) = corrected {
        opened = corrected.opened;
        wanted.asked.part = None;
        wanted.added = corrected.marks;
        not_applied = corrected.findings;
    }
    let errata = wanted.added.len();
    if let Some(alone) = desk::part_of(
        &opened.piece,
        desk::choose_part(&opened, wanted.asked.part.as_deref())?.index,
    ) {
        key.hers.ask(&alone, &mut wanted);
    }
    let asked = wanted.asked.clone();
    let added = wanted.added.len() - errata;
    let mut copy = desk::copy(&opened, &wanted, printer)?;
    copy.findings.extend(not_applied);
    let ours = copy.marks.len().saturating_sub(added);
    let alone = Opened {
        path: opened.path.clone(),
        tune: opened.tune.clone(),
        piece: copy.piece.clone(),
        findings: Vec::new(),
    };
    let sheet = desk::survey_sheet(&alone, &copy.shown);
    Ok(Prepared {
        row: key.row.clone(),
        choices: key.choices.clone(),
        asked,
        opened,
        copy,
        sheet,
        hers: key.hers.clone(),
        ours,
        calls: key.errata.iter().map(|of| of.call.name.clone()).collect(),
    })
}

/// The usual copy, or the one in large print: upright, because a page that lies across is no larger on a screen.
fn edition(large: bool) -> CopyAsked {
    if large {
        CopyAsked {
            edition: Edition::LargePrint,
            landscape: Some(false),
            ..CopyAsked::default()
        }
    } else {
        CopyAsked::default()
    }
}

fn asked(key: &Key) -> Asked {
    Asked {
        part: key.choices.part.clone().or_else(|| key.row.part.clone()),
        player: PlayerAsked {
            text: key.player.clone(),
            level: key.choices.level.clone(),
            ..PlayerAsked::default()
        },
        ..Asked::default()
    }
}
