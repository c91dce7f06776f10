//! How does a player of a transposing instrument read a part out of a score at concert pitch? Written for the instrument.

use notation::{
    Change, Finding, IdKind, Interval, Piece, Place, Rational, Severity, Transposition, transpose,
};

/// From what is written for the player to what sounds, and whether the score itself says so.
fn of(score: &Piece, index: usize) -> Option<(Transposition, bool)> {
    let part = score.parts.get(index)?;
    if !score.concert_pitch || !part.transpositions.is_empty() {
        return None;
    }
    if let Some(stated) = part.for_player {
        return Some((stated, true));
    }
    let identified = instruments::identify(part)?;
    let usual = identified.instrument.transposition();
    // A name can say another pitch than the usual one (clarinet in A): then only the player knows the letters.
    let said = identified.pitched_in.and_then(|pitched| pitched.semitones);
    let agrees = said.is_none_or(|semitones| usual.semitones() == Rational::whole(i64::from(semitones)));
    (agrees && !usual.is_none()).then_some((usual, false))
}

/// Writes the one part of `alone` for its player, if it was taken out of a score at concert pitch.
pub(super) fn write_for_player(score: &Piece, index: usize, alone: &mut Piece) {
    let Some((transposition, _)) = of(score, index) else {
        return;
    };
    let sounds = Interval {
        diatonic: transposition.diatonic + 7 * transposition.octaves,
        chromatic: transposition.semitones(),
    };
    *alone = transpose(alone, 0, sounds.back());
    alone.concert_pitch = false;
    let id = alone.ids.give(IdKind::Change);
    if let Some(part) = alone.parts.first_mut() {
        part.for_player = None;
        part.transpositions = vec![Change {
            id,
            place: Place::default(),
            staff: None,
            value: transposition,
            printed: true,
        }];
    }
}

/// What the reader of the part should know of its pitch.
pub(crate) fn finding(score: &Piece, index: usize) -> Option<Finding> {
    if !score.concert_pitch || score.parts.len() < 2 {
        return None;
    }
    let by = |t: Transposition| {
        let semitones = t.semitones();
        let way = if semitones.is_negative() {
            "higher"
        } else {
            "lower"
        };
        let count = semitones.abs();
        let unit = if count == Rational::ONE {
            "semitone"
        } else {
            "semitones"
        };
        format!("{count} {unit} {way} than in the score")
    };
    Some(match of(score, index) {
        Some((transposition, true)) => Finding::new(
            Severity::Note,
            "part-written-for-player",
            format!(
                "the score is at concert pitch; its part is written for the player, {}",
                by(transposition)
            ),
            "",
        ),
        Some((transposition, false)) => Finding::new(
            Severity::Caution,
            "part-written-for-player",
            format!(
                "the score is at concert pitch and does not say how the part is written; it is written as usual for the instrument, {}",
                by(transposition)
            ),
            "check with the player which instrument it is for",
        ),
        None => Finding::new(
            Severity::Note,
            "part-at-concert-pitch",
            "the score is written at concert pitch, and so is the part taken out of it",
            "a player of a transposing instrument needs it transposed",
        ),
    })
}
