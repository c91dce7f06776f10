//! Where does one letter come in two forms? Right after each other, or close together.

use super::reading::Note;
use notation::{Id, Pitch, Place, Step};
use std::collections::BTreeMap;

/// At most one note lies between the two forms of a double inflection.
const RIGHT_AFTER: usize = 2;
/// Over a bar line, forms count as close with at most three notes between.
const CLOSE: usize = 4;

/// One line or space in two forms right after each other (at most one note between).
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct DoubleInflection {
    /// The form read first.
    pub first: Pitch,
    /// The form read second.
    pub second: Pitch,
    /// Where the first stands.
    pub first_at: (Place, Id),
    /// Where the second stands.
    pub second_at: (Place, Id),
}

/// A letter in two forms close together: in one bar, or within four notes over the bar line.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct TwoForms {
    /// The letter.
    pub step: Step,
    /// The forms in order of appearance, each once.
    pub forms: Vec<Pitch>,
    /// Where each change of form stands: the note before, the note after.
    pub changes: Vec<((Place, Id), (Place, Id))>,
}

/// The last appearance of a letter: its number in the order of notes, its form, where.
type Last = (usize, Pitch, (Place, Id));

/// Both lists in order of place.
pub(super) fn forms(notes: &[Note]) -> (Vec<DoubleInflection>, Vec<TwoForms>) {
    let mut last: BTreeMap<(u8, Step), Last> = BTreeMap::new();
    let (mut doubles, mut twos): (Vec<DoubleInflection>, Vec<TwoForms>) = (Vec::new(), Vec::new());
    let own = notes.iter().filter(|note| note.own() && !note.tied);
    for (index, note) in own.enumerate() {
        let here = (note.event.place, note.event.id);
        let before = last.insert((note.slot.0, note.pitch.step), (index, note.pitch, here));
        let Some((was, pitch, at)) = before.filter(|(_, pitch, _)| pitch.alter != note.pitch.alter) else {
            continue;
        };
        let gap = index - was;
        let same_bar = at.0.bar == here.0.bar;
        let next_bar = at.0.bar.next() == here.0.bar;
        if pitch.octave == note.pitch.octave && gap <= RIGHT_AFTER && (same_bar || next_bar) {
            doubles.push(DoubleInflection {
                first: pitch,
                second: note.pitch,
                first_at: at,
                second_at: here,
            });
        } else if same_bar || next_bar && gap <= CLOSE {
            add(&mut twos, pitch, note.pitch, at, here);
        }
    }
    (doubles, twos)
}

/// Changes of one letter in one bar are one entry.
fn add(twos: &mut Vec<TwoForms>, first: Pitch, second: Pitch, at: (Place, Id), here: (Place, Id)) {
    let same = twos.iter_mut().rev().take(7).find(|two| {
        two.step == second.step && two.changes.last().is_some_and(|(_, to)| to.0.bar == here.0.bar)
    });
    let entry = match same {
        Some(entry) => entry,
        None => {
            twos.push(TwoForms {
                step: second.step,
                forms: Vec::new(),
                changes: Vec::new(),
            });
            let Some(entry) = twos.last_mut() else { return };
            entry
        }
    };
    for pitch in [first, second] {
        if !entry.forms.contains(&pitch) {
            entry.forms.push(pitch);
        }
    }
    entry.changes.push((at, here));
}
