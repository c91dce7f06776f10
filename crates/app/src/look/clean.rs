//! Which part does she look at? The same engraving without our pencil, and without a word that gives an answer away.

use crate::errata;
use crate::error::AppError;
use crate::hers::{self, Hers};
use crate::pieces;
use crate::prepared::{Choices, Prepared};
use crate::recent::Recent;
use crate::state::App;
use crate::workshop::Urgency;
use desk::{Asked, CopyAsked, Edition, Opened, PlayerAsked, Printer};
use std::ops::Deref;
use std::sync::Arc;
use store::{ChoiceRow, PieceRow, PlayerId};

/// What a clean part was made from.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) struct Key {
    row: PieceRow,
    player: Option<i64>,
    /// The player's own file.
    file: Option<String>,
    /// What the teacher decided: the answers go by it.
    choices: Vec<ChoiceRow>,
    /// What calls correct in it.
    errata: Vec<errata::OfCall>,
}

/// A clean part, and who it is read for.
pub(crate) struct Clean {
    /// The part: no pencil, and nothing said of its bars.
    pub part: Prepared,
    /// Her name; nobody in particular has none.
    pub player_name: Option<String>,
}

impl Deref for Clean {
    type Target = Prepared;

    fn deref(&self) -> &Prepared {
        &self.part
    }
}

/// The last clean parts.
pub(crate) type Copies = Recent<Key, Clean, 16>;

/// A clean part for a player, or for nobody in particular.
///
/// # Errors
/// If there is no such piece or player, it can't be read, or the press fails.
pub(super) async fn clean(
    app: &Arc<App>,
    id: i64,
    player: Option<i64>,
    urgency: Urgency,
) -> Result<Arc<Clean>, AppError> {
    let (key, name) = app.aside(move |app| key(app, id, player)).await?;
    if let Some(found) = app.looks.get(&key) {
        return Ok(found);
    }
    app.on_press(urgency, move |app, printer| {
        if let Some(found) = app.looks.get(&key) {
            return Ok(found);
        }
        let part = Arc::new(make(app, &key, name, printer)?);
        app.looks.put(key, Arc::clone(&part));
        Ok(part)
    })
    .await
}

fn key(app: &App, id: i64, player: Option<i64>) -> Result<(Key, Option<String>), AppError> {
    let row = pieces::row(app, id)?;
    let found = player.map(|id| app.store.player(PlayerId(id))).transpose()?;
    let name = found.as_ref().map(|player| player.name.clone());
    let file = found.map(|player| player.file);
    let choices = app.store.choices(row.id, player.map(PlayerId))?;
    let key = Key {
        errata: errata::of(app, &row)?,
        row,
        player,
        file,
        choices,
    };
    Ok((key, name))
}

fn make(app: &App, key: &Key, player_name: Option<String>, printer: &mut Printer) -> Result<Clean, AppError> {
    // What she looks at is what she will play: errata are in it, unmarked.
    let (opened, part) = errata::open_corrected(app, &key.row)?;
    let mut asked = Asked {
        part,
        player: PlayerAsked {
            text: key.file.clone(),
            ..PlayerAsked::default()
        },
        ..Asked::default()
    };
    hers::in_piece(app, &key.row, key.player.map(PlayerId), &opened)?.put(&mut asked);
    let wanted = CopyAsked {
        asked: asked.clone(),
        edition: Edition::Clean,
        ..CopyAsked::default()
    };
    let copy = desk::copy(&opened, &wanted, printer)?;
    let alone = Opened {
        path: opened.path.clone(),
        tune: opened.tune.clone(),
        piece: copy.piece.clone(),
        findings: Vec::new(),
    };
    let mut sheet = desk::survey_sheet(&alone, &copy.shown);
    // What a bar asks is read aloud where it is known; here it is not to be known.
    sheet.bars.clear();
    let part = Prepared {
        row: key.row.clone(),
        choices: Choices {
            player: key.player,
            ..Choices::default()
        },
        asked,
        opened,
        copy,
        sheet,
        hers: Hers::default(),
        ours: 0,
        calls: Vec::new(),
    };
    Ok(Clean { part, player_name })
}
