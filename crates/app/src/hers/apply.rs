//! How do her marks and choices get onto the part? From what is kept to what the desk is asked for.

use crate::error::AppError;
use crate::hers::decided::decided;
use crate::state::App;
use desk::{CopyAsked, OurMark};
use notation::{Anchor, Pencil, PencilMark, PencilSign, Piece, Place};
use store::{Bars, ChoiceRow, Hold, MarkAct, MarkRow, PieceId, PlayerId};
use survey::metre::MetreAnswer;
use survey::rhythm::{CountAt, CountingSystem, count_words};
use survey::{Options, Question};

/// What she has pencilled and chosen in a piece.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub(crate) struct Hers {
    /// Her marks, in the order of the page.
    pub marks: Vec<MarkRow>,
    /// Her choices.
    pub choices: Vec<ChoiceRow>,
    /// Whether something can be undone, and done again.
    pub steps: (bool, bool),
}

/// What is kept of hers.
///
/// # Errors
/// If what is kept can't be reached.
pub(crate) fn of(app: &App, piece: PieceId, player: Option<PlayerId>) -> Result<Hers, AppError> {
    let steps = app.store.steps(piece)?;
    Ok(Hers {
        marks: app.store.marks(piece, player)?,
        choices: app.store.choices(piece, player)?,
        steps: (
            steps.iter().any(|step| step.state == "done"),
            steps.iter().any(|step| step.state == "undone"),
        ),
    })
}

impl Hers {
    /// Those of her marks that are drawn, in the order in which they follow ours on the copy.
    pub fn drawn(&self) -> impl Iterator<Item = &MarkRow> {
        let is_drawn = |row: &&MarkRow| row.placed && matches!(row.act, MarkAct::Added | MarkAct::Changed);
        self.marks.iter().filter(is_drawn)
    }

    /// Asks the desk for them; `piece` is the part alone.
    pub fn ask(&self, piece: &Piece, asked: &mut CopyAsked) {
        if self.marks.is_empty() && self.choices.is_empty() {
            return;
        }
        let bars = Bars::of(piece, 0);
        let metre = self.needs_beats().then(|| metre(piece)).flatten();
        for row in self.marks.iter().filter(|row| row.placed) {
            let ours = row.ours.as_ref().map(|ours| OurMark {
                matter: ours.matter.clone(),
                from: ours.from.place(),
                to: ours.to.as_ref().map(Hold::place),
            });
            match row.act {
                MarkAct::Confirmed => asked.confirmed.extend(ours),
                MarkAct::Erased => asked.erased.extend(ours),
                MarkAct::Changed => asked.erased.extend(ours),
                MarkAct::Added => {}
            }
        }
        asked
            .added
            .extend(self.drawn().map(|row| mark(row, &bars, metre.as_ref())));
        decided(&self.choices, piece).put(&mut asked.asked);
    }

    fn needs_beats(&self) -> bool {
        let counted = [PencilSign::BeatStrokes.name(), PencilSign::Counts.name()];
        self.marks.iter().any(|row| counted.contains(&row.sign.as_str()))
    }
}

pub(super) fn metre(piece: &Piece) -> Option<MetreAnswer> {
    survey::survey(piece, 0, &[Question::Metre], &Options::default())?.metre
}

/// A sign by its name; what is not known any more stands as words.
pub(super) fn sign(name: &str) -> PencilSign {
    let known = PencilSign::ALL.into_iter().find(|sign| sign.name() == name);
    known.unwrap_or(PencilSign::Words)
}

fn mark(row: &MarkRow, bars: &Bars, metre: Option<&MetreAnswer>) -> PencilMark {
    let anchor = |hold: &Hold| {
        bars.find(hold).map_or(
            Anchor {
                place: hold.place(),
                element: None,
            },
            |found| found.anchor,
        )
    };
    let sign = sign(&row.sign);
    let reason = if row.note.is_empty() {
        "Pencilled by the teacher.".to_owned()
    } else {
        row.note.clone()
    };
    let mut mark = PencilMark::new(sign, anchor(&row.from), reason);
    mark.to = row.to.as_ref().map(anchor);
    mark.text.clone_from(&row.text);
    "hers".clone_into(&mut mark.question);
    mark.pencil = match row.pencil.as_str() {
        "first" => Pencil::First,
        "second" => Pencil::Second,
        _ => Pencil::Graphite,
    };
    mark.worth = 1.0;
    mark.kept = true;
    if let Some(metre) = metre {
        mark.at = at(&mark, metre);
    }
    mark
}

/// What is written at places of its own: a stroke over each beat, the words of a count.
fn at(mark: &PencilMark, metre: &MetreAnswer) -> Vec<(Place, String)> {
    let bars = mark.from.place.bar.0..=mark.end().place.bar.0;
    bars.map(notation::BarIndex)
        .flat_map(|bar| match mark.sign {
            PencilSign::BeatStrokes => {
                let grid = metre.grid(bar);
                let beats = grid.map_or(&[][..], |grid| grid.beats());
                let offset =
                    |beat: &survey::metre::Beat| grid.map(|grid| grid.offset(beat.start)).unwrap_or_default();
                let places = beats.iter().map(offset).filter(|offset| !offset.is_negative());
                places
                    .map(|offset| (Place { bar, offset }, String::new()))
                    .collect()
            }
            PencilSign::Counts => {
                let words = count_words(metre, bar, CountingSystem::default(), CountAt::Tempo);
                let word = |word: survey::rhythm::CountWord| {
                    (
                        Place {
                            bar,
                            offset: word.offset,
                        },
                        word.text,
                    )
                };
                words.into_iter().map(word).collect::<Vec<_>>()
            }
            _ => Vec::new(),
        })
        .collect()
}
