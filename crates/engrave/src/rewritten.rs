//! How does another player read this part? At concert pitch, or written for another instrument, with what lies beyond it.
//!
//! Ids stay those of the piece, so that what is known about a note is known of the new one.

mod range;

use notation::{
    Change, Clef, EventKind, Finding, Id, IdKind, Interval, Part, Piece, Place, Rational, Severity,
    Technical, Transposition, transpose,
};

/// Who reads the part.
#[derive(Clone, Copy, Debug)]
pub enum Reader<'a> {
    /// Whoever reads notes as they sound.
    Concert,
    /// A player of an instrument.
    Instrument(&'a instruments::Instrument),
}

/// The part for its new reader.
#[derive(Clone, PartialEq, Debug)]
pub struct Rewritten {
    /// The piece with its first part written for the reader; the ids are the piece's.
    pub piece: Piece,
    /// What the reader should know: octaves moved, another spelling, notes out of range, what was left out.
    pub findings: Vec<Finding>,
}

/// Signatures with more sharps or flats than this are spelled the other way.
const MOST_SIGNS: i32 = 6;

/// Writes the piece's first part for another reader. What sounds stays the same, but for whole octaves where most of the part
/// would lie beyond the instrument.
#[must_use]
pub fn rewritten(piece: &Piece, reader: Reader<'_>) -> Rewritten {
    let Some(part) = piece.parts.first() else {
        return Rewritten {
            piece: piece.clone(),
            findings: Vec::new(),
        };
    };
    let target = match reader {
        Reader::Concert => Transposition::default(),
        Reader::Instrument(instrument) => instrument.transposition(),
    };
    let mut findings = Vec::new();
    let mut spelling = 0;
    let mut done = moved(piece, part, target, 0, 0);
    if let Reader::Instrument(instrument) = reader {
        let octaves = range::best_octaves(&done, instrument);
        if octaves != 0 {
            findings.push(range::octaves_moved(octaves, instrument));
        }
        spelling = other_spelling(&done);
        done = moved(piece, part, target, octaves, spelling);
    } else if other_spelling(&done) != 0 {
        spelling = other_spelling(&done);
        done = moved(piece, part, target, 0, spelling);
    }
    if spelling != 0 {
        findings.push(Finding::new(
            Severity::Note,
            "spelled-the-other-way",
            "the signature would have more than six signs; the part is spelled with fewer, a note of the same sound for each",
            "",
        ));
    }
    settle(&mut done, reader, target, &mut findings);
    if let Reader::Instrument(instrument) = reader {
        findings.extend(range::beyond(&done, instrument));
    }
    Rewritten {
        piece: done,
        findings,
    }
}

/// The piece moved so that it sounds the same through another transposition, stretch by stretch of the part's own, and by
/// octaves; `spelling` letters up (or down) at the same sound.
fn moved(piece: &Piece, part: &Part, target: Transposition, octaves: i32, spelling: i32) -> Piece {
    let mut starts: Vec<(Place, Transposition)> =
        vec![(Place::default(), part.transposition_at(Place::default()))];
    starts.extend(
        part.transpositions
            .iter()
            .map(|change| (change.place, change.value)),
    );
    let mut out: Option<Piece> = None;
    for (start, source) in starts {
        let by = Interval {
            diatonic: steps(source) - steps(target) + 7 * octaves + spelling,
            chromatic: source.semitones() - target.semitones() + Rational::whole(i64::from(12 * octaves)),
        };
        let copy = transpose(piece, 0, by);
        match &mut out {
            None => out = Some(copy),
            Some(out) => take_from(out, copy, start),
        }
    }
    out.unwrap_or_else(|| piece.clone())
}

fn steps(transposition: Transposition) -> i32 {
    transposition.diatonic.clamp(-200, 200) + 7 * transposition.octaves.clamp(-20, 20)
}

/// From a place on, what another copy says.
fn take_from(piece: &mut Piece, copy: Piece, start: Place) {
    let (Some(part), Some(other)) = (piece.parts.first_mut(), copy.parts.into_iter().next()) else {
        return;
    };
    let replace = |own: &mut Place| *own >= start;
    for (mine, theirs) in part.events.iter_mut().zip(other.events) {
        if replace(&mut mine.place) {
            *mine = theirs;
        }
    }
    for (mine, theirs) in part.keys.iter_mut().zip(other.keys) {
        if replace(&mut mine.place) {
            *mine = theirs;
        }
    }
    for (mine, theirs) in part.directions.iter_mut().zip(other.directions) {
        if replace(&mut mine.place) {
            *mine = theirs;
        }
    }
}

/// One letter up or down at the same sound, if that makes signatures with fewer signs; 0 if they are well as they are.
fn other_spelling(piece: &Piece) -> i32 {
    let keys = piece.parts.first().map_or(&[][..], |part| part.keys.as_slice());
    let fifths = || keys.iter().filter_map(|key| key.value.fifths).map(i32::from);
    // The signs of the fullest signature, if all lose so many sharps.
    let worst = |less: i32| fifths().map(|fifths| (fifths - less).abs()).max().unwrap_or(0);
    if worst(0) <= MOST_SIGNS {
        return 0;
    }
    // A diminished second up takes twelve sharps away, one down twelve flats.
    [(1, worst(12)), (-1, worst(-12))]
        .into_iter()
        .filter(|(_, signs)| *signs < worst(0))
        .min_by_key(|(_, signs)| *signs)
        .map_or(0, |(letters, _)| letters)
}

/// Clef, names and what belonged to the old instrument alone.
fn settle(piece: &mut Piece, reader: Reader<'_>, target: Transposition, findings: &mut Vec<Finding>) {
    piece.concert_pitch = false;
    let id = piece.ids.give(IdKind::Change);
    let Some(part) = piece.parts.first_mut() else {
        return;
    };
    part.transpositions = transpositions(id, target);
    part.for_player = None;
    let Reader::Instrument(instrument) = reader else {
        return;
    };
    instrument.name.clone_into(&mut part.name);
    part.abbreviation.clear();
    part.instrument_name = None;
    part.instrument_sound = instrument.sounds.first().map(|sound| (*sound).to_owned());
    part.midi_program = instrument.midi.first().copied();
    usual_clefs(part, instrument);
    let fingered = forget_fingers(part);
    if fingered > 0 {
        findings.push(Finding::new(
            Severity::Note,
            "fingers-left-out",
            format!("{fingered} fingerings, strings or positions of the other instrument were left out"),
            "",
        ));
    }
}

fn transpositions(id: Id, target: Transposition) -> Vec<Change<Transposition>> {
    if target.is_none() {
        return Vec::new();
    }
    vec![Change {
        id,
        place: Place::default(),
        staff: None,
        value: target,
        printed: true,
    }]
}

/// Clefs that its players don't read become the one they read most; changes that change nothing any more go.
fn usual_clefs(part: &mut Part, instrument: &instruments::Instrument) {
    let Some(usual) = instrument.clefs.first().map(|usual| usual.clef) else {
        return;
    };
    let reads = |clef: Clef| instrument.habit_of(clef) == Some(instruments::Habit::Usual);
    for change in &mut part.clefs {
        if !reads(change.value) {
            change.value = usual;
        }
    }
    let mut before: Vec<(Option<u8>, Clef)> = Vec::new();
    part.clefs.retain(|change| {
        let same = before
            .iter()
            .rev()
            .find(|(staff, _)| *staff == change.staff)
            .is_some_and(|(_, clef)| *clef == change.value);
        before.push((change.staff, change.value));
        !same
    });
}

/// Takes away what only the old instrument's fingers understand; how much that was.
fn forget_fingers(part: &mut Part) -> usize {
    let stays = |mark: &Technical| {
        !matches!(
            mark.name.as_str(),
            "fingering" | "string" | "fret" | "hole" | "thumb-position" | "pluck"
        )
    };
    let mut count = 0;
    let mut forget = |marks: &mut Vec<Technical>| {
        let before = marks.len();
        marks.retain(stays);
        count += before - marks.len();
    };
    for event in &mut part.events {
        forget(&mut event.technical);
        if let EventKind::Chord(heads) = &mut event.kind {
            heads.iter_mut().for_each(|head| forget(&mut head.technical));
        }
    }
    count
}

#[cfg(test)]
mod tests;
