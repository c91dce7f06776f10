//! Are two pieces the same page, but for what one of the standards can't say?

use super::table::Excuse;
use notation::{ArticulationKind, BarGroupKind, EndingKind, EventKind, Head, Piece, SpanKind};
use std::collections::BTreeSet;

/// Takes out of a piece what may differ.
type Forget = fn(&mut Piece);

/// What may be excused, by name.
const FORGET: &[(&str, Forget)] = &[
    ("sides", sides),
    ("sound hints", |piece| piece.sound_hints.clear()),
    ("staff of spans", |piece| {
        for part in &mut piece.parts {
            part.spans.iter_mut().for_each(|span| span.staff = None);
        }
    }),
    ("names of voices", |piece| {
        for part in &mut piece.parts {
            for (index, voice) in part.voices.iter_mut().enumerate() {
                *voice = (index + 1).to_string();
            }
        }
    }),
    ("shape of breath marks", |piece| {
        for event in piece.parts.iter_mut().flat_map(|part| &mut part.events) {
            for mark in &mut event.articulations {
                if let ArticulationKind::BreathMark(shape) = &mut mark.kind {
                    shape.clear();
                }
            }
        }
    }),
    ("credits", |piece| piece.credits = notation::Credits::default()),
    ("order of sections", |piece| {
        piece.section_orders = notation::SectionOrders::default();
    }),
    ("bar lines", |piece| piece.barlines.clear()),
    ("directions", |piece| {
        piece.parts.iter_mut().for_each(|part| part.directions.clear());
    }),
    ("uncounted bars", |piece| {
        piece.bars.iter_mut().for_each(|bar| bar.implicit = false);
    }),
    ("how an ending closes", |piece| {
        for ending in piece.barlines.iter_mut().filter_map(|line| line.ending.as_mut()) {
            if ending.kind == EndingKind::Discontinue {
                ending.kind = EndingKind::Stop;
            }
        }
    }),
    ("multi-bar rest signs", |piece| {
        for part in &mut piece.parts {
            part.bar_groups
                .retain(|group| group.kind != BarGroupKind::MultiRest);
        }
    }),
    ("how an ottava ends", ottava_ends),
    ("courtesy marks", |piece| {
        for sign in heads(piece).filter_map(|head| head.accidental.as_mut()) {
            sign.cautionary = false;
        }
    }),
    ("value of whole-bar rests", |piece| {
        for event in piece.parts.iter_mut().flat_map(|part| &mut part.events) {
            if event.kind == (EventKind::Rest { whole_bar: true }) {
                event.written = None;
            }
        }
    }),
];

fn heads(piece: &mut Piece) -> impl Iterator<Item = &mut Head> {
    let events = piece.parts.iter_mut().flat_map(|part| &mut part.events);
    events.flat_map(|event| match &mut event.kind {
        EventKind::Chord(heads) => heads.as_mut_slice(),
        _ => &mut [],
    })
}

/// An ottava that ends at a note ends after it.
fn ottava_ends(piece: &mut Piece) {
    for part in &mut piece.parts {
        for span in &mut part.spans {
            let Some(end) = span
                .end
                .as_mut()
                .filter(|_| matches!(span.kind, SpanKind::Ottava { .. }))
            else {
                continue;
            };
            let last = part.events.iter().find(|event| Some(event.id) == end.element);
            if let Some(last) = last {
                end.place.offset = last.end_offset();
                end.element = None;
            }
        }
    }
}

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
        }
    }
    for head in heads(piece) {
        head.technical.iter_mut().for_each(|t| t.side = None);
    }
}
