//! What was made of a piece already? A part engraved, pencilled and surveyed for somebody, kept for the next look.

use crate::error::AppError;
use crate::shelf::Item;
use crate::state::App;
use crate::workshop::Urgency;
use desk::{Asked, Copy, CopyAsked, Opened, PlayerAsked, Printer};
use std::collections::VecDeque;
use std::sync::{Arc, Mutex, PoisonError};

/// For whom a part is read, and which.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub(crate) struct Choices {
    /// The part, by its number or name; `None` leaves the choice to the desk.
    pub part: Option<String>,
    /// The player's level, in words.
    pub level: Option<String>,
}

/// A part, ready to be shown.
#[derive(Debug)]
pub(crate) struct Prepared {
    /// The piece's id.
    pub id: String,
    /// What it was made for.
    pub choices: Choices,
    /// The file as read.
    pub opened: Opened,
    /// The part, engraved, pencilled, surveyed.
    pub copy: Copy,
    /// What was found, in words.
    pub sheet: sheet::Sheet,
}

/// The last parts that were made.
#[derive(Default)]
pub(crate) struct Kept {
    parts: Mutex<VecDeque<Arc<Prepared>>>,
}

/// Parts kept: a folder's worth.
const MOST: usize = 64;

impl Kept {
    /// A part that was made already.
    pub fn get(&self, id: &str, choices: &Choices) -> Option<Arc<Prepared>> {
        let mut parts = self.parts.lock().unwrap_or_else(PoisonError::into_inner);
        let at = parts
            .iter()
            .position(|part| part.id == id && part.choices == *choices)?;
        let found = parts.remove(at)?;
        parts.push_back(Arc::clone(&found));
        Some(found)
    }

    fn put(&self, part: &Arc<Prepared>) {
        let mut parts = self.parts.lock().unwrap_or_else(PoisonError::into_inner);
        parts.retain(|known| known.id != part.id || known.choices != part.choices);
        parts.push_back(Arc::clone(part));
        while parts.len() > MOST {
            parts.pop_front();
        }
    }
}

impl Choices {
    /// The desk's words for it.
    pub fn asked(&self) -> Asked {
        Asked {
            part: self.part.clone(),
            player: PlayerAsked {
                level: self.level.clone(),
                ..PlayerAsked::default()
            },
            ..Asked::default()
        }
    }
}

/// A part, from what is kept or made now.
///
/// # Errors
/// If there is no such piece or part, it can't be read, or the press fails.
pub(crate) async fn prepared(
    app: &Arc<App>,
    id: &str,
    choices: Choices,
    urgency: Urgency,
) -> Result<Arc<Prepared>, AppError> {
    if let Some(found) = app.kept.get(id, &choices) {
        return Ok(found);
    }
    let item = app.shelf.item(id)?;
    app.on_press(urgency, move |app, printer| {
        // Somebody else may have asked for the same meanwhile.
        if let Some(found) = app.kept.get(&item.id, &choices) {
            return Ok(found);
        }
        let part = Arc::new(make(&item, choices, printer)?);
        app.kept.put(&part);
        Ok(part)
    })
    .await
}

fn make(item: &Item, choices: Choices, printer: &mut Printer) -> Result<Prepared, AppError> {
    let opened = item.open()?;
    let asked = CopyAsked {
        asked: choices.asked(),
        ..CopyAsked::default()
    };
    let copy = desk::copy(&opened, &asked, printer)?;
    let alone = Opened {
        path: opened.path.clone(),
        tune: opened.tune.clone(),
        piece: copy.piece.clone(),
        findings: Vec::new(),
    };
    let sheet = desk::survey_sheet(&alone, &copy.shown);
    Ok(Prepared {
        id: item.id.clone(),
        choices,
        opened,
        copy,
        sheet,
    })
}
