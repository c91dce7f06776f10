//! Are two pieces the same page, but for what one of the standards can't say?

use super::table::Excuse;
use notation::{EventKind, Piece};
use std::collections::BTreeSet;

/// Takes out of a piece what may differ.
type Forget = fn(&mut Piece);

/// What may be excused, by name.
const FORGET: &[(&str, Forget)] = &[
    ("sides", sides),
    ("sound hints", |piece| piece.sound_hints.clear()),
    ("staff of directions and spans", |piece| {
        for part in &mut piece.parts {
            part.directions.iter_mut().for_each(|d| d.staff = None);
            part.spans.iter_mut().for_each(|s| s.staff = None);
        }
    }),
    ("voice of directions", |piece| {
        for part in &mut piece.parts {
            part.directions.iter_mut().for_each(|d| d.voice = None);
        }
    }),
    ("names of voices", |piece| {
        for part in &mut piece.parts {
            for (index, voice) in part.voices.iter_mut().enumerate() {
                *voice = (index + 1).to_string();
            }
        }
    }),
];

/// The first difference once every excuse has been taken; excuses that are needed are noted by line.
pub fn difference(
    here: &Piece,
    there: &Piece,
    excuses: &[&Excuse],
    needed: &mut BTreeSet<usize>,
) -> Option<String> {
    let without = |left_out: Option<usize>| {
        let (mut a, mut b) = (here.clone(), there.clone());
        for excuse in excuses.iter().filter(|excuse| Some(excuse.line) != left_out) {
            let name = excuse.field.trim_start_matches("page: ");
            let (_, forget) = FORGET
                .iter()
                .find(|(known, _)| *known == name)
                .unwrap_or_else(|| panic!("line {}: no excuse is called {name}", excuse.line));
            forget(&mut a);
            forget(&mut b);
        }
        a.same_page(&b).err().map(|difference| difference.to_string())
    };
    let found = without(None);
    if found.is_none() {
        for excuse in excuses {
            if without(Some(excuse.line)).is_some() {
                needed.insert(excuse.line);
            }
        }
    }
    found
}

fn sides(piece: &mut Piece) {
    for part in &mut piece.parts {
        part.directions.iter_mut().for_each(|d| d.side = None);
        part.spans.iter_mut().for_each(|s| s.side = None);
        for event in &mut part.events {
            event.articulations.iter_mut().for_each(|a| a.side = None);
            event.ornaments.iter_mut().for_each(|o| o.side = None);
            event.technical.iter_mut().for_each(|t| t.side = None);
            if let EventKind::Chord(heads) = &mut event.kind {
                for head in heads {
                    head.technical.iter_mut().for_each(|t| t.side = None);
                }
            }
        }
    }
}
