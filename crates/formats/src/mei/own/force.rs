//! What does our own writer put into force? Every change as the page has it, told again or not, for one staff or for all.

use super::super::force::Force;
use super::super::music::Music;
use super::{after, has, text};
use crate::xml::El;
use notation::{
    Change, Clef, ClefSign, IdKind, KeySignature, Metre, Place, Quarters, Rational, Transposition,
};

/// One change on one staff.
pub(super) struct OwnForce {
    what: What,
    printed: bool,
    /// The same change as on an earlier staff.
    copied: bool,
    this_staff: bool,
}

enum What {
    Clef(Clef),
    Key(KeySignature),
    Metre(Metre),
    Transposition(Transposition),
}

fn change_of(el: El<'_, '_>) -> Option<OwnForce> {
    let mut force = Force::default();
    force.element(el);
    let mut printed = el.attr("visible") != Some("false");
    if has(el, "printed") {
        printed = true;
    }
    let what = if let Some((mut clef, _)) = force.clef {
        if has(el, "no-clef") || has(el, "jianpu") {
            clef.sign = if has(el, "jianpu") {
                ClefSign::Jianpu
            } else {
                ClefSign::None
            };
            printed = has(el, "printed");
        }
        if el.attr("line").is_none() || has(el, "line-0") {
            clef.line = 0;
        }
        What::Clef(clef)
    } else if let Some((mut key, _)) = force.key {
        if let Some(mode) = el.attr("label").and_then(|label| label.strip_prefix("mode: ")) {
            key.declared_mode = Some(mode.to_owned());
        }
        if el.attr("sig") == Some("mixed") {
            key.fifths = None;
        }
        What::Key(key)
    } else {
        What::Metre(force.metre?.0)
    };
    Some(OwnForce {
        what,
        printed,
        copied: el.attr("corresp").is_some(),
        this_staff: has(el, "this-staff"),
    })
}

fn transposition_of(el: El<'_, '_>) -> Option<OwnForce> {
    let number = |name: &str| {
        el.attr(name)
            .and_then(|text| text.parse::<i32>().ok())
            .filter(|n| n.abs() <= 10_000)
    };
    let (diatonic, semitones) = (number("trans.diat")?, number("trans.semi")?);
    let octaves = after(el, "octaves.")
        .and_then(|text| text.parse().ok())
        .unwrap_or(semitones / 12);
    let octaves: i32 = octaves.clamp(-20, 20);
    Some(OwnForce {
        what: What::Transposition(Transposition {
            diatonic: diatonic - 7 * octaves,
            chromatic: Rational::whole(i64::from(semitones - 12 * octaves)),
            octaves,
            doubled: has(el, "octave-doubled"),
        }),
        printed: !has(el, "transposition-unprinted"),
        copied: has(el, "transposition-copied"),
        this_staff: has(el, "transposition-this-staff"),
    })
}

impl<'a> Music<'a> {
    /// Keeps what a `staffDef` of ours says till the next bar; true if the file is ours.
    pub(in super::super) fn own_staff_def(&mut self, el: El<'_, 'a>, staff: usize) -> bool {
        let Some(own) = &mut self.own else { return false };
        let changes = el.children().filter_map(change_of);
        own.pending
            .extend(changes.chain(transposition_of(el)).map(|change| (staff, change)));
        true
    }

    /// Names as they stand, the instrument, lines that are none.
    pub(in super::super) fn own_names(&mut self, el: El<'_, 'a>, part: usize) {
        if self.own.is_none() {
            return;
        }
        let source = self.text;
        let Some(state) = self.parts.get_mut(part) else {
            return;
        };
        if let Some(label) = el.child("label") {
            state.part.name = text::raw(source, label);
            state.name.clone_from(&state.part.name);
        }
        if let Some(label) = el.child("labelAbbr") {
            state.part.abbreviation = text::raw(source, label);
        }
        if let Some(instrument) = el.child("instrDef") {
            state.part.instrument_name = instrument.attr("label").map(str::to_owned);
            state.part.instrument_sound = instrument
                .attr("type")
                .or(instrument.attr("n"))
                .map(str::to_owned);
        }
        if has(el, "lines-0")
            && let Some((_, lines)) = state.part.staff_lines.last_mut()
        {
            *lines = 0;
        }
    }

    /// The words of the first definition of the score.
    pub(in super::super) fn own_score_def(&mut self, el: El<'_, 'a>) {
        if let Some(own) = &mut self.own {
            own.concert_pitch |= has(el, "concert-pitch");
        }
    }

    /// Puts what waits for a bar into force at its start.
    pub(in super::super) fn own_pending(&mut self) {
        let pending = self
            .own
            .as_mut()
            .map(|own| std::mem::take(&mut own.pending))
            .unwrap_or_default();
        for (staff, change) in pending {
            self.own_change(staff, change, Quarters::ZERO);
        }
    }

    /// A change between the notes; true if the file is ours.
    pub(in super::super) fn own_inline(&mut self, el: El<'_, 'a>, staff: usize, offset: Quarters) -> bool {
        if self.own.is_none() {
            return false;
        }
        let offset = super::lines::at(el).unwrap_or(offset);
        if let Some(change) = change_of(el) {
            self.own_change(staff, change, offset);
        }
        true
    }

    fn own_change(&mut self, staff: usize, change: OwnForce, offset: Quarters) {
        let Some((part, index)) = self.staves.get(staff).map(|staff| (staff.part, staff.index)) else {
            return;
        };
        let place = self.place(offset);
        let several = self.parts.get(part).is_some_and(|state| state.part.staves > 1);
        let of_staff = (several || change.this_staff).then_some(index);
        let id = self.score.piece.ids.give(IdKind::Change);
        self.score.taken += 1;
        let bar = self.bar;
        let Some(state) = self.parts.get_mut(part) else {
            return;
        };
        let OwnForce {
            what,
            printed,
            copied,
            ..
        } = change;
        match what {
            What::Clef(value) => put(&mut state.part.clefs, id, place, of_staff, value, printed, copied),
            What::Key(value) => put(&mut state.part.keys, id, place, of_staff, value, printed, copied),
            What::Transposition(value) => {
                put(
                    &mut state.part.transpositions,
                    id,
                    place,
                    of_staff,
                    value,
                    printed,
                    copied,
                );
            }
            What::Metre(value) => {
                if index == 1 {
                    let unit = value.parts.first().map_or(4, |part| part.beat_type);
                    if offset.is_zero() {
                        state.metre = value.length();
                        state.next_metre = None;
                        state.units.push((bar, unit));
                    } else {
                        state.next_metre = Some(value.length());
                        state.units.push((bar.next(), unit));
                    }
                }
                put(
                    &mut state.part.metres,
                    id,
                    place,
                    of_staff,
                    value,
                    printed,
                    copied,
                );
            }
        }
    }
}

/// Adds a change, or, if it is the copy of one, lets that one be for all staves.
fn put<T: PartialEq>(
    changes: &mut Vec<Change<T>>,
    id: notation::Id,
    place: Place,
    staff: Option<u8>,
    value: T,
    printed: bool,
    copied: bool,
) {
    if copied {
        let known = changes
            .iter_mut()
            .rev()
            .find(|known| known.place == place && known.value == value);
        if let Some(known) = known {
            known.staff = None;
            return;
        }
    }
    changes.push(Change {
        id,
        place,
        staff,
        value,
        printed,
    });
}
