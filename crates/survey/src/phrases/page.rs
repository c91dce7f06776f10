//! What does the page itself say about where the music is divided? Signs at and between the notes of the line.

use super::notes::Notes;
use crate::Context;
use notation::{ArticulationKind, BarSide, Place, SpanKind};

/// What stands before a note of the line.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub struct Signs {
    /// A slur holds this note and the one before.
    pub inside_slur: bool,
    /// A slur ends on the note before.
    pub slur_ends: bool,
    /// A breath mark or a caesura stands after the note before.
    pub breath_mark: bool,
    /// A fermata stands on the note before, the rest or bar line between.
    pub fermata: bool,
    /// A double bar, a repeat sign or a final bar line stands between, or opens the bar whose pickup this note begins.
    pub section: bool,
}

/// The signs before each note of the line; none before the first.
#[must_use]
pub fn signs(ctx: &Context, notes: &Notes) -> Vec<Signs> {
    let mut signs = vec![Signs::default(); notes.len()];
    slurs(ctx, notes, &mut signs);
    at_notes(ctx, notes, &mut signs);
    sections(ctx, notes, &mut signs);
    if let Some(first) = signs.first_mut() {
        *first = Signs::default();
    }
    signs
}

/// The first note of the line at a place or after it.
fn note_at(notes: &Notes, place: Place) -> usize {
    notes.line.partition_point(|note| note.place < place)
}

fn slurs(ctx: &Context, notes: &Notes, signs: &mut [Signs]) {
    let mut reaches: Vec<(Place, Place)> = ctx
        .part
        .spans
        .iter()
        .filter(|span| span.kind == SpanKind::Slur)
        .filter_map(|span| Some((span.start?.place, span.end?.place)))
        .filter(|(start, end)| start < end)
        .collect();
    reaches.sort_unstable();
    let mut next = 0;
    let mut far = Place::default();
    for (at, pair) in notes.line.windows(2).enumerate() {
        let [before, here] = pair else { continue };
        while let Some((_, end)) = reaches.get(next).filter(|(start, _)| *start <= before.place) {
            far = far.max(*end);
            next += 1;
        }
        if let Some(slot) = signs.get_mut(at + 1) {
            slot.inside_slur = far >= here.place;
        }
    }
    for (_, end) in reaches {
        let after = notes.line.partition_point(|note| note.place <= end);
        if let Some(slot) = signs.get_mut(after) {
            slot.slur_ends = !slot.inside_slur;
        }
    }
}

fn at_notes(ctx: &Context, notes: &Notes, signs: &mut [Signs]) {
    for event in ctx.part.events.iter().filter(|event| !event.cue) {
        let broken = event.articulations.iter().any(|mark| {
            matches!(
                mark.kind,
                ArticulationKind::BreathMark(_) | ArticulationKind::Caesura(_)
            )
        });
        if !broken && event.fermatas.is_empty() {
            continue;
        }
        let after = notes.line.partition_point(|note| note.place <= event.place);
        if let Some(slot) = signs.get_mut(after) {
            slot.breath_mark |= broken;
            slot.fermata |= !event.fermatas.is_empty();
        }
    }
}

fn sections(ctx: &Context, notes: &Notes, signs: &mut [Signs]) {
    for line in &ctx.piece.barlines {
        let says = line.repeat.is_some()
            || !line.fermatas.is_empty()
            || line.style.as_deref().is_some_and(|style| {
                matches!(
                    style,
                    "light-light" | "light-heavy" | "heavy-light" | "heavy-heavy"
                )
            });
        if !says {
            continue;
        }
        let place = match line.side {
            BarSide::Right => Place::start_of(line.place.bar.next()),
            BarSide::Left => Place::start_of(line.place.bar),
            BarSide::Middle => line.place,
        };
        if let Some(slot) = signs.get_mut(note_at(notes, place)) {
            slot.section = true;
            slot.fermata |= !line.fermatas.is_empty();
        }
    }
}
