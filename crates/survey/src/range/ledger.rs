//! Which notes stand on ledger lines? An ottava and an octave clef save lines, so both are counted in.

use super::Note;
use crate::Context;
use notation::{Clef, Id, Pitch, Place, Rational};

/// Ledger lines of a part.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct LedgerLines {
    /// The note with the most ledger lines; the first of equals. `None` if no note has any.
    pub most: Option<LedgerNote>,
    /// How many notes have at least one ledger line.
    pub notes: usize,
    /// How many have three or more: where readers count lines.
    pub three_or_more: usize,
    /// Where those stand, the first note of each bar.
    pub three_or_more_at: Vec<(Place, Id)>,
    /// How many notes there are in all.
    pub of: usize,
}

/// A note on ledger lines.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct LedgerNote {
    /// The written pitch.
    pub pitch: Pitch,
    /// The clef it is read in.
    pub clef: Clef,
    /// How many lines.
    pub lines: u32,
    /// Above the staff or below.
    pub above: bool,
    /// How often that pitch stands with so many lines.
    pub times: usize,
    /// Where first.
    pub place: Place,
    /// The event.
    pub event: Id,
}

pub(super) fn ledger_lines(ctx: &Context, notes: &[Note]) -> LedgerLines {
    let mut answer = LedgerLines::default();
    for note in notes {
        let Some(clef) = note.clef else { continue };
        let five_lines = !ctx
            .part
            .staff_lines
            .iter()
            .any(|(staff, n)| *staff == note.head.staff && *n != 5);
        if !five_lines {
            continue;
        }
        answer.of += 1;
        let octaves = i32::from(note.ottava);
        let drawn = note
            .written
            .transposed(-7 * octaves, Rational::whole(i64::from(-12 * octaves)));
        let lines = clef.ledger_lines(drawn);
        if lines == 0 {
            continue;
        }
        answer.notes += 1;
        if lines >= 3 {
            answer.three_or_more += 1;
            if answer
                .three_or_more_at
                .last()
                .is_none_or(|(place, _)| place.bar != note.event.place.bar)
            {
                answer.three_or_more_at.push((note.event.place, note.event.id));
            }
        }
        match &mut answer.most {
            Some(most) if most.lines > lines => {}
            Some(most) if most.lines == lines => {
                most.times += usize::from(most.pitch == note.written);
            }
            most => {
                *most = Some(LedgerNote {
                    pitch: note.written,
                    clef,
                    lines,
                    above: clef.staff_position(drawn).is_some_and(|position| position > 8),
                    times: 1,
                    place: note.event.place,
                    event: note.event.id,
                });
            }
        }
    }
    answer
}

#[cfg(test)]
mod tests {
    use crate::Context;
    use notation::sketch;

    fn most(text: &str) -> Option<(String, u32, bool, usize)> {
        let piece = sketch(text).expect("a sketch");
        let ctx = Context::new(&piece, 0).expect("a part");
        super::super::answer(&ctx, None)
            .ledger
            .most
            .map(|m| (m.pitch.to_string(), m.lines, m.above, m.times))
    }

    /// Source: treble clef, middle C on one line below, C6 on two above (common practice).
    #[test]
    fn counts_lines_above_and_below() {
        assert_eq!(most("C4/q C6/q C6/q E4/q"), Some(("C6".into(), 2, true, 2)));
        assert_eq!(most("E3/q A5/q"), Some(("E3".into(), 3, false, 1)));
        assert_eq!(most("E4/q F5/q G5/q D4/q"), None);
        assert_eq!(most("clef:F4 C4/q"), Some(("C4".into(), 1, true, 1)));
    }

    #[test]
    fn an_ottava_saves_lines() {
        assert_eq!(most("8va C7/q 8va. A5/q"), Some(("C7".into(), 2, true, 1)));
    }
}
