//! Which notes does one player read? Tracks and channels sorted into parts.

use super::take::{Note, Take};

/// Notes that make one part.
#[derive(Clone, Debug)]
pub(super) struct PartNotes {
    pub track: u16,
    pub channel: u8,
    /// In order of time.
    pub notes: Vec<Note>,
    /// The track holds other parts, too.
    pub shares_track: bool,
}

/// Source: General MIDI 1 (RP-003): channel 10 (9 from 0) is percussion, its keys are instruments.
pub(super) const PERCUSSION: u8 = 9;

impl PartNotes {
    pub(super) fn is_percussion(&self) -> bool {
        self.channel == PERCUSSION
    }
}

/// One part for each channel of each track, in the order of tracks and channels.
pub(super) fn parts(take: &Take) -> Vec<PartNotes> {
    let mut parts: Vec<PartNotes> = take
        .notes
        .chunk_by(|a, b| (a.track, a.channel) == (b.track, b.channel))
        .filter_map(|notes| {
            let first = notes.first()?;
            Some(PartNotes {
                track: first.track,
                channel: first.channel,
                notes: notes.to_vec(),
                shares_track: false,
            })
        })
        .collect();
    let tracks: Vec<u16> = parts.iter().map(|part| part.track).collect();
    for part in &mut parts {
        part.shares_track = tracks.iter().filter(|track| **track == part.track).count() > 1;
    }
    parts
}
