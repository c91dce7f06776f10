//! What does the part sing as one line? Its notes in order, ties joined, with absolute onsets: derived, no opinion.

use crate::event::Event;
use crate::piece::{Part, Piece};
use crate::pitch::Pitch;
use crate::rational::Quarters;

/// One sounding note of the line: a head and those tied on to it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct LineNote {
    /// Index into [`Part::events`] of the event where it starts.
    pub event: usize,
    /// The written pitch (the highest head of a chord).
    pub pitch: Pitch,
    /// Onset in written order, in quarter notes from the beginning.
    pub onset: Quarters,
    /// Duration with ties joined, in quarter notes.
    pub duration: Quarters,
    /// How many events were joined (1 without ties).
    pub joined: u32,
}

/// The notes of the part's line in written order: grace notes and cues left out, ties joined.
///
/// Where several notes sound together (chords, voices), the highest starting at that moment is taken.
#[must_use]
pub fn line(piece: &Piece, part: &Part) -> Vec<LineNote> {
    let onsets = piece.bar_onsets();
    let onset_of = |event: &Event| -> Quarters {
        onsets.get(event.place.bar.get()).copied().unwrap_or_default() + event.place.offset
    };
    let mut notes: Vec<LineNote> = Vec::with_capacity(part.events.len());
    for (index, event) in part.events.iter().enumerate() {
        if event.is_grace() || event.cue {
            continue;
        }
        let Some(pitch) = event.top_pitch() else { continue };
        let onset = onset_of(event);
        let tied = event
            .heads()
            .iter()
            .any(|head| head.tie_stop && head.pitch() == Some(pitch));
        if tied
            && let Some(last) = notes.iter_mut().rev().take(4).find(|n| n.pitch == pitch)
            && last.onset + last.duration == onset
        {
            last.duration += event.duration;
            last.joined += 1;
            continue;
        }
        match notes.last_mut() {
            Some(last) if last.onset == onset => {
                if pitch > last.pitch {
                    *last = LineNote {
                        event: index,
                        pitch,
                        onset,
                        duration: event.duration,
                        joined: 1,
                    };
                }
            }
            _ => notes.push(LineNote {
                event: index,
                pitch,
                onset,
                duration: event.duration,
                joined: 1,
            }),
        }
    }
    notes
}
