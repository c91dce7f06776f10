//! Which signs of the page make more notes than are written? Ornaments with their notes, trill lines, tremolo pairs.

use super::units::Unit;
use crate::ornament::{LiveAccidentals, LocalKey, OrnamentNotes, Surroundings, neighbour, realise};
use notation::{Event, Id, KeyRegion, Ornament, OrnamentKind, Part, Pitch, SpanKind};
use std::collections::{BTreeMap, BTreeSet};

/// A tremolo between two notes, seen from one of them.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Pair {
    pub strokes: u8,
    /// This is the first of the two.
    pub first: bool,
    /// The other's event.
    pub partner: usize,
}

#[derive(Debug, Default)]
pub(super) struct Signs {
    /// The event after each in its voice, and the next note that is no grace note; cues left out.
    next: Vec<Option<usize>>,
    next_note: Vec<Option<usize>>,
    around: BTreeMap<usize, Surroundings>,
    lines: BTreeSet<Id>,
    pairs: BTreeMap<usize, Pair>,
}

impl Signs {
    pub fn of(part: &Part, keys: &[KeyRegion]) -> Self {
        let mut signs = Self {
            lines: lines(part),
            ..Self::default()
        };
        signs.follow(part);
        signs.pair_up(part);
        let mut live = LiveAccidentals::default();
        for (index, event) in part
            .events
            .iter()
            .enumerate()
            .filter(|(_, event)| event.is_note())
        {
            if !event.ornaments.is_empty() || signs.lines.contains(&event.id) {
                let bar = event.place.bar;
                let key = keys.iter().find(|region| region.from <= bar && bar <= region.to);
                let around = live.around(part, event, key.map(LocalKey::from));
                signs.around.insert(index, around);
            }
            live.hear(part, event);
        }
        signs
    }

    fn follow(&mut self, part: &Part) {
        let count = part.events.len();
        (self.next, self.next_note) = (vec![None; count], vec![None; count]);
        let mut last: BTreeMap<u16, (usize, Option<usize>)> = BTreeMap::new();
        for (index, event) in part
            .events
            .iter()
            .enumerate()
            .rev()
            .filter(|(_, event)| !event.cue)
        {
            let later = last.get(&event.voice).copied();
            if let Some(slot) = self.next.get_mut(index) {
                *slot = later.map(|(next, _)| next);
            }
            if let Some(slot) = self.next_note.get_mut(index) {
                *slot = later.and_then(|(_, note)| note);
            }
            let note = if event.is_note() && !event.is_grace() {
                Some(index)
            } else {
                later.and_then(|(_, note)| note)
            };
            last.insert(event.voice, (index, note));
        }
    }

    fn pair_up(&mut self, part: &Part) {
        let mut spans: BTreeMap<Id, u8> = BTreeMap::new();
        for span in &part.spans {
            if let SpanKind::TremoloPair { strokes } = span.kind
                && let Some(id) = span.start.and_then(|anchor| anchor.element)
            {
                spans.insert(id, strokes);
            }
        }
        for (index, event) in part
            .events
            .iter()
            .enumerate()
            .filter(|(_, e)| e.is_note() && !e.is_grace())
        {
            if self.pairs.contains_key(&index) {
                continue;
            }
            let sign = event.ornaments.iter().find_map(|sign| match sign.kind {
                OrnamentKind::Tremolo {
                    strokes,
                    between: true,
                } => Some(strokes),
                _ => None,
            });
            let head = |event: &Event| event.heads().iter().find_map(|head| spans.get(&head.id)).copied();
            let Some(strokes) = sign
                .or_else(|| spans.get(&event.id).copied())
                .or_else(|| head(event))
            else {
                continue;
            };
            if let Some(partner) = self.next_note(index) {
                let pair = |first, partner| Pair {
                    strokes,
                    first,
                    partner,
                };
                self.pairs.insert(index, pair(true, partner));
                self.pairs.insert(partner, pair(false, index));
            }
        }
    }

    pub fn next(&self, event: usize) -> Option<usize> {
        self.next.get(event).copied().flatten()
    }

    pub fn next_note(&self, event: usize) -> Option<usize> {
        self.next_note.get(event).copied().flatten()
    }

    pub fn pair(&self, event: usize) -> Option<Pair> {
        self.pairs.get(&event).copied()
    }

    /// The first sign that makes notes over a unit: the part of the tie that carries it, and the sign.
    fn sign(&self, part: &Part, unit: &Unit) -> Option<(usize, Ornament)> {
        unit.parts.iter().enumerate().find_map(|(n, (_, index, _))| {
            let event = part.events.get(*index)?;
            let own = event
                .ornaments
                .iter()
                .find(|sign| makes_notes(&sign.kind))
                .cloned();
            let line = || {
                self.lines.contains(&event.id).then_some(Ornament {
                    kind: OrnamentKind::WavyLine,
                    side: None,
                    accidentals: Vec::new(),
                })
            };
            own.or_else(line).map(|sign| (n, sign))
        })
    }

    /// The trill sign over a unit, if it has one.
    pub fn trill(&self, part: &Part, unit: &Unit) -> Option<Ornament> {
        let (_, sign) = self.sign(part, unit)?;
        matches!(
            sign.kind,
            OrnamentKind::Trill | OrnamentKind::Shake | OrnamentKind::WavyLine
        )
        .then_some(sign)
    }

    /// The upper note of the unit's ornament.
    pub fn upper(&self, part: &Part, unit: &Unit) -> Option<Pitch> {
        let (.., notes) = self.realised(part, unit)?;
        notes.upper.map(|upper| upper.pitch)
    }

    /// The sign over a unit with its notes: the part of the tie that carries it, the sign, the notes.
    pub fn realised(&self, part: &Part, unit: &Unit) -> Option<(usize, Ornament, OrnamentNotes)> {
        let (n, sign) = self.sign(part, unit)?;
        let (_, index, _) = unit.parts.get(n)?;
        let around = self.around.get(index).cloned().unwrap_or_default();
        let main = unit.top()?;
        let mut notes = realise(&sign, main, &around);
        if notes.lower.is_none() {
            // For a termination.
            notes.lower = Some(neighbour(main, false, None, &around));
        }
        Some((n, sign, notes))
    }
}

fn makes_notes(kind: &OrnamentKind) -> bool {
    !matches!(
        kind,
        OrnamentKind::Tremolo { between: true, .. } | OrnamentKind::Other(_)
    )
}

/// The notes on which a wavy line starts: named, or the first at its place.
fn lines(part: &Part) -> BTreeSet<Id> {
    let mut found = BTreeSet::new();
    for span in part.spans.iter().filter(|span| span.kind == SpanKind::TrillLine) {
        let Some(start) = span.start else { continue };
        let here = part.bar_events(start.place.bar);
        let note = |event: &&Event| event.is_note() && !event.is_grace();
        let named = here.iter().filter(note).find(|event| {
            Some(event.id) == start.element || event.heads().iter().any(|head| Some(head.id) == start.element)
        });
        let event = named.or_else(|| here.iter().filter(note).find(|event| event.place >= start.place));
        found.extend(event.map(|event| event.id));
    }
    found
}
