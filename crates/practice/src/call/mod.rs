//! What does an audition ask for? Pieces, cuts, tempi, scales, date, errata.
//!
//! A [`Call`] is the list as it was sent out. [`words`] reads how lists say where a cut begins and ends, [`find`] finds it in a
//! piece, [`excerpt`] makes the cut a piece of its own, with nothing after its end, and [`errata`] corrects what the list corrects.

pub mod errata;
pub mod excerpt;
pub mod find;
pub mod tempo;
#[cfg(test)]
mod tests;
pub mod words;

use chrono::NaiveDate;
use errata::Erratum;
use tempo::Asked;
use words::Range;

/// An audition's requirements, one record.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Call {
    /// What it is for.
    pub name: String,
    /// The day.
    pub date: Option<NaiveDate>,
    /// What else the list says.
    pub notes: String,
    /// The pieces, in the list's order.
    pub pieces: Vec<CallPiece>,
    /// Scales and other exercises, as the list says them.
    pub scales: Vec<CallScale>,
    /// Sight-reading is asked for, and what is said about it.
    pub sight_reading: Option<String>,
    /// What was changed since it was first sent out, beside errata.
    pub changes: Vec<CallChange>,
}

/// A piece of the list.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct CallPiece {
    /// Its file, as the list's file names it.
    pub file: String,
    /// The part of a score.
    pub part: Option<String>,
    /// The edition that the list means: bar numbers and letters are that edition's.
    pub edition: String,
    /// To be played from memory.
    pub memorised: bool,
    /// What is to be prepared; empty for all of it.
    pub cuts: Vec<Cut>,
    /// What the list corrects in the edition.
    pub errata: Vec<Erratum>,
}

/// A passage that is asked for.
#[derive(Clone, PartialEq, Debug)]
pub struct Cut {
    /// The list's name for it (`1`, `A`, `opening`).
    pub name: String,
    /// Where it begins and ends, as the list says it, and as it is understood.
    pub range: Range,
    /// The tempo asked for, slowest and fastest; `None` if the list doesn't say.
    pub tempo: Option<Asked>,
    /// What else is said about it.
    pub notes: String,
}

/// A scale or exercise.
#[derive(Clone, PartialEq, Debug)]
pub struct CallScale {
    /// As the list says it.
    pub says: String,
    /// The tempo asked for.
    pub tempo: Option<Asked>,
    /// To be played from memory.
    pub memorised: bool,
}

/// Something that was changed.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct CallChange {
    /// When.
    pub date: NaiveDate,
    /// What, a sentence.
    pub says: String,
}

impl Call {
    /// What was changed on or after a day, oldest first: errata and other changes, each with its piece's place in the list.
    #[must_use]
    pub fn changed_since(&self, day: NaiveDate) -> Vec<(NaiveDate, Option<usize>, String)> {
        let others = self
            .changes
            .iter()
            .map(|change| (change.date, None, change.says.clone()));
        let errata = self.pieces.iter().enumerate().flat_map(|(piece, listed)| {
            let dated = listed
                .errata
                .iter()
                .filter_map(|erratum| Some((erratum.date?, erratum)));
            dated.map(move |(date, erratum)| (date, Some(piece), erratum.in_words()))
        });
        let mut all: Vec<_> = others.chain(errata).filter(|(date, ..)| *date >= day).collect();
        all.sort_by(|a, b| a.0.cmp(&b.0).then(a.1.cmp(&b.1)));
        all
    }

    /// Days from a day to the date; negative when it is over.
    #[must_use]
    pub fn days_left(&self, from: NaiveDate) -> Option<i64> {
        Some(self.date?.signed_duration_since(from).num_days())
    }
}
