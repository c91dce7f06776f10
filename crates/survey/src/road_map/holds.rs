//! Where does the music stand still or break? Fermatas, caesuras, breath marks, double bars.

use crate::Context;
use notation::{ArticulationKind, BarSide, Id, Piece, Place};
use performance::road::Unfolding;

/// A fermata.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Hold {
    /// Where it stands.
    pub place: Place,
    /// The note, rest or bar line.
    pub element: Id,
    /// What is held.
    pub on: HeldOn,
    /// The shape as the standard names it; empty for the usual one.
    pub shape: String,
    /// A new section begins right after it.
    pub before_section: bool,
}

/// What a fermata stands over.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
#[expect(missing_docs, reason = "named for what is held")]
pub enum HeldOn {
    Note,
    Rest,
    BarLine,
}

/// A caesura or breath mark.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Break {
    /// The note after which it stands.
    pub place: Place,
    /// That note.
    pub element: Id,
    /// Which.
    pub kind: BreakKind,
    /// The sign's shape as the standard names it; may be empty.
    pub shape: String,
}

/// Which sort of break.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
#[expect(missing_docs, reason = "named for the sign")]
pub enum BreakKind {
    Caesura,
    BreathMark,
}

/// Fermatas of the part, and those over its bar lines, in order of place.
pub(super) fn fermatas(ctx: &Context, unfolding: &Unfolding) -> Vec<Hold> {
    let section_at = |place: Place| {
        let sections = &unfolding.sections;
        let known = sections.binary_search_by_key(&place, |section| section.start);
        known.is_ok() && place > Place::default()
    };
    let after_bar = |place: Place| Place::start_of(place.bar.next());
    let length = |place: Place| {
        ctx.piece
            .bars
            .get(place.bar.get())
            .map(|bar| bar.length)
            .unwrap_or_default()
    };
    let mut holds = Vec::new();
    for event in &ctx.part.events {
        let end = Place {
            offset: event.end_offset(),
            ..event.place
        };
        let end = if end.offset >= length(end) {
            after_bar(end)
        } else {
            end
        };
        for fermata in &event.fermatas {
            holds.push(Hold {
                place: event.place,
                element: event.id,
                on: if event.is_note() {
                    HeldOn::Note
                } else {
                    HeldOn::Rest
                },
                shape: fermata.shape.clone(),
                before_section: section_at(end),
            });
        }
    }
    for line in ctx
        .piece
        .barlines
        .iter()
        .filter(|line| line.part == ctx.part_index)
    {
        let at = match line.side {
            BarSide::Right => after_bar(line.place),
            BarSide::Left => Place::start_of(line.place.bar),
            BarSide::Middle => line.place,
        };
        for fermata in &line.fermatas {
            holds.push(Hold {
                place: line.place,
                element: line.id,
                on: HeldOn::BarLine,
                shape: fermata.shape.clone(),
                before_section: section_at(at),
            });
        }
    }
    holds.sort_by_key(|hold| (hold.place, hold.on));
    holds
}

/// Caesuras and breath marks of the part, in order of place.
pub(super) fn breaks(ctx: &Context) -> Vec<Break> {
    let mut found = Vec::new();
    for event in &ctx.part.events {
        for articulation in &event.articulations {
            let (kind, shape) = match &articulation.kind {
                ArticulationKind::Caesura(shape) => (BreakKind::Caesura, shape),
                ArticulationKind::BreathMark(shape) => (BreakKind::BreathMark, shape),
                _ => continue,
            };
            found.push(Break {
                place: event.place,
                element: event.id,
                kind,
                shape: shape.clone(),
            });
        }
    }
    found
}

/// Double and final bar lines without repeat signs: the place after them, and whether final.
pub(super) fn double_bars(piece: &Piece) -> Vec<(Place, bool)> {
    let mut found: Vec<(Place, bool)> = Vec::new();
    for line in piece.barlines.iter().filter(|line| line.repeat.is_none()) {
        let is_final = match line.style.as_deref() {
            Some("light-light") => false,
            Some("light-heavy" | "heavy-heavy") => true,
            _ => continue,
        };
        let at = match line.side {
            BarSide::Right => Place::start_of(line.place.bar.next()),
            BarSide::Left => Place::start_of(line.place.bar),
            BarSide::Middle => line.place,
        };
        found.push((at, is_final));
    }
    found.sort_unstable();
    found.dedup_by_key(|(at, _)| *at);
    found
}
