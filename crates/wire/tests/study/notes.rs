//! Which notes are on the page, told without the study: the line, the grace notes, the bars that hold any.

use notation::{BarIndex, Piece, Pitch};

/// Each note that has to be fingered: its element and its written pitch (the highest of a chord). Notes tied to are not struck.
pub fn to_finger(piece: &Piece) -> Vec<(String, Pitch)> {
    let part = &piece.parts[0];
    let line = notation::line(piece, part);
    let mut notes: Vec<(String, Pitch)> = line
        .iter()
        .map(|note| (part.events[note.event].id.to_string(), note.pitch))
        .collect();
    // Grace notes after the last note of the line lead nowhere.
    let last = line.last().map_or(0, |note| note.event);
    let graces = part.events[..last]
        .iter()
        .filter(|event| event.is_grace() && !event.cue);
    notes.extend(graces.filter_map(|event| Some((event.id.to_string(), event.top_pitch()?))));
    notes
}

/// How many notes of the line there are.
pub fn in_line(piece: &Piece) -> usize {
    notation::line(piece, &piece.parts[0]).len()
}

/// True if something is played in a bar.
pub fn has_notes(piece: &Piece, bar: usize) -> bool {
    let events = piece.parts[0].bar_events(BarIndex::from_usize(bar));
    events.iter().any(|event| event.is_note() && !event.cue)
}
