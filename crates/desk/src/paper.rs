//! How is what was read from paper put right? What is kept of a reading, the piece with the teacher's edits over it, and the bars of it as a
//! picture to be held against the page.

use crate::DeskError;
use crate::scan::Scanned;
use engrave::{Edition, Look, Picture};
use notation::{BarIndex, Piece};
use pageread::{Doubt, Edit, Mended, Read, System, assemble_mended, mend};
use printer::Printer;
use serde::{Deserialize, Serialize};

/// The form in which a reading is kept.
const VERSION: u32 = 1;

/// A reading as it is kept beside its piece.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct Reading {
    version: u32,
    /// What was seen, system by system.
    pub systems: Vec<System>,
}

/// A reading with what was put right.
#[derive(Clone, Debug)]
pub struct PutRight {
    /// The systems as they are now.
    pub mended: Mended,
    /// The piece, where to look, and where everything stands.
    pub read: Read,
}

impl Scanned {
    /// What is kept of it.
    #[must_use]
    pub fn reading(&self) -> Reading {
        Reading {
            version: VERSION,
            systems: self.seen.clone(),
        }
    }
}

impl Reading {
    /// As text.
    #[must_use]
    pub fn text(&self) -> String {
        serde_json::to_string(self).unwrap_or_default()
    }

    /// From text that was kept; `None` if it is of another form.
    #[must_use]
    pub fn open(text: &str) -> Option<Self> {
        let reading: Self = serde_json::from_str(text).ok()?;
        (reading.version == VERSION).then_some(reading)
    }

    /// The piece with edits over what was read.
    #[must_use]
    pub fn with(&self, edits: &[Edit]) -> PutRight {
        let mended = mend(&self.systems, edits);
        PutRight {
            read: assemble_mended(&mended),
            mended,
        }
    }

    /// Edits that go with one: where a clef or a key signature becomes another, the lines after it that were read the same are
    /// the same sign, until another one stands there. A sign said to be right is what it was taken for, though it was read as another.
    #[must_use]
    pub fn along(&self, now: &PutRight, edit: &Edit) -> Vec<Edit> {
        let mut out = vec![edit.clone()];
        if let Edit::Right {
            at,
            about: Doubt::Sign | Doubt::Metre,
        } = edit
        {
            let taken = now.read.instead.iter().filter(|(sign, _)| sign == at);
            out.extend(taken.map(|(at, change)| Edit::Change {
                at: *at,
                change: *change,
            }));
            return out;
        }
        let Edit::Change { at, change } = edit else {
            return out;
        };
        let pageread::Change::Becomes(new) = change else {
            return out;
        };
        let signs = &now.read.places.signs;
        let Some(old) = signs.iter().find(|sign| sign.at == *at).map(|sign| sign.main) else {
            return out;
        };
        let same_kind = |a: pageread::Main, b: pageread::Main| {
            use pageread::Main::{Clef, Key};
            matches!((a, b), (Clef(_), Clef(_)) | (Key(_), Key(_)))
        };
        if !same_kind(old, *new) {
            return out;
        }
        let after = signs.iter().filter(|sign| sign.at.system > at.system);
        for sign in after.filter(|sign| same_kind(sign.main, old)) {
            if sign.main != old {
                break;
            }
            out.push(Edit::Change {
                at: sign.at,
                change: *change,
            });
        }
        out
    }
}

/// Why a place is to be looked at, in words.
#[must_use]
pub const fn doubt_said(about: Doubt) -> &'static str {
    match about {
        Doubt::Clef => "a clef: every note after it hangs on it",
        Doubt::Key => "a key signature",
        Doubt::Metre => "a metre",
        Doubt::Bar => "a bar that does not add up",
        Doubt::Open => "one end only",
        Doubt::Chosen => "a less likely value, because the bar adds up with it",
        Doubt::Sign => "a doubtful sign",
        Doubt::Beside => "a doubtful sign beside the staff",
        Doubt::Words => "doubtful words",
    }
}

/// A page of a file (counted from 0) as a PNG, of the size in which boxes are given.
///
/// # Errors
/// If the press fails, or the file has no such page.
pub fn page_picture(bytes: &[u8], number: u32, printer: &mut Printer) -> Result<Vec<u8>, DeskError> {
    let ask = job::AskSee {
        page: number,
        picture: true,
        strips: false,
    };
    Ok(printer.see(bytes, ask)?.png.unwrap_or_default())
}

/// Some bars as one line, to be held against the page.
///
/// # Errors
/// If the press fails.
pub fn bars_picture(
    piece: &Piece,
    from: BarIndex,
    to: BarIndex,
    printer: &mut Printer,
) -> Result<Picture, DeskError> {
    let mut look = Look::of(Edition::Clean);
    look.bar_numbers = false;
    let last = BarIndex::from_usize(piece.bars.len().saturating_sub(1));
    let (from, to) = (from.min(last), to.min(last));
    let printable = engrave::excerpt(piece, from, to, &look, None);
    let (engraved, svgs) = printer.engrave(&printable.mei, printable.ask.clone())?;
    Ok(engrave::excerpt_svg(
        piece,
        &look,
        &printable,
        &engraved,
        &svgs,
        &[],
    ))
}
