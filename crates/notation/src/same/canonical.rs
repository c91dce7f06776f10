//! How does a piece look when nothing depends on ids and on chance orders? Sorted by place and content, ids taken out.

use crate::event::{Event, EventKind};
use crate::id::{Id, IdKind};
use crate::piece::{Part, Piece};
use crate::place::{Anchor, Place};
use crate::span::Span;
use std::collections::BTreeMap;
use std::fmt::Debug;

/// A copy in canonical order. Ids are blank but in anchors, where they number the events and heads in that order.
pub(super) fn of(piece: &Piece) -> Piece {
    let mut bars = piece.bars.clone();
    for bar in &mut bars {
        bar.id = blank(IdKind::Bar);
    }
    let mut barlines = piece.barlines.clone();
    for line in &mut barlines {
        line.id = blank(IdKind::Barline);
    }
    sort(&mut barlines, |line| (line.place, line.side, line.part));
    let mut sound_hints = piece.sound_hints.clone();
    sort(&mut sound_hints, |hint| (hint.place, hint.part));
    Piece {
        credits: piece.credits.clone(),
        bars,
        parts: piece.parts.iter().map(part).collect(),
        barlines,
        sound_hints,
        section_orders: piece.section_orders.clone(),
        concert_pitch: piece.concert_pitch,
        ..Piece::default()
    }
}

const fn blank(kind: IdKind) -> Id {
    Id::numbered(kind, 0)
}

/// Sorts by a key, and what has the same key by its content.
fn sort<T: Debug, K: Ord>(items: &mut [T], key: impl Fn(&T) -> K) {
    items.sort_by_key(&key);
    for run in items.chunk_by_mut(|a, b| key(a) == key(b)) {
        if run.len() > 1 {
            run.sort_by_cached_key(|item| format!("{item:?}"));
        }
    }
}

/// An event without its ids, and the ids it had: its own and those of its heads.
struct Bare {
    event: Event,
    ids: Vec<Id>,
}

impl Debug for Bare {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        self.event.fmt(f)
    }
}

fn bare(event: &Event, voices: &[u16]) -> Bare {
    let mut event = event.clone();
    let mut ids = vec![event.id];
    event.id = blank(IdKind::Event);
    event.voice = voices.get(usize::from(event.voice)).copied().unwrap_or(u16::MAX);
    if let EventKind::Chord(heads) = &mut event.kind {
        for head in heads {
            ids.push(head.id);
            head.id = blank(IdKind::Head);
        }
    }
    Bare { event, ids }
}

fn order(event: &Event) -> (Place, u8, u16, u16) {
    match event.grace {
        Some(grace) if !grace.after => (event.place, 0, grace.order, event.voice),
        None => (event.place, 1, 0, event.voice),
        Some(grace) => (event.place, 2, grace.order, event.voice),
    }
}

fn part(part: &Part) -> Part {
    let (voices, names) = voices(part);
    let mut events: Vec<Bare> = part.events.iter().map(|event| bare(event, &voices)).collect();
    sort(&mut events, |bare| order(&bare.event));
    let mut numbers: BTreeMap<Id, u32> = BTreeMap::new();
    for id in events.iter().flat_map(|bare| &bare.ids) {
        let next = u32::try_from(numbers.len()).unwrap_or(u32::MAX);
        numbers.insert(*id, next.saturating_add(1));
    }
    let mut spans: Vec<Span> = part.spans.iter().map(|span| numbered(span, &numbers)).collect();
    sort(&mut spans, |span| {
        span.start.or(span.end).map(|anchor| anchor.place)
    });
    let mut directions = part.directions.clone();
    for direction in &mut directions {
        direction.id = blank(IdKind::Direction);
    }
    sort(&mut directions, |direction| direction.place);
    let mut bar_groups = part.bar_groups.clone();
    for group in &mut bar_groups {
        group.id = blank(IdKind::Span);
    }
    sort(&mut bar_groups, |group| group.start);
    let mut staff_lines = part.staff_lines.clone();
    staff_lines.sort_unstable();
    let mut copy = Part {
        events: events.into_iter().map(|bare| bare.event).collect(),
        voices: names,
        bar_ranges: Vec::new(),
        spans,
        directions,
        bar_groups,
        staff_lines,
        id: blank(IdKind::Part),
        name: part.name.clone(),
        abbreviation: part.abbreviation.clone(),
        instrument_name: part.instrument_name.clone(),
        instrument_sound: part.instrument_sound.clone(),
        midi_program: part.midi_program,
        staves: part.staves,
        clefs: part.clefs.clone(),
        keys: part.keys.clone(),
        metres: part.metres.clone(),
        transpositions: part.transpositions.clone(),
        for_player: part.for_player,
    };
    let change = blank(IdKind::Change);
    copy.clefs.iter_mut().for_each(|c| c.id = change);
    copy.keys.iter_mut().for_each(|c| c.id = change);
    copy.metres.iter_mut().for_each(|c| c.id = change);
    copy.transpositions.iter_mut().for_each(|c| c.id = change);
    copy
}

/// For each voice its place among the names in use, sorted; and these names.
fn voices(part: &Part) -> (Vec<u16>, Vec<String>) {
    let mut used = vec![false; part.voices.len()];
    for event in &part.events {
        used.get_mut(usize::from(event.voice))
            .into_iter()
            .for_each(|used| *used = true);
    }
    let mut names: Vec<String> = part
        .voices
        .iter()
        .zip(used)
        .filter(|(_, used)| *used)
        .map(|(name, _)| name.clone())
        .collect();
    names.sort_unstable();
    names.dedup();
    let at = |name: &String| {
        names
            .binary_search(name)
            .ok()
            .and_then(|at| u16::try_from(at).ok())
    };
    let numbers = part
        .voices
        .iter()
        .map(|name| at(name).unwrap_or(u16::MAX))
        .collect();
    (numbers, names)
}

fn numbered(span: &Span, numbers: &BTreeMap<Id, u32>) -> Span {
    let number = |anchor: Anchor| Anchor {
        element: anchor
            .element
            .map(|id| Id::numbered(id.kind(), numbers.get(&id).copied().unwrap_or(u32::MAX))),
        ..anchor
    };
    Span {
        id: blank(IdKind::Span),
        start: span.start.map(number),
        end: span.end.map(number),
        ..span.clone()
    }
}
