//! How is each ornament played? Written out in small notes, where somebody asks for it.

use super::at;
use crate::{Legend, Matter};
use notation::{Event, KeySignature, PencilMark, Pitch, Quarters, SmallNote, Step};
use performance::ornament::written_out as small_values;
use performance::play::OrnamentPlayed;
use std::collections::BTreeMap;
use survey::Context;

/// More notes than these are not written out: the first, "and so on", the last. Judgement: a trill is understood by then.
const MOST: usize = 12;
/// How many of the first and of the last are kept.
const KEPT: (usize, usize) = (6, 4);

/// A mark over each ornament of a part with its notes, as it was played; of a legend that doesn't want them none.
#[must_use]
pub fn written_out(ctx: &Context, played: &[OrnamentPlayed], legend: &Legend) -> Vec<PencilMark> {
    let rule = legend.rule(Matter::Ornaments);
    if !rule.wanted {
        return Vec::new();
    }
    played
        .iter()
        .filter_map(|one| {
            let event = ctx.part.events.iter().find(|event| event.id == one.event)?;
            let small_notes = small(ctx, event, &one.notes)?;
            let reason = format!("The {}, written out: {}.", one.mark, one.rule);
            let mut mark = PencilMark::new(rule.sign, at(one.place, one.event), reason);
            mark.small_notes = small_notes;
            "ornaments".clone_into(&mut mark.question);
            Matter::Ornaments.name().clone_into(&mut mark.matter);
            mark.pencil = rule.pencil;
            // Asked for: never left out for want of worth.
            mark.kept = true;
            Some(mark)
        })
        .collect()
}

/// The notes as they stand on the staff of their event; `None` where a clef gives no pitch, or nothing is added to the page.
fn small(ctx: &Context, event: &Event, notes: &[(Pitch, Quarters)]) -> Option<Vec<SmallNote>> {
    if notes.len() < 2 {
        return None;
    }
    let staff = event.heads().first().map_or(1, |head| head.staff);
    let clef = ctx.part.clef_at(staff, event.place)?;
    let key = ctx.part.key_at(staff, event.place);
    // Under 8va the page shows the notes an octave lower than they are.
    let ottava = 7 * i32::from(ctx.part.ottava_at(staff, event.place));
    let mut altered: BTreeMap<(Step, i32), notation::Alter> = BTreeMap::new();
    let mut small = Vec::new();
    for note in small_values(notes) {
        let pitch = note.pitch;
        let known = altered
            .get(&(pitch.step, i32::from(pitch.octave)))
            .copied()
            .unwrap_or_else(|| in_signature(key, pitch.step));
        let accidental = (known != pitch.alter).then(|| sign(pitch.alter));
        altered.insert((pitch.step, i32::from(pitch.octave)), pitch.alter);
        small.push(SmallNote::Note {
            position: clef.staff_position(pitch)? - ottava,
            accidental,
            values: note.values,
        });
    }
    if small.len() > MOST {
        small.splice(KEPT.0..small.len() - KEPT.1, [SmallNote::AndSoOn]);
    }
    Some(small)
}

fn sign(alter: notation::Alter) -> String {
    if alter.is_zero() {
        "♮".to_owned()
    } else {
        notation::alter_sign(alter)
    }
}

fn in_signature(key: Option<&KeySignature>, step: Step) -> notation::Alter {
    key.map(|key| key.alter_of(step)).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;
    use notation::{Piece, sketch};
    use performance::play::{PlayOptions, perform};

    fn marks(piece: &Piece, legend: &Legend) -> Vec<PencilMark> {
        let ctx = Context::new(piece, 0).expect("a part");
        let played = perform(piece, 0, &PlayOptions::default())
            .expect("played")
            .ornaments;
        written_out(&ctx, &played, legend)
    }

    /// Position, accidental and how many tied values of each note.
    fn read(mark: &PencilMark) -> Vec<(i32, String, usize)> {
        mark.small_notes
            .iter()
            .map(|note| match note {
                SmallNote::Note {
                    position,
                    accidental,
                    values,
                } => (*position, accidental.clone().unwrap_or_default(), values.len()),
                SmallNote::AndSoOn => (0, "…".to_owned(), 0),
            })
            .collect()
    }

    #[test]
    fn a_turn_stands_on_its_lines_with_the_accidentals_that_the_signature_lacks() {
        let piece = sketch("key:1 metre:4/4 mm:q=60 G4/q!turn A4/q B4/h |").expect("a sketch");
        let legend = Legend::default().with(Matter::Ornaments);
        let [mark] = &marks(&piece, &legend)[..] else {
            panic!("one ornament")
        };
        let notes = read(mark);
        let positions: Vec<i32> = notes.iter().map(|note| note.0).collect();
        assert!(
            positions.contains(&2) && positions.contains(&3) && positions.contains(&1),
            "{notes:?}"
        );
        assert!(
            notes.iter().all(|note| note.1.is_empty()),
            "F sharp is in the signature: {notes:?}"
        );
        assert!(mark.kept && mark.reason.contains("turn"), "{}", mark.reason);
        assert!(marks(&piece, &Legend::default()).is_empty(), "only on request");
    }

    #[test]
    fn an_inflected_trill_shows_its_accidental_once_and_a_long_one_is_cut_short() {
        let piece = sketch("metre:4/4 mm:q=60 B4/w!trill^sharp |").expect("a sketch");
        let legend = Legend::default().with(Matter::Ornaments);
        let marks = marks(&piece, &legend);
        let notes = read(&marks[0]);
        assert_eq!(notes.iter().filter(|note| note.1 == "♯").count(), 1, "{notes:?}");
        assert_eq!(notes.iter().filter(|note| note.1 == "…").count(), 1, "{notes:?}");
        assert_eq!(notes.len(), KEPT.0 + 1 + KEPT.1);
    }

    #[test]
    fn a_long_grace_note_is_written_with_what_is_left_of_its_note() {
        let piece = sketch("metre:4/4 mm:q=60 a:D5/e C5/h B4/h |").expect("a sketch");
        let ctx = Context::new(&piece, 0).expect("a part");
        let options = PlayOptions {
            period: performance::ornament::Period::Baroque,
            ..PlayOptions::default()
        };
        let played = perform(&piece, 0, &options).expect("played").ornaments;
        let [mark] = &written_out(&ctx, &played, &Legend::default().with(Matter::Ornaments))[..] else {
            panic!("one: {played:?}")
        };
        assert_eq!(read(mark), [(6, String::new(), 1), (5, String::new(), 1)]);
        assert!(mark.reason.contains("half of its note"), "{}", mark.reason);
    }
}
