//! Is it the same page? Two pieces compared as written music, whatever their ids, their origins, and the order in which
//! things at one place were listed; and where they differ, said so that a developer can go there.

mod canonical;

use crate::bar::{Bar, BarGroup, Barline};
use crate::changes::Change;
use crate::direction::{Direction, SoundHint};
use crate::event::Event;
use crate::piece::{Credits, Part, Piece};
use crate::place::{BarIndex, Place};
use crate::span::Span;
use std::fmt::{self, Debug};

/// The first thing in which two pieces differ as pages.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Difference {
    /// The part, by its name, or its number where it has none.
    pub part: Option<String>,
    /// Where, as far as it has a place.
    pub place: Option<Place>,
    /// The label of that bar.
    pub label: String,
    /// What differs: the thing, the field, and both values.
    pub what: String,
}

impl fmt::Display for Difference {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(part) = &self.part {
            write!(f, "{part}, ")?;
        }
        if let Some(place) = self.place {
            let (bar, offset) = (place.bar, place.offset);
            write!(f, "bar {} (index {bar}), {offset} quarters in: ", self.label)?;
        }
        f.write_str(&self.what)
    }
}

impl std::error::Error for Difference {}

impl Piece {
    /// Whether another piece is the same page: equal in all but ids, the source of ids, provenance, and the order in which
    /// things at one place are listed (the events of different voices, directions, spans). The order of changes at one
    /// place is kept, since the last one holds; so is the order of marks and heads at one event. Voices compare by name.
    ///
    /// # Errors
    /// The first difference, `here` being this piece and `there` the other.
    ///
    /// ```
    /// let here = notation::sketch("C4/q D4/q E4/h |").unwrap();
    /// let there = notation::sketch("C4/q D4/q. E4/q. |").unwrap();
    /// let difference = here.same_page(&there).unwrap_err();
    /// assert_eq!(
    ///     difference.to_string(),
    ///     "Sketch, bar 1 (index 0), 1 quarters in: event: duration is 1 here, 3/2 there"
    /// );
    /// ```
    pub fn same_page(&self, other: &Self) -> Result<(), Difference> {
        let (here, there) = (canonical::of(self), canonical::of(other));
        let whole = Compare {
            piece: self,
            part: None,
        };
        whole.one("credits", None, &here.credits, &there.credits)?;
        let concert = (here.concert_pitch, there.concert_pitch);
        whole.value("concert pitch", &concert.0, &concert.1)?;
        whole.list("bar", &here.bars, &there.bars)?;
        whole.value("order of sections", &here.section_orders, &there.section_orders)?;
        let names =
            |piece: &Self| -> Vec<String> { piece.parts.iter().map(|part| part.name.clone()).collect() };
        whole.value("names of the parts", &names(&here), &names(&there))?;
        for (number, (a, b)) in here.parts.iter().zip(&there.parts).enumerate() {
            let name = if a.name.trim().is_empty() {
                format!("part {}", number + 1)
            } else {
                a.name.clone()
            };
            let compare = Compare {
                piece: self,
                part: Some(name),
            };
            compare.parts(a, b)?;
        }
        whole.list("bar line", &here.barlines, &there.barlines)?;
        whole.list("sound hint", &here.sound_hints, &there.sound_hints)
    }
}

/// Something listed, with what a message about it says.
trait Item: PartialEq + Debug {
    /// Where it is.
    fn place(&self, index: usize) -> Option<Place>;
    /// The first field that differs, and both values.
    fn field(&self, other: &Self) -> Option<(&'static str, String, String)>;
}

/// The first of some fields in which two values differ.
macro_rules! first_field {
    ($a:expr, $b:expr; $($field:ident),+) => {{
        $(if $a.$field != $b.$field {
            return Some((stringify!($field), format!("{:?}", $a.$field), format!("{:?}", $b.$field)));
        })+
        None
    }};
}

impl Item for Event {
    fn place(&self, _: usize) -> Option<Place> {
        Some(self.place)
    }
    fn field(&self, other: &Self) -> Option<(&'static str, String, String)> {
        first_field!(self, other; place, kind, duration, written, grace, cue, voice, staff, printed, beams,
            articulations, ornaments, technical, fermatas, dynamics, arpeggio, lyrics)
    }
}

impl Item for Bar {
    fn place(&self, index: usize) -> Option<Place> {
        Some(Place::start_of(BarIndex::from_usize(index)))
    }
    fn field(&self, other: &Self) -> Option<(&'static str, String, String)> {
        first_field!(self, other; label, implicit, length, new_system, new_page)
    }
}

impl Item for Barline {
    fn place(&self, _: usize) -> Option<Place> {
        Some(self.place)
    }
    fn field(&self, other: &Self) -> Option<(&'static str, String, String)> {
        first_field!(self, other; part, place, side, style, repeat, ending, fermatas, segno, coda)
    }
}

impl Item for SoundHint {
    fn place(&self, _: usize) -> Option<Place> {
        Some(self.place)
    }
    fn field(&self, other: &Self) -> Option<(&'static str, String, String)> {
        first_field!(self, other; part, place, attributes)
    }
}

impl Item for Direction {
    fn place(&self, _: usize) -> Option<Place> {
        Some(self.place)
    }
    fn field(&self, other: &Self) -> Option<(&'static str, String, String)> {
        first_field!(self, other; place, kind, staff, voice, side, printed)
    }
}

impl Item for Span {
    fn place(&self, _: usize) -> Option<Place> {
        self.start.or(self.end).map(|anchor| anchor.place)
    }
    fn field(&self, other: &Self) -> Option<(&'static str, String, String)> {
        first_field!(self, other; kind, start, end, staff, side)
    }
}

impl Item for BarGroup {
    fn place(&self, _: usize) -> Option<Place> {
        Some(Place::start_of(self.start))
    }
    fn field(&self, other: &Self) -> Option<(&'static str, String, String)> {
        first_field!(self, other; kind, start, bars)
    }
}

impl<T: PartialEq + Debug> Item for Change<T> {
    fn place(&self, _: usize) -> Option<Place> {
        Some(self.place)
    }
    fn field(&self, other: &Self) -> Option<(&'static str, String, String)> {
        first_field!(self, other; place, value, staff, printed)
    }
}

impl Item for Credits {
    fn place(&self, _: usize) -> Option<Place> {
        None
    }
    fn field(&self, other: &Self) -> Option<(&'static str, String, String)> {
        first_field!(self, other; title, movement, numbers, people, rights, page_words)
    }
}

struct Compare<'p> {
    piece: &'p Piece,
    part: Option<String>,
}

impl Compare<'_> {
    fn parts(&self, a: &Part, b: &Part) -> Result<(), Difference> {
        self.value("short name", &a.abbreviation, &b.abbreviation)?;
        self.value("instrument", &a.instrument_name, &b.instrument_name)?;
        self.value("instrument sound", &a.instrument_sound, &b.instrument_sound)?;
        self.value("MIDI program", &a.midi_program, &b.midi_program)?;
        self.value("staves", &a.staves, &b.staves)?;
        self.value("staff lines", &a.staff_lines, &b.staff_lines)?;
        self.list("clef", &a.clefs, &b.clefs)?;
        self.list("key", &a.keys, &b.keys)?;
        self.list("metre", &a.metres, &b.metres)?;
        self.list("transposition", &a.transpositions, &b.transpositions)?;
        self.value("transposition of the player's part", &a.for_player, &b.for_player)?;
        self.list("event", &a.events, &b.events)?;
        self.value("voices", &a.voices, &b.voices)?;
        self.list("direction", &a.directions, &b.directions)?;
        self.list("span", &a.spans, &b.spans)?;
        self.list("group of bars", &a.bar_groups, &b.bar_groups)
    }

    fn differ(&self, place: Option<Place>, what: String) -> Difference {
        Difference {
            part: self.part.clone(),
            place,
            label: place.map_or_else(String::new, |place| self.piece.label(place.bar).to_owned()),
            what,
        }
    }

    fn value<T: PartialEq + Debug>(&self, name: &str, a: &T, b: &T) -> Result<(), Difference> {
        if a == b {
            return Ok(());
        }
        Err(self.differ(None, format!("{name}: {a:?} here, {b:?} there")))
    }

    fn one<T: Item>(&self, name: &str, place: Option<Place>, a: &T, b: &T) -> Result<(), Difference> {
        if a == b {
            return Ok(());
        }
        let what = match a.field(b) {
            Some((field, a, b)) => format!("{name}: {field} is {a} here, {b} there"),
            None => format!("{name}: {a:?} here, {b:?} there"),
        };
        Err(self.differ(place, what))
    }

    /// Two lists in canonical order; a thing that only one of them has is told from one that differs.
    fn list<T: Item>(&self, name: &str, a: &[T], b: &[T]) -> Result<(), Difference> {
        let Some(at) = (0..a.len().max(b.len())).find(|at| a.get(*at) != b.get(*at)) else {
            return Ok(());
        };
        let only =
            |item: &T, whose: &str| self.differ(item.place(at), format!("{name} only {whose}: {item:?}"));
        match (a.get(at), b.get(at)) {
            (Some(here), Some(_)) if a.len() > b.len() && a.get(at + 1) == b.get(at) => {
                Err(only(here, "here"))
            }
            (Some(_), Some(there)) if a.len() < b.len() && a.get(at) == b.get(at + 1) => {
                Err(only(there, "there"))
            }
            (Some(here), Some(there)) => self.one(name, here.place(at), here, there),
            (Some(here), None) => Err(only(here, "here")),
            (None, Some(there)) => Err(only(there, "there")),
            (None, None) => Ok(()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::direction::DirectionKind;
    use crate::sketch;

    fn piece() -> Piece {
        sketch(r#"key:-1 metre:3/4 "Andante" @p C5/q | ( F#4/q < F#4/q ) . F#4/q~ | F#4/h F4/q |."#)
            .expect("a sketch")
    }

    fn said(here: &Piece, there: &Piece) -> String {
        here.same_page(there)
            .map_or_else(|difference| difference.to_string(), |()| "same".to_owned())
    }

    #[test]
    fn other_ids_and_another_order_at_one_place_are_the_same_page() {
        let here = piece();
        let mut there = here.clone();
        let old: Vec<_> = there.parts[0].events.iter().map(|event| event.id).collect();
        let new: Vec<_> = old.iter().map(|id| there.ids.give(id.kind())).collect();
        let part = &mut there.parts[0];
        for (event, id) in part.events.iter_mut().zip(&new) {
            event.id = *id;
        }
        for anchor in part
            .spans
            .iter_mut()
            .flat_map(|span| [&mut span.start, &mut span.end])
            .flatten()
        {
            anchor.element = anchor
                .element
                .map(|id| old.iter().position(|of| *of == id).map_or(id, |at| new[at]));
        }
        part.directions.reverse();
        part.spans.reverse();
        there.provenance.source = "elsewhere".to_owned();
        assert_eq!(said(&here, &there), "same");
    }

    #[test]
    fn a_difference_says_where_and_what() {
        let here = piece();
        let mut there = here.clone();
        there.parts[0].events[2].cue = true;
        assert_eq!(
            said(&here, &there),
            "Sketch, bar 1 (index 1), 1 quarters in: event: cue is false here, true there"
        );
        let mut there = here.clone();
        there.parts[0].directions.remove(0);
        let message = said(&here, &there);
        assert!(
            message.starts_with("Sketch, bar 0 (index 0), 0 quarters in: direction only here:"),
            "{message}"
        );
        assert!(message.contains("Andante"), "{message}");
        let mut there = here.clone();
        there.parts[0].directions[0].kind = DirectionKind::Segno;
        assert!(said(&here, &there).contains("direction"));
        let mut there = here.clone();
        let end = here.parts[0].events[3].id;
        let slur = there.parts[0]
            .spans
            .iter_mut()
            .find(|span| span.kind == crate::SpanKind::Slur);
        slur.and_then(|span| span.end.as_mut()).expect("a slur").element = Some(end);
        assert!(
            said(&here, &there).contains("span: end is"),
            "{}",
            said(&here, &there)
        );
        let mut there = here.clone();
        there.bars[1].implicit = true;
        assert_eq!(
            said(&here, &there),
            "bar 1 (index 1), 0 quarters in: bar: implicit is false here, true there"
        );
        there.bars.pop();
        assert!(said(&there, &here).starts_with("bar"), "{}", said(&there, &here));
    }
}
