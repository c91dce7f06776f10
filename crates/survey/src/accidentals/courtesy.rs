//! Where would a courtesy accidental save a slip? Only where the last thing read was another form of the same letter.

use super::NaturalName;
use super::reading::{How, Note, Slot};
use notation::{Alter, BarIndex, Id, Pitch, Place, Step};
use std::collections::BTreeMap;

/// Why a note deserves a courtesy accidental.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub enum CourtesyReason {
    /// A tie carried the accidental over the bar line for the tied note alone; here the note reverts.
    AfterTie,
    /// The same letter was altered in this bar in another octave.
    OtherOctave,
    /// An accidental earlier in the bar still holds, but the clef has changed since.
    ClefChange,
    /// The bar line cancelled the accidental on this very line or space.
    NextBar,
    /// The signature changed, and the letter was just read in its old form.
    KeyChange,
    /// Coming back by a repeat or jump from a bar that left the note in another form.
    RepeatBack,
    /// The letter was altered in another octave in the bar before.
    NextBarOtherOctave,
}

/// How much it is needed.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub enum Strength {
    /// Readers go wrong here.
    Firm,
    /// Some readers do.
    Gentle,
}

impl CourtesyReason {
    /// The word used in JSON.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::AfterTie => "after-tie",
            Self::OtherOctave => "other-octave",
            Self::ClefChange => "clef-change",
            Self::NextBar => "next-bar",
            Self::KeyChange => "key-change",
            Self::RepeatBack => "repeat-back",
            Self::NextBarOtherOctave => "next-bar-other-octave",
        }
    }

    /// How much it is needed. Source: common practice; the tie is the one most needed.
    #[must_use]
    pub const fn strength(self) -> Strength {
        match self {
            Self::NextBarOtherOctave => Strength::Gentle,
            _ => Strength::Firm,
        }
    }
}

/// A courtesy accidental, suggested or already printed.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Courtesy {
    /// Where.
    pub place: Place,
    /// The event.
    pub event: Id,
    /// The head.
    pub head: Id,
    /// The note as it is to be read: its alteration is the sign to write.
    pub written: Pitch,
    /// Why; `None` for a printed one that repeats what was clear.
    pub reason: Option<CourtesyReason>,
    /// The other form that was read before, and where, if there is a reason.
    pub other: Option<(Pitch, Place)>,
}

impl Courtesy {
    /// The reason as a clause.
    #[must_use]
    pub fn says(&self) -> String {
        let name = self.written.class_sign_natural();
        let Some((reason, (other, _))) = self.reason.zip(self.other) else {
            return format!("{name}, repeated to be safe");
        };
        let other = other.class_sign_natural();
        match reason {
            CourtesyReason::AfterTie => {
                format!("{name} again: the tie carried {other} over for the tied note alone")
            }
            CourtesyReason::OtherOctave => {
                format!("{name} here, though {other} stood in another octave of this bar")
            }
            CourtesyReason::ClefChange => format!("still {name}, though the clef has changed since the sign"),
            CourtesyReason::NextBar => format!("{name} again: the bar line cancelled {other}"),
            CourtesyReason::KeyChange => format!("{name} now, by the new signature; {other} before"),
            CourtesyReason::RepeatBack => format!("{name} again when coming back, after {other}"),
            CourtesyReason::NextBarOtherOctave => {
                format!("{name} here, though {other} stood in another octave of the bar before")
            }
        }
    }
}

/// The last form of a letter that was read.
#[derive(Clone, Copy)]
struct Form {
    pitch: Pitch,
    place: Place,
    /// The signature at the time, to tell a change of key from an accidental.
    signature: Alter,
}

/// What one bar leaves in the reader's ear and eye.
#[derive(Clone, Default)]
struct BarForms {
    by_slot: BTreeMap<Slot, Form>,
    by_letter: BTreeMap<(u8, Step), Form>,
    /// Notes tied into the bar and not struck again since.
    tied_over: BTreeMap<Slot, Form>,
}

/// Courtesies missing, and courtesies printed.
pub(super) fn courtesies(notes: &[Note], play_order: &[BarIndex]) -> (Vec<Courtesy>, Vec<Courtesy>) {
    let comes_from = jumps_into(play_order);
    let left = if comes_from.is_empty() {
        BTreeMap::new()
    } else {
        forms_left(notes, &comes_from)
    };
    let (mut suggested, mut printed) = (Vec::new(), Vec::new());
    let mut before = BarForms::default();
    let mut here = BarForms::default();
    let mut bar = BarIndex::default();
    for note in notes.iter().filter(|note| note.own()) {
        if note.bar() != bar {
            // Only the bar right before is still in the reader's eye.
            before = if note.bar() == bar.next() {
                std::mem::take(&mut here)
            } else {
                BarForms::default()
            };
            here = BarForms::default();
            bar = note.bar();
        }
        let jumped: Vec<&BarForms> = comes_from
            .get(&bar)
            .into_iter()
            .flatten()
            .filter_map(|from| left.get(from))
            .collect();
        let found = reason(note, &here, &before, &jumped);
        let silent = !note.printed && !note.tied && note.how != How::Unmarked;
        let courtesy = |found: Option<(CourtesyReason, Form)>| Courtesy {
            place: note.event.place,
            event: note.event.id,
            head: note.head.id,
            written: note.pitch,
            reason: found.map(|(reason, _)| reason),
            other: found.map(|(_, form)| (form.pitch, form.place)),
        };
        if silent && found.is_some() {
            suggested.push(courtesy(found));
        } else if note.says_nothing_new() {
            printed.push(courtesy(found));
        }
        remember(&mut here, note);
    }
    (suggested, printed)
}

fn remember(here: &mut BarForms, note: &Note) {
    let form = Form {
        pitch: note.pitch,
        place: note.event.place,
        signature: note.signature,
    };
    let from_bar_before = note.tied && !here.by_slot.contains_key(&note.slot);
    if from_bar_before && note.altered() {
        here.tied_over.insert(note.slot, form);
    } else if !note.tied {
        here.tied_over.remove(&note.slot);
    }
    here.by_slot.insert(note.slot, form);
    here.by_letter.insert((note.slot.0, note.pitch.step), form);
}

/// The first reason that applies, the most pressing first.
fn reason(
    note: &Note,
    here: &BarForms,
    before: &BarForms,
    jumped: &[&BarForms],
) -> Option<(CourtesyReason, Form)> {
    if note.tied {
        return None;
    }
    let differs = |form: &&Form| form.pitch.alter != note.pitch.alter;
    let letter = (note.slot.0, note.pitch.step);
    if let Some(form) = here.tied_over.get(&note.slot).filter(differs) {
        return Some((CourtesyReason::AfterTie, *form));
    }
    if note.altered() && note.live_clef.is_some() && note.live_clef != note.clef {
        let form = here.by_slot.get(&note.slot)?;
        return Some((CourtesyReason::ClefChange, *form));
    }
    if let Some(form) = here.by_letter.get(&letter).filter(differs) {
        // The letter's last form in this bar was another one; in this octave it would have been printed.
        return (form.pitch.octave != note.pitch.octave).then_some((CourtesyReason::OtherOctave, *form));
    }
    if here.by_slot.contains_key(&note.slot) {
        return None;
    }
    // The first time on this line or space in the bar.
    let seen_in_bar = here.by_letter.contains_key(&letter);
    if let Some(form) = before.by_slot.get(&note.slot).filter(differs) {
        return Some((why(form, note), *form));
    }
    if let Some(form) = jumped
        .iter()
        .find_map(|forms| forms.by_slot.get(&note.slot).filter(differs))
    {
        return Some((CourtesyReason::RepeatBack, *form));
    }
    if seen_in_bar || before.by_slot.contains_key(&note.slot) {
        return None;
    }
    let form = before.by_letter.get(&letter).filter(differs)?;
    match why(form, note) {
        CourtesyReason::KeyChange => Some((CourtesyReason::KeyChange, *form)),
        _ => Some((CourtesyReason::NextBarOtherOctave, *form)),
    }
}

/// A form that was the old signature's is past by the new one; any other by the bar line.
fn why(form: &Form, note: &Note) -> CourtesyReason {
    if form.pitch.alter == form.signature && form.signature != note.signature {
        CourtesyReason::KeyChange
    } else {
        CourtesyReason::NextBar
    }
}

/// For each bar the bars from which it is entered other than from the bar before it.
fn jumps_into(play_order: &[BarIndex]) -> BTreeMap<BarIndex, Vec<BarIndex>> {
    let mut jumps: BTreeMap<BarIndex, Vec<BarIndex>> = BTreeMap::new();
    for pair in play_order.windows(2) {
        if let [from, to] = pair
            && *to != from.next()
        {
            let sources = jumps.entry(*to).or_default();
            if !sources.contains(from) {
                sources.push(*from);
            }
        }
    }
    jumps
}

/// What the bars that are left by a jump leave behind.
fn forms_left(notes: &[Note], jumps: &BTreeMap<BarIndex, Vec<BarIndex>>) -> BTreeMap<BarIndex, BarForms> {
    let mut left: BTreeMap<BarIndex, BarForms> = jumps
        .values()
        .flatten()
        .map(|bar| (*bar, BarForms::default()))
        .collect();
    for note in notes.iter().filter(|note| note.own()) {
        if let Some(forms) = left.get_mut(&note.bar()) {
            let form = Form {
                pitch: note.pitch,
                place: note.event.place,
                signature: note.signature,
            };
            forms.by_slot.insert(note.slot, form);
        }
    }
    left
}
