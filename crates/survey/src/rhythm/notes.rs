//! Which notes are struck, and how long does each sound? The voice with its ties joined, across bar lines.

use super::voice::{MainVoice, Sound};
use crate::metre::BeatGrid;
use notation::{Place, Quarters};

/// One struck note with everything tied on to it.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) struct Struck {
    /// Where it is struck.
    pub(crate) place: Place,
    /// Index into the part's events.
    pub(crate) event: Option<usize>,
    /// From the beginning in written order, in quarter notes.
    pub(crate) onset: Quarters,
    /// How long it sounds, in quarter notes.
    pub(crate) length: Quarters,
    /// Silence before it, in quarter notes.
    pub(crate) rest_before: Quarters,
    /// How far it is struck after the start of its beat, in quarter notes.
    pub(crate) into_beat: Quarters,
    /// The length of that beat; one quarter where nothing is counted.
    pub(crate) beat: Quarters,
}

/// The struck notes of a voice in written order.
pub(crate) fn struck(voice: &MainVoice, grids: &[BeatGrid]) -> Vec<Struck> {
    let mut notes: Vec<Struck> = Vec::new();
    let mut start = Quarters::ZERO;
    let mut silence = Quarters::ZERO;
    for (bar, grid) in voice.bars.iter().zip(grids) {
        for item in &bar.items {
            let onset = start + item.offset;
            match item.sound {
                Sound::Rest | Sound::Gap => silence += item.duration,
                Sound::Held if notes.last().is_some_and(|last| last.onset + last.length == onset) => {
                    if let Some(last) = notes.last_mut() {
                        last.length += item.duration;
                    }
                }
                // Tied from nothing that stands before it (a second ending): held, not struck.
                Sound::Held => silence = Quarters::ZERO,
                Sound::Note => {
                    let position = grid.position(item.offset);
                    let beat = grid.beat_at(position);
                    notes.push(Struck {
                        place: Place {
                            bar: grid.bar,
                            offset: item.offset,
                        },
                        event: item.event,
                        onset,
                        length: item.duration,
                        rest_before: silence,
                        into_beat: beat.map_or(Quarters::ZERO, |beat| position - beat.start),
                        beat: beat.map_or(notation::Rational::ONE, |beat| beat.length),
                    });
                    silence = Quarters::ZERO;
                }
            }
        }
        start += grid.actual;
    }
    notes
}
