//! Which accidentals are printed? `**kern` gives each note's sounding alteration; the signs on the page follow from it.
//!
//! A sign is printed where the signature and the signs before it in the bar, at the same place on the staff, would give
//! another alteration (common practice), and where the file marks it: `n` for a natural that is no repetition, `x`, `X`
//! or a signifier of its own. Tied notes carry theirs over.

use super::part::{PartState, Reader};
use notation::{
    Alter, Event, EventKind, Head, HeadNote, How, Id, KeySignature, Pitch, PrintedAccidental, Side,
};
use std::collections::BTreeMap;

use super::signs::Interval;
use super::token::Accidental;

/// What the tokens say of the signs at heads and ornaments, kept till the part is read.
#[derive(Debug, Default)]
pub(super) struct Marks {
    pub heads: BTreeMap<Id, Accidental>,
    pub intervals: BTreeMap<Id, Interval>,
}

/// Works out the printed accidentals of a part whose events are in order; true if there is one that the file did not mark.
fn work_out(state: &mut PartState, marks: &Marks, implied: &mut Vec<Id>) {
    let mut live: BTreeMap<(u8, i32, bool), Alter> = BTreeMap::new();
    let mut bar = None;
    let mut keys: Vec<Option<(usize, KeySignature)>> = vec![None; usize::from(state.part.staves) + 1];
    let mut next_key = 0;
    let part = &mut state.part;
    for event in &mut part.events {
        if bar != Some(event.place.bar) {
            bar = Some(event.place.bar);
            live.clear();
        }
        while let Some(change) = part
            .keys
            .get(next_key)
            .filter(|change| change.place <= event.place)
        {
            for staff in 1..=part.staves {
                if change.staff.is_none_or(|of| of == staff) {
                    keys[usize::from(staff)] = Some((next_key, change.value.clone()));
                    live.retain(|(of, ..), _| *of != staff);
                }
            }
            next_key += 1;
        }
        let cue = event.cue;
        if let EventKind::Chord(heads) = &mut event.kind {
            for head in heads.iter_mut() {
                let HeadNote::Pitch(pitch) = head.note else {
                    continue;
                };
                let key = keys.get(usize::from(head.staff)).and_then(Option::as_ref);
                let signature = key.map_or(Alter::ZERO, |(_, key)| key.alter_of(pitch.step));
                let slot = (head.staff, pitch.diatonic(), cue);
                let held = live.get(&slot).copied();
                sign(head, pitch, held, signature, marks, implied);
                if head.accidental.is_some() {
                    live.insert(slot, pitch.alter);
                }
            }
        }
        ornament(event, &keys, &live, marks);
    }
}

fn sign(
    head: &mut Head,
    pitch: Pitch,
    held: Option<Alter>,
    signature: Alter,
    marks: &Marks,
    implied: &mut Vec<Id>,
) {
    let said = marks.heads.get(&head.id).copied().unwrap_or_default();
    if said.hidden {
        return;
    }
    let by_rule = held.unwrap_or(signature);
    let needed = by_rule != pitch.alter && !head.tie_stop;
    let marked = said.marked || said.editorial || said.cautionary;
    // A natural written again after the same natural is no second sign.
    let natural = said.natural && !head.tie_stop && held != Some(pitch.alter);
    if !(needed || marked || natural) {
        return;
    }
    if needed && !marked && !said.natural {
        implied.push(head.id);
    }
    head.accidental = Some(PrintedAccidental {
        sign: name(pitch.alter),
        alter: Some(pitch.alter),
        cautionary: said.cautionary || said.marked && !needed,
        editorial: said.editorial || said.marked && needed,
        parentheses: said.enclosed,
    });
}

/// A trill or mordent whose other note is not the one in the key has its accidental at the sign.
fn ornament(
    event: &mut Event,
    keys: &[Option<(usize, KeySignature)>],
    live: &BTreeMap<(u8, i32, bool), Alter>,
    marks: &Marks,
) {
    let Some(interval) = marks.intervals.get(&event.id).copied() else {
        return;
    };
    let Some(head) = event.heads().first() else { return };
    let (Some(pitch), staff) = (head.pitch(), head.staff) else {
        return;
    };
    let direction = if interval.up { 1 } else { -1 };
    let neighbour =
        |semitones: i64| pitch.transposed(direction, Alter::whole(i64::from(direction) * semitones));
    let natural = neighbour(1);
    let key = keys.get(usize::from(staff)).and_then(Option::as_ref);
    let by_key = live
        .get(&(staff, natural.diatonic(), event.cue))
        .copied()
        .unwrap_or_else(|| key.map_or(Alter::ZERO, |(_, key)| key.alter_of(natural.step)));
    let printed = Pitch {
        alter: by_key,
        ..natural
    };
    let distance = (printed.semitones() - pitch.semitones()).abs();
    let contradicts = if interval.semitone {
        distance != Alter::ONE
    } else {
        distance < Alter::whole(2)
    };
    if !contradicts {
        return;
    }
    let alter = neighbour(if interval.semitone { 1 } else { 2 }).alter;
    let side = if interval.up { Side::Above } else { Side::Below };
    if let Some(ornament) = event.ornaments.first_mut() {
        ornament.accidentals.push((name(alter), side));
    }
}

/// The sign of an alteration. Source: MusicXML 4.0, accidental-value.
fn name(alter: Alter) -> String {
    match alter.num() {
        0 => "natural",
        1 => "sharp",
        -1 => "flat",
        2 => "double-sharp",
        -2 => "flat-flat",
        3 => "triple-sharp",
        -3 => "triple-flat",
        _ => return format!("{alter} semitones"),
    }
    .to_owned()
}

impl Reader<'_, '_> {
    /// Works out the printed accidentals of all parts.
    pub(super) fn work_out_accidentals(&mut self, marks: &Marks) {
        let mut implied = Vec::new();
        for state in &mut self.parts {
            work_out(state, marks, &mut implied);
        }
        self.implied_accidentals = !implied.is_empty();
        for id in implied {
            self.score.piece.provenance.origins.entry(id).how = How::Implied;
        }
    }
}
