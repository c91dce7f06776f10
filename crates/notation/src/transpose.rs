//! How does a part read at another pitch? Notes, key signatures, printed accidentals and chord names moved by an interval.

use crate::changes::KeySignature;
use crate::direction::DirectionKind;
use crate::event::{EventKind, Head, HeadNote, PrintedAccidental};
use crate::marks::{Ornament, Side};
use crate::piece::Piece;
use crate::pitch::{Alter, Pitch, Step, accidental_name, alter_ascii};
use crate::rational::Rational;

/// How far: letters and semitones, both signed (a major second up is 1 and 2, a minor third down −2 and −3).
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct Interval {
    /// Letters.
    pub diatonic: i32,
    /// Semitones.
    pub chromatic: Rational,
}

impl Interval {
    /// An interval of whole semitones.
    #[must_use]
    pub const fn new(diatonic: i32, chromatic: i64) -> Self {
        Self {
            diatonic,
            chromatic: Rational::whole(chromatic),
        }
    }

    /// The same the other way.
    #[must_use]
    pub fn back(self) -> Self {
        Self {
            diatonic: -self.diatonic,
            chromatic: -self.chromatic,
        }
    }

    /// Sharps that a key gains (flats if negative): a fifth up one, a major second up two.
    #[must_use]
    pub fn fifths(self) -> i32 {
        Pitch::new(Step::C, 0, 4)
            .transposed(self.diatonic, self.chromatic)
            .fifths()
    }

    fn of(self, pitch: Pitch) -> Pitch {
        pitch.transposed(self.diatonic, self.chromatic)
    }

    fn of_class(self, step: Step, alter: Alter) -> (Step, Alter) {
        let moved = self.of(Pitch {
            step,
            alter,
            octave: 4,
        });
        (moved.step, moved.alter)
    }
}

/// The piece with one part moved by an interval, spelled letter by letter; a part that is not there changes nothing.
///
/// Key signatures move with it and may get more than seven sharps or flats: choose the interval for it. Printed
/// accidentals stay where they are and show the new alteration, those at ornaments that of the neighbour. What the part's
/// [`crate::Transposition`] says is left as it is, and so are clefs.
///
/// ```
/// use notation::{Interval, sketch, transpose};
/// let piece = sketch("key:-2 Bb4/q C5/q Eb5/q F#5/q |").unwrap();
/// let up = transpose(&piece, 0, Interval::new(1, 2));
/// let notes: Vec<String> = up.parts[0].events.iter().flat_map(|event| event.pitches()).map(|p| p.to_string()).collect();
/// assert_eq!(notes, ["C5", "D5", "F5", "G#5"]);
/// assert_eq!(up.parts[0].keys[0].value.fifths, Some(0));
/// ```
#[must_use]
pub fn transpose(piece: &Piece, part: usize, by: Interval) -> Piece {
    let mut piece = piece.clone();
    let Some(part) = piece.parts.get_mut(part) else {
        return piece;
    };
    for event in &mut part.events {
        let top = event.top_pitch();
        for ornament in &mut event.ornaments {
            if let Some(pitch) = top {
                move_ornament(ornament, pitch, by);
            }
        }
        if let EventKind::Chord(heads) = &mut event.kind {
            heads.iter_mut().for_each(|head| move_head(head, by));
        }
    }
    for change in &mut part.keys {
        move_key(&mut change.value, by);
    }
    for direction in &mut part.directions {
        if let DirectionKind::Sign { name, text } = &mut direction.kind
            && name == "harmony"
        {
            *text = chord_name(text, by);
        }
    }
    piece
}

fn move_head(head: &mut Head, by: Interval) {
    let HeadNote::Pitch(pitch) = head.note else { return };
    let moved = by.of(pitch);
    head.note = HeadNote::Pitch(moved);
    if let Some(printed) = &mut head.accidental {
        move_accidental(printed, pitch.alter, moved.alter);
    }
}

/// A sign that the standard has no name for.
const OTHER: &str = "other";

/// A printed accidental that told the old alteration tells the new one; one that told something else is left.
fn move_accidental(printed: &mut PrintedAccidental, old: Alter, new: Alter) {
    let told = printed.alter == Some(old) || printed.alter.is_none() && printed.sign == OTHER;
    if told && old != new {
        let sign = accidental_name(new);
        printed.alter = sign.map(|_| new);
        sign.unwrap_or(OTHER).clone_into(&mut printed.sign);
    }
}

/// The alteration of a usual sign.
fn alter_of(sign: &str) -> Option<Alter> {
    (-6..=6)
        .map(|halves| Rational::new(halves, 2))
        .find(|alter| accidental_name(*alter) == Some(sign))
}

/// An accidental at an ornament is that of the letter above or below the note. One past triple signs stays as it is.
fn move_ornament(ornament: &mut Ornament, note: Pitch, by: Interval) {
    for (sign, side) in &mut ornament.accidentals {
        let Some(alter) = alter_of(sign) else { continue };
        let step = if *side == Side::Above { 1 } else { -1 };
        let neighbour = note.diatonic() + step;
        let (_, moved) = by.of_class(Step::from_index(neighbour), alter);
        if let Some(name) = accidental_name(moved).filter(|_| moved != alter) {
            name.clone_into(sign);
        }
    }
}

fn move_key(key: &mut KeySignature, by: Interval) {
    if let Some(fifths) = key.fifths {
        let moved = i32::from(fifths) + by.fifths();
        key.fifths = Some(i8::try_from(moved).unwrap_or(fifths));
    }
    for (step, alter) in &mut key.listed {
        (*step, *alter) = by.of_class(*step, *alter);
    }
}

/// A chord name with its root and bass moved: `Bbmaj7/D`; what starts with no letter (`V7`, `N.C.`) is left.
fn chord_name(text: &str, by: Interval) -> String {
    let (head, bass) = match text.rsplit_once('/') {
        Some((head, bass)) => match letter(bass) {
            Some((step, alter, "")) => (head, Some((step, alter))),
            _ => (text, None),
        },
        None => (text, None),
    };
    let Some((step, alter, kind)) = letter(head).filter(|(.., kind)| !kind.starts_with('.')) else {
        return text.to_owned();
    };
    let name = |(step, alter): (Step, Alter)| {
        let (step, alter) = by.of_class(step, alter);
        format!("{}{}", step.letter(), alter_ascii(alter))
    };
    let bass = bass.map(|bass| format!("/{}", name(bass))).unwrap_or_default();
    format!("{}{kind}{bass}", name((step, alter)))
}

/// A capital letter with its sharps or flats, and what follows.
fn letter(text: &str) -> Option<(Step, Alter, &str)> {
    let first = text.chars().next().filter(char::is_ascii_uppercase)?;
    let step = Step::from_letter(first)?;
    let rest = text.get(1..)?;
    let sharps = rest.len() - rest.trim_start_matches('#').len();
    let flats = rest.len() - rest.trim_start_matches('b').len();
    let alter = Rational::whole(i64::try_from(sharps).ok()? - i64::try_from(flats).ok()?);
    Some((step, alter, rest.get(sharps + flats..)?))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{Palette, piece};
    use proptest::prelude::*;

    /// Usual intervals: unison, seconds, thirds, fourths, tritones, fifths, octave and ninth.
    const INTERVALS: [(i32, i64); 12] = [
        (0, 0),
        (0, 1),
        (1, 1),
        (1, 2),
        (2, 3),
        (2, 4),
        (3, 5),
        (3, 6),
        (4, 6),
        (4, 7),
        (7, 12),
        (8, 14),
    ];

    proptest! {
        /// There and back is the same page, and on the way every note has moved by the semitones, in its key.
        #[test]
        fn there_and_back(bytes in proptest::collection::vec(any::<u8>(), 0..800), at in 0_usize..12, down: bool) {
            let palette = Palette { ornaments: false, ..Palette::default() };
            let piece = piece(&bytes, &palette);
            let by = Interval::new(INTERVALS[at].0, INTERVALS[at].1);
            let by = if down { by.back() } else { by };
            let moved = transpose(&piece, 0, by);
            for (a, b) in piece.parts[0].events.iter().zip(&moved.parts[0].events) {
                for (a, b) in a.pitches().zip(b.pitches()) {
                    prop_assert_eq!(a.semitones() + by.chromatic, b.semitones());
                    prop_assert_eq!(a.diatonic() + by.diatonic, b.diatonic());
                }
            }
            for (a, b) in piece.parts[0].keys.iter().zip(&moved.parts[0].keys) {
                for step in Step::ALL {
                    let (to, alter) = by.of_class(step, a.value.alter_of(step));
                    if a.value.fifths.is_some() {
                        prop_assert_eq!(b.value.alter_of(to), alter);
                    }
                }
            }
            if let Err(difference) = piece.same_page(&transpose(&moved, 0, by.back())) {
                return Err(TestCaseError::fail(difference.to_string()));
            }
        }
    }

    /// Source: common practice: the clarinet in B♭ reads a major second above what sounds.
    #[test]
    fn accidentals_ornaments_and_chords_move_along() {
        let mut piece =
            crate::sketch("key:1 C4/q F4/q!trill^natural F#4/q G4/q!turn^sharp |").expect("a sketch");
        piece.parts[0].events[0].ornaments.clear();
        let up = transpose(&piece, 0, Interval::new(1, 2));
        assert_eq!(up.parts[0].keys[0].value.fifths, Some(3));
        let printed: Vec<Option<&str>> = up.parts[0]
            .events
            .iter()
            .map(|event| event.heads()[0].accidental.as_ref().map(|a| a.sign.as_str()))
            .collect();
        // F natural in G is G natural in A, which has a sharp there.
        assert_eq!(printed, [None, Some("natural"), Some("sharp"), None]);
        let signs: Vec<&str> = up.parts[0]
            .events
            .iter()
            .flat_map(|e| &e.ornaments)
            .map(|o| o.accidentals[0].0.as_str())
            .collect();
        // Over F a G natural becomes an A natural; over G an A sharp becomes a B sharp.
        assert_eq!(signs, ["natural", "sharp"]);
        let chord = |text: &str, by| chord_name(text, by);
        assert_eq!(chord("Bbmaj7/D", Interval::new(1, 2)), "Cmaj7/E");
        assert_eq!(chord("F#m7b5", Interval::new(-2, -3)), "D#m7b5");
        assert_eq!(chord("N.C.", Interval::new(1, 2)), "N.C.");
        assert_eq!(chord("C6/9", Interval::new(4, 7)), "G6/9");
        assert_eq!(Interval::new(4, 7).fifths(), 1);
        assert_eq!(Interval::new(-2, -3).fifths(), 3);
    }
}
