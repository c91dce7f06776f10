//! How is a part written for the engraver? As our own MEI, with what to ask beside it.

use crate::layout::Sheet;
use crate::look::{Edition, Look};
use crate::phrases;
use crate::strip;
use crate::words;
use job::Breaks;
use notation::{BarIndex, Finding, Id, Piece};
use std::collections::BTreeMap;

/// A part ready for the engraver.
#[derive(Clone, PartialEq, Debug)]
pub struct Printable {
    /// The music as MEI.
    pub mei: String,
    /// How to engrave it.
    pub ask: job::AskEngrave,
    /// What could not be written, and what to do.
    pub findings: Vec<Finding>,
    /// The names that drawn things carry where they differ from ours: a single head is drawn under its event's.
    pub drawn_as: BTreeMap<Id, Id>,
    /// The bar of the piece that the first bar of the MEI is (0 except for excerpts).
    pub first_bar: BarIndex,
    /// The bar of the piece that the last bar of the MEI is.
    pub last_bar: BarIndex,
}

/// Writes the piece's one part (its first, if there are several) for the engraver.
#[must_use]
pub fn to_job(piece: &Piece, look: &Look) -> Printable {
    if look.edition == Edition::Strip {
        strip::to_job(piece, look)
    } else {
        job(piece, look, Breaks::Flow)
    }
}

/// The same, with lines that end as said: wherever they are full, or before the bars of the piece that are marked so.
pub(crate) fn job(piece: &Piece, look: &Look, breaks: Breaks) -> Printable {
    let part = piece.parts.first();
    let repeated = part.map(words::repeated).unwrap_or_default();
    let words = part
        .map(|part| words::settings(part, &repeated))
        .unwrap_or_default();
    let merged = words
        .iter()
        .filter_map(|(id, setting)| Some((setting.with?, *id)))
        .collect::<Vec<_>>();
    // What is said once more is drawn as what is said first, which may stand in another's line itself.
    let again = repeated.iter().map(|(id, first)| {
        let line = merged.iter().find(|(beside, _)| beside == first);
        (*id, line.map_or(*first, |(_, words)| *words))
    });
    let options = formats::MeiOptions {
        part: Some(0),
        bar_signs: true,
        engraving: Some(formats::Engraving {
            words,
            hidden: repeated.keys().copied().collect(),
            spaces: phrases::spaces(piece, look, breaks == Breaks::AsMarked),
        }),
    };
    let (mei, findings) = formats::write_mei(piece, &options);
    Printable {
        mei,
        ask: job::AskEngrave {
            width: Sheet::of(look).music_width(),
            breaks,
            spacing: 1.0,
            weights: weights(look.edition),
            ink: look.hand,
        },
        findings,
        drawn_as: drawn_as(piece)
            .chain(merged.iter().copied())
            .chain(again)
            .collect(),
        first_bar: BarIndex(0),
        last_bar: BarIndex::from_usize(piece.bars.len().saturating_sub(1)),
    }
}

/// How thick lines are. Large print has thicker ones, and its small signs are enlarged more than the rest: as large as the
/// engraver can make them. Source: common practice of large-print music (staff lines, stems and signs strengthened with size).
fn weights(edition: Edition) -> job::Weights {
    match edition {
        Edition::LargePrint => job::Weights {
            staff: 1.4,
            stem: 1.5,
            barline: 1.4,
            ledger: 1.6,
            slur: 1.4,
            small_signs: 4.0 / 3.0,
        },
        _ => job::Weights::default(),
    }
}

/// Heads that are the only one of their event.
fn drawn_as(piece: &Piece) -> impl Iterator<Item = (Id, Id)> {
    let alone = |event: &notation::Event| match event.heads() {
        [head] => Some((head.id, event.id)),
        _ => None,
    };
    piece
        .parts
        .iter()
        .flat_map(move |part| part.events.iter().filter_map(alone))
}
