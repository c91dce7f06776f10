//! What does a mark hold on to? A bar, an offset, a note, and all that the bar held then, so that it finds its place again.

use super::{Bars, OneNote, pitch_name};
use notation::{Anchor, BarIndex, Pitch, Place, Quarters, Rational};
use serde::{Deserialize, Deserializer, Serialize, Serializer};

/// A place that survives a corrected file of the piece.
///
/// Kept as JSON: `{"bar":4,"label":"5","offset":"1/2","pitch":"Bb4","grace":null,"context":"4 …"}`.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct Hold {
    /// The bar's index from 0.
    pub bar: u32,
    /// Its printed label.
    pub label: String,
    /// Quarter notes from its start, exact (`1/2`).
    #[serde(serialize_with = "exact", deserialize_with = "read_exact")]
    pub offset: Quarters,
    /// The note (`Bb4`), `r` for a rest, `x` for a head without pitch; `None` for a free place in the bar.
    pub pitch: Option<String>,
    /// Which of a group of grace notes, from 0.
    #[serde(default)]
    pub grace: Option<u16>,
    /// All that the bar held when this was written; equal texts, equal bars.
    pub context: String,
}

/// Where a hold is on the page of now.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Found {
    /// Bar, offset and element.
    pub anchor: Anchor,
    /// Whether bar and note are just what they were; if not, it is the likeliest place.
    pub sure: bool,
}

fn exact<S: Serializer>(offset: &Quarters, to: S) -> Result<S::Ok, S::Error> {
    to.collect_str(offset)
}

fn read_exact<'de, D: Deserializer<'de>>(from: D) -> Result<Quarters, D::Error> {
    let text = String::deserialize(from)?;
    Rational::parse(&text).ok_or_else(|| serde::de::Error::custom(format!("“{text}” is no offset")))
}

impl Hold {
    /// Whether both stand at the same place of the same page.
    #[must_use]
    pub fn is_at(&self, other: &Self) -> bool {
        (self.bar, self.offset, &self.pitch, self.grace)
            == (other.bar, other.offset, &other.pitch, other.grace)
    }

    /// The place, without its element.
    #[must_use]
    pub const fn place(&self) -> Place {
        Place {
            bar: BarIndex(self.bar),
            offset: self.offset,
        }
    }

    fn is_note(&self, note: &OneNote) -> bool {
        note.offset == self.offset && Some(&note.pitch) == self.pitch.as_ref() && note.grace == self.grace
    }
}

impl Bars {
    /// A hold on a note at a place, or on the free place; `None` if there is no such bar or note.
    ///
    /// ```
    /// use store::Bars;
    /// let piece = notation::sketch("C4/q D4/q E4/h | F4/w |").unwrap();
    /// let bars = Bars::of(&piece, 0);
    /// let hold = bars.hold(0, notation::Quarters::ONE, notation::Pitch::parse("D4")).unwrap();
    /// assert_eq!((hold.label.as_str(), hold.pitch.as_deref()), ("1", Some("D4")));
    /// assert!(bars.find(&hold).unwrap().sure);
    /// ```
    #[must_use]
    pub fn hold(&self, bar: u32, offset: Quarters, pitch: Option<Pitch>) -> Option<Hold> {
        let of = self.get(bar as usize)?;
        let note = match pitch {
            None => None,
            Some(pitch) => {
                let name = pitch_name(pitch);
                let at = |note: &&OneNote| note.offset == offset && note.pitch == name;
                // The main note goes before a grace note of the same name.
                let main = of.notes.iter().filter(at).find(|note| note.grace.is_none());
                Some(main.or_else(|| of.notes.iter().find(at))?)
            }
        };
        Some(self.hold_on(bar, offset, note))
    }

    /// A hold on what an anchor of the same piece belongs to; `None` if it is not in this part.
    #[must_use]
    pub fn hold_anchor(&self, anchor: &Anchor) -> Option<Hold> {
        let bar = anchor.place.bar;
        let of = self.get(bar.get())?;
        let Some(element) = anchor.element else {
            return Some(self.hold_on(bar.0, anchor.place.offset, None));
        };
        let of_head = of.notes.iter().find(|note| note.head == Some(element));
        let of_event = || of.notes.iter().find(|note| note.event == element);
        match of_head.or_else(of_event) {
            Some(note) => Some(self.hold_on(bar.0, note.offset, Some(note))),
            // A sign of the page (a clef, a word): its place is what can be held on to.
            None => Some(self.hold_on(bar.0, anchor.place.offset, None)),
        }
    }

    pub(super) fn hold_on(&self, bar: u32, offset: Quarters, note: Option<&OneNote>) -> Hold {
        let of = self.get(bar as usize);
        Hold {
            bar,
            label: of.map(|bar| bar.label.clone()).unwrap_or_default(),
            offset,
            pitch: note.map(|note| note.pitch.clone()),
            grace: note.and_then(|note| note.grace),
            context: of.map(|bar| bar.text.clone()).unwrap_or_default(),
        }
    }

    /// Where a hold is on this page; `None` if it can't be found.
    ///
    /// Surely, where its bar is just what it was; else at the same place of a bar that is, nearest by; else at its own place, where
    /// its note still stands.
    #[must_use]
    pub fn find(&self, hold: &Hold) -> Option<Found> {
        let own = hold.bar as usize;
        let same = |bar: usize| self.get(bar).is_some_and(|of| of.text == hold.context);
        if same(own) {
            return self.found(hold, own, true);
        }
        let elsewhere = (0..self.len())
            .filter(|bar| same(*bar))
            .min_by_key(|bar| bar.abs_diff(own));
        elsewhere
            .and_then(|bar| self.found(hold, bar, false))
            .or_else(|| self.found(hold, own, false))
    }

    fn found(&self, hold: &Hold, bar: usize, sure: bool) -> Option<Found> {
        let of = self.get(bar)?;
        let element = match &hold.pitch {
            None if hold.offset > of.length => return None,
            None => None,
            Some(_) => {
                let note = of.notes.iter().find(|note| hold.is_note(note))?;
                Some(note.head.unwrap_or(note.event))
            }
        };
        Some(Found {
            anchor: Anchor {
                place: Place {
                    bar: BarIndex::from_usize(bar),
                    offset: hold.offset,
                },
                element,
            },
            sure,
        })
    }

    /// The index of a hold's note in its bar.
    pub(super) fn note_of(&self, hold: &Hold) -> Option<usize> {
        self.get(hold.bar as usize)?
            .notes
            .iter()
            .position(|note| hold.is_note(note))
    }
}
