//! What stands in one player's part? One part taken out of a score, with everything that the score prints only once,
//! over the top staff usually, but that a printed part has to say: tempo, rehearsal marks, road map, bar lines.
//!
//! Out of a score at concert pitch it is written for its player. What it does *not* do: lay out, or guess cues.

pub(crate) mod concert;
mod rests;
mod shared;

use notation::Piece;

/// One part of a piece as a piece of its own; `None` if there is no such part. Ids stay those of the piece.
///
/// A part of a score at concert pitch is written for its player: as the score says (MusicXML 4.0, `for-part`), else as is
/// usual for the instrument that its name says. Bars keep their labels and lengths; the score's own system and page breaks are left behind, and bars of rest are
/// drawn together. A piece of one part is that part already and comes back as it is.
#[must_use]
pub fn part_of(piece: &Piece, index: usize) -> Option<Piece> {
    piece.parts.get(index)?;
    if piece.parts.len() == 1 {
        return Some(piece.clone());
    }
    let mut part = piece.parts.get(index)?.clone();
    shared::take_directions(piece, index, &mut part);
    let mut alone = Piece {
        credits: piece.credits.clone(),
        bars: piece.bars.clone(),
        parts: Vec::new(),
        barlines: shared::barlines(piece, index),
        sound_hints: shared::sound_hints(piece, index),
        section_orders: piece.section_orders.clone(),
        concert_pitch: piece.concert_pitch,
        provenance: piece.provenance.clone(),
        ids: piece.ids.clone(),
    };
    for bar in &mut alone.bars {
        (bar.new_system, bar.new_page) = (false, false);
    }
    alone.parts.push(part);
    concert::write_for_player(piece, index, &mut alone);
    rests::draw_together(piece, &mut alone);
    Some(alone)
}

#[cfg(test)]
mod tests;
