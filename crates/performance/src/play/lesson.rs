//! What does one rule sound like by itself? An ornament, a rhythm or a pair of look-alike passages as a small performance.

use super::{Performance, PlayOptions, PlayTempo, perform};
use notation::{BarIndex, Event, EventKind, Id, Part, Piece, Place, Quarters, Rational};

/// One note of the page with its ornaments and grace notes, and the note it leads to: nothing else of the piece.
/// `None` if the part has no such event.
///
/// The notes are the very ones that [`perform`] plays in the piece: same key, period and choices.
#[must_use]
pub fn lesson(piece: &Piece, part_index: usize, event: Id, options: &PlayOptions) -> Option<Performance> {
    let part = piece.parts.get(part_index)?;
    let found = part.events.iter().find(|found| found.id == event)?;
    let bar = found.place.bar;
    let options = PlayOptions {
        bars: Some((bar, bar.next())),
        repeats: super::Repeats::StraightThrough,
        count_in: 0,
        times: 1,
        ..options.clone()
    };
    let mut whole = perform(piece, part_index, &options)?;
    let main = main_note(part, found)?;
    let from = whole
        .notes
        .iter()
        .filter(|note| note.event == main.id || note.event == event)
        .map(|n| n.onset)
        .min()?;
    let end = whole
        .notes
        .iter()
        .filter(|note| note.event == main.id)
        .map(|n| n.onset + n.held)
        .max()?;
    let next = whole
        .notes
        .iter()
        .filter(|note| note.onset >= end && note.voice == main.voice)
        .map(|note| note.onset + note.held)
        .min();
    let voice = main.voice;
    whole
        .notes
        .retain(|note| note.voice == voice && note.onset >= from && note.onset < next.unwrap_or(end));
    Some(cut(whole, from, next.unwrap_or(end)))
}

/// The note that grace notes belong to; the event itself if it is none.
fn main_note<'a>(part: &'a Part, event: &'a Event) -> Option<&'a Event> {
    let Some(grace) = event.grace else {
        return Some(event);
    };
    let same =
        |other: &&Event| other.voice == event.voice && other.is_note() && !other.is_grace() && !other.cue;
    let index = part.events.iter().position(|other| other.id == event.id)?;
    if grace.after {
        part.events.get(..index)?.iter().rev().find(same)
    } else {
        part.events.get(index..)?.iter().find(same)
    }
}

/// Only what lies between two times, moved to the beginning.
fn cut(mut whole: Performance, from: Quarters, to: Quarters) -> Performance {
    let stretches = whole
        .clock
        .stretches()
        .iter()
        .filter(|s| s.to > from && s.from < to);
    let moved = stretches.map(|s| super::Stretch {
        from: s.from.max(from) - from,
        to: s.to.min(to) - from,
        ..*s
    });
    whole.clock = super::Clock::new(moved.collect());
    for note in &mut whole.notes {
        note.onset -= from;
    }
    whole.beats.retain(|beat| beat.at >= from && beat.at < to);
    for beat in &mut whole.beats {
        beat.at -= from;
    }
    whole.slots.retain(|slot| slot.end() > from && slot.start < to);
    for slot in &mut whole.slots {
        let start = slot.start.max(from);
        let end = slot.end().min(to);
        slot.played.from += start - slot.start;
        slot.played.to = slot.played.from + end - start;
        slot.length = end - start;
        slot.start = start - from;
    }
    let slots = whole.slots.len().saturating_sub(1);
    for note in &mut whole.notes {
        let index = whole.slots.partition_point(|slot| slot.start <= note.onset);
        note.slot = index.saturating_sub(1).min(slots);
    }
    for beat in &mut whole.beats {
        let index = whole.slots.partition_point(|slot| slot.start <= beat.at);
        beat.slot = index.saturating_sub(1).min(slots);
    }
    whole.keys.truncate(1);
    for key in &mut whole.keys {
        key.from = Quarters::ZERO;
    }
    whole
}

/// The rhythm of some bars on one note: what is clapped or tapped. Pitch, ornaments, slurs and dynamics are left out.
#[must_use]
pub fn rhythm(
    piece: &Piece,
    part_index: usize,
    bars: (BarIndex, BarIndex),
    on: notation::Pitch,
    options: &PlayOptions,
) -> Option<Performance> {
    let mut piece = piece.clone();
    let part = piece.parts.get_mut(part_index)?;
    part.spans.clear();
    part.transpositions.clear();
    part.directions
        .retain(|d| !matches!(d.kind, notation::DirectionKind::Dynamic(_)));
    part.events.retain(|event| !event.is_grace());
    for event in &mut part.events {
        event.ornaments.clear();
        event.dynamics.clear();
        if let EventKind::Chord(heads) = &mut event.kind {
            heads.truncate(1);
            for head in heads {
                head.note = notation::HeadNote::Pitch(on);
            }
        }
    }
    part.index_bars(piece.bars.len());
    let options = PlayOptions {
        bars: Some(bars),
        repeats: super::Repeats::StraightThrough,
        ..options.clone()
    };
    perform(&piece, part_index, &options)
}

/// Two passages that look alike, one after the other with a bar's rest between, at the first one's speed.
#[must_use]
pub fn lookalikes(
    piece: &Piece,
    part_index: usize,
    first: (BarIndex, BarIndex),
    second: (BarIndex, BarIndex),
    options: &PlayOptions,
) -> Option<(Performance, Performance)> {
    let play = |bars: (BarIndex, BarIndex), tempo: PlayTempo| {
        let options = PlayOptions {
            bars: Some(bars),
            repeats: super::Repeats::StraightThrough,
            times: 1,
            tempo,
            ..options.clone()
        };
        perform(piece, part_index, &options)
    };
    let one = play(first, options.tempo)?;
    let place = Place::start_of(first.0.min(first.1));
    let at = one.times_of(place).first().copied().unwrap_or_default();
    let speed = one.clock.speed(at);
    let same = PlayTempo::Starts {
        note: Rational::ONE,
        per_minute: speed,
    };
    let two = play(second, same)?;
    Some((one, two))
}
