//! What do the other parts of the score say? The bass, the last chord and all the notes, in the asked part's written pitch.

use super::material::Fifths;
use super::signature::to_concert;
use crate::context::Context;
use notation::{BarIndex, BarSide, Part, Piece, Place, Transposition};

/// What a whole score adds to the evidence of one of its parts.
#[derive(Clone, Debug, Default)]
pub struct Score {
    /// All heads of all parts, by time.
    pub all: Fifths,
    /// Per bar, heads of all parts by pitch class, weighted by the square root of their time, and divided by the
    /// square root of the number of parts.
    pub bars: Vec<[f64; 12]>,
    /// The lowest note sounding when the score ends, on the line of fifths.
    pub last_bass: Option<i32>,
    /// Where it stands.
    pub last_place: Option<Place>,
    /// All notes of the last chord.
    pub last_chord: Vec<i32>,
    /// The lowest note when the score begins.
    pub first_bass: Option<i32>,
    /// The lowest note at the end of each section that a double bar or repeat sign closes.
    pub section_basses: Vec<i32>,
}

/// Reads the score around a part; `None` where no other part has pitches. `last_bar` is the last bar played.
#[must_use]
pub fn gather(ctx: &Context<'_>, last_bar: Option<BarIndex>) -> Option<Score> {
    let piece = ctx.piece;
    let others = piece
        .parts
        .iter()
        .enumerate()
        .any(|(i, part)| i != ctx.part_index && has_pitches(part));
    if !others {
        return None;
    }
    let own = if piece.concert_pitch {
        0
    } else {
        to_concert(ctx.part.transposition_at(Place::default()))
    };
    let mut score = Score {
        bars: vec![[0.0; 12]; piece.bars.len()],
        ..Score::default()
    };
    let crowd = super::features::count(piece.parts.len()).sqrt();
    for part in &piece.parts {
        let shift = shift_of(piece, part, own);
        for event in part.events.iter().filter(|event| !event.is_grace() && !event.cue) {
            let time = event.duration.to_f64().clamp(0.0, 64.0);
            for pitch in event.pitches() {
                score.all.add(pitch.fifths() + shift, time);
                if let Some(bar) = score.bars.get_mut(event.place.bar.get()) {
                    bar[super::tonality::pitch_class(pitch.fifths() + shift)] += time.sqrt() / crowd;
                }
            }
        }
    }
    let end = last_bar.unwrap_or(BarIndex::from_usize(piece.bars.len().saturating_sub(1)));
    if let Some((place, chord)) = last_chord(ctx, end, own) {
        score.last_place = Some(place);
        score.last_bass = chord.first().copied();
        score.last_chord = chord;
    }
    score.first_bass = first_bass(ctx, own);
    for bar in section_ends(piece) {
        if let Some((_, chord)) = last_chord(ctx, bar, own) {
            score.section_basses.extend(chord.first());
        }
    }
    Some(score)
}

fn has_pitches(part: &Part) -> bool {
    part.events.iter().any(|event| event.pitches().next().is_some())
}

/// From a part's written notes to the asked part's written notes.
fn shift_of(piece: &Piece, part: &Part, own: i32) -> i32 {
    let its = if piece.concert_pitch {
        0
    } else {
        to_concert(part.transposition_at(Place::default()))
    };
    its - own
}

/// Notes sounding at the last onset of a bar (or of the bar before, if it is silent), lowest first.
fn last_chord(ctx: &Context<'_>, bar: BarIndex, own: i32) -> Option<(Place, Vec<i32>)> {
    let piece = ctx.piece;
    for back in 0..3 {
        let bar = BarIndex(bar.0.checked_sub(back)?);
        let onset = piece
            .parts
            .iter()
            .flat_map(|part| part.bar_events(bar))
            .filter(|event| event.is_note() && !event.is_grace() && !event.cue)
            .map(|event| event.place.offset)
            .max();
        let Some(onset) = onset else { continue };
        let mut notes: Vec<(i32, i32)> = Vec::new();
        for part in &piece.parts {
            let shift = shift_of(piece, part, own);
            let transposition = if piece.concert_pitch {
                Transposition::default()
            } else {
                part.transposition_at(Place::default())
            };
            let sounding = part
                .bar_events(bar)
                .iter()
                .filter(|event| !event.is_grace() && !event.cue && event.place.offset <= onset)
                .filter(|event| event.end_offset() > onset);
            for pitch in sounding.flat_map(notation::Event::pitches) {
                notes.push((transposition.sounding(pitch).key_number(), pitch.fifths() + shift));
            }
        }
        notes.sort_unstable();
        return Some((
            Place { bar, offset: onset },
            notes.into_iter().map(|(_, fifths)| fifths).collect(),
        ));
    }
    None
}

/// The lowest note of the first onset in the score.
fn first_bass(ctx: &Context<'_>, own: i32) -> Option<i32> {
    let piece = ctx.piece;
    let first = |part: &Part| {
        part.events
            .iter()
            .find(|event| event.pitches().next().is_some())
            .map(|e| e.place)
    };
    let place = piece.parts.iter().filter_map(first).min()?;
    let mut lowest: Option<(i32, i32)> = None;
    for part in &piece.parts {
        let shift = shift_of(piece, part, own);
        let transposition = if piece.concert_pitch {
            Transposition::default()
        } else {
            part.transposition_at(Place::default())
        };
        for event in part
            .bar_events(place.bar)
            .iter()
            .filter(|event| event.place == place && !event.is_grace())
        {
            for pitch in event.pitches() {
                let key = transposition.sounding(pitch).key_number();
                if lowest.is_none_or(|(low, _)| key < low) {
                    lowest = Some((key, pitch.fifths() + shift));
                }
            }
        }
    }
    lowest.map(|(_, fifths)| fifths)
}

/// Bars closed by a double bar or an end-repeat, each once, the last bar left out.
fn section_ends(piece: &Piece) -> Vec<BarIndex> {
    let last = piece.bars.len().saturating_sub(1);
    let mut bars: Vec<BarIndex> = piece
        .barlines
        .iter()
        .filter(|line| line.side == BarSide::Right && line.place.bar.get() < last)
        .filter(|line| {
            line.repeat.as_ref().is_some_and(|repeat| !repeat.forward)
                || line
                    .style
                    .as_deref()
                    .is_some_and(|style| matches!(style, "light-light" | "light-heavy"))
        })
        .map(|line| line.place.bar)
        .collect();
    bars.sort_unstable();
    bars.dedup();
    bars
}
