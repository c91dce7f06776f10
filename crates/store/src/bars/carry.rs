//! Where does a mark go when the file is corrected? With its bar and its note; what can't be placed is said, never dropped.

use super::align::align;
use super::{Bars, Hold, OneBar, within};
use notation::Quarters;
use serde::{Deserialize, Serialize};

/// What became of a hold, best first.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Fate {
    /// Bar and note are what they were, where they were.
    Stays,
    /// The same note, in another bar or elsewhere in it.
    Moved,
    /// The likeliest place: its note was changed, or the end of a stretch went to the nearest bar still there.
    Doubtful,
    /// Nothing like it is left.
    Unplaced,
}

/// A hold on the new page, and how it came there. What is unplaced keeps its old hold.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Carried {
    /// Where it is now.
    pub hold: Hold,
    /// How sure that is.
    pub fate: Fate,
}

/// The old page laid beside the new one.
pub(crate) struct Carrier<'a> {
    old: &'a Bars,
    new: &'a Bars,
    /// For each old bar the new one.
    map: Vec<Option<usize>>,
    /// New bars that no old bar is.
    free: Vec<usize>,
}

/// Carries holds from one page to another: alignment of all bars by what they hold, then of the notes within each changed bar.
///
/// ```
/// use store::{Bars, Fate, carry};
/// let old = notation::sketch("C4/q D4/q E4/h | F4/w | G4/w |").unwrap();
/// let new = notation::sketch("B3/w | C4/q D4/q E4/h | F4/w | A4/w |").unwrap();
/// let (old, new) = (Bars::of(&old, 0), Bars::of(&new, 0));
/// let d = old.hold(0, notation::Quarters::ONE, notation::Pitch::parse("D4")).unwrap();
/// let g = old.hold(2, notation::Quarters::ZERO, notation::Pitch::parse("G4")).unwrap();
/// let carried = carry(&old, &new, &[d, g]);
/// assert_eq!((carried[0].hold.bar, carried[0].fate), (1, Fate::Moved));
/// assert_eq!((carried[1].hold.pitch.as_deref(), carried[1].fate), (Some("A4"), Fate::Doubtful));
/// ```
#[must_use]
pub fn carry(old: &Bars, new: &Bars, holds: &[Hold]) -> Vec<Carried> {
    let carrier = Carrier::new(old, new);
    holds.iter().map(|hold| carrier.one(hold)).collect()
}

impl<'a> Carrier<'a> {
    pub(crate) fn new(old: &'a Bars, new: &'a Bars) -> Self {
        let map = align(old, new);
        let mut taken = vec![false; new.len()];
        for to in map.iter().flatten() {
            if let Some(slot) = taken.get_mut(*to) {
                *slot = true;
            }
        }
        let free = (0..new.len())
            .filter(|bar| taken.get(*bar) == Some(&false))
            .collect();
        Self { old, new, map, free }
    }

    /// The new bar of an old one, by index.
    pub(crate) fn bar(&self, old: usize) -> Option<usize> {
        self.map.get(old).copied().flatten()
    }

    /// Carries one hold.
    pub(crate) fn one(&self, hold: &Hold) -> Carried {
        let lost = Carried {
            hold: hold.clone(),
            fate: Fate::Unplaced,
        };
        let Some(from) = self.where_it_was(hold) else {
            // Unplaced since an earlier file: perhaps its bar is back.
            return self.back_again(hold).unwrap_or(lost);
        };
        let Some(to) = self.bar(from.bar as usize) else {
            return self.moved_away(&from).unwrap_or(lost);
        };
        let (Some(was), Some(is)) = (self.old.get(from.bar as usize), self.new.get(to)) else {
            return lost;
        };
        self.within_bar(&from, was, to, is).unwrap_or(lost)
    }

    /// Carries both ends of a stretch. An end whose note or bar is gone goes to the nearest bar of the stretch still there.
    pub(crate) fn stretch(&self, from: &Hold, to: &Hold) -> (Carried, Carried) {
        let (mut first, mut last) = (self.one(from), self.one(to));
        let bars = from.bar as usize..=to.bar as usize;
        if first.fate == Fate::Unplaced
            && let Some(bar) = bars.clone().find_map(|bar| self.bar(bar))
        {
            first = self.end(bar, Quarters::ZERO);
        }
        if last.fate == Fate::Unplaced
            && let Some(bar) = bars.rev().find_map(|bar| self.bar(bar))
        {
            let last_note = self.new.get(bar).and_then(|bar| bar.notes.last());
            last = self.end(bar, last_note.map_or(Quarters::ZERO, |note| note.offset));
        }
        // Torn apart or turned round, it is no stretch any more.
        let order = |hold: &Hold| (hold.bar, hold.offset);
        if (first.fate == Fate::Unplaced) != (last.fate == Fate::Unplaced)
            || order(&first.hold) > order(&last.hold)
        {
            first = unplaced(from);
            last = unplaced(to);
        }
        (first, last)
    }

    fn end(&self, bar: usize, offset: Quarters) -> Carried {
        Carried {
            hold: self.new.hold_on(small(bar), offset, None),
            fate: Fate::Doubtful,
        }
    }

    /// The hold on the old page as it is read now: a newer reader may see more in the same file.
    fn where_it_was(&self, hold: &Hold) -> Option<Hold> {
        let own = self.old.get(hold.bar as usize);
        if own.is_some_and(|bar| bar.text == hold.context) {
            return Some(hold.clone());
        }
        let found = self.old.find(hold)?;
        self.old.hold_anchor(&found.anchor)
    }

    fn within_bar(&self, from: &Hold, was: &OneBar, to: usize, is: &OneBar) -> Option<Carried> {
        let fate = |same_place: bool| match same_place && to == from.bar as usize {
            true if was.label == is.label => Fate::Stays,
            _ => Fate::Moved,
        };
        if from.pitch.is_none() {
            let inside = from.offset <= is.length;
            return inside.then(|| Carried {
                hold: self.new.hold_on(small(to), from.offset, None),
                fate: if was.text == is.text {
                    fate(true)
                } else {
                    fate(true).max(Fate::Moved)
                },
            });
        }
        let index = self.old.note_of(from)?;
        let note = is
            .notes
            .get(within::pairs(was, is).0.get(index).copied().flatten()?)?;
        let same_note = Some(&note.pitch) == from.pitch.as_ref();
        Some(Carried {
            hold: self.new.hold_on(small(to), note.offset, Some(note)),
            fate: if same_note {
                fate(note.offset == from.offset)
            } else {
                Fate::Doubtful
            },
        })
    }

    /// Its bar is nowhere in order; a new bar that holds the same was moved there.
    fn moved_away(&self, from: &Hold) -> Option<Carried> {
        let mut equal = self
            .free
            .iter()
            .filter(|bar| self.new.get(**bar).is_some_and(|bar| bar.text == from.context));
        let (to, other) = (*equal.next()?, equal.next());
        let carried = self.new.find(&Hold {
            bar: small(to),
            ..from.clone()
        })?;
        Some(Carried {
            hold: self.new.hold_anchor(&carried.anchor)?,
            fate: if other.is_none() {
                Fate::Moved
            } else {
                Fate::Doubtful
            },
        })
    }

    /// What was unplaced finds its place again only in a bar that holds what its own held.
    fn back_again(&self, hold: &Hold) -> Option<Carried> {
        let same = |bar: &OneBar| bar.text == hold.context;
        if !self.new.all().iter().any(same) {
            return None;
        }
        let found = self.new.find(hold)?;
        Some(Carried {
            hold: self.new.hold_anchor(&found.anchor)?,
            fate: if found.sure { Fate::Moved } else { Fate::Doubtful },
        })
    }
}

fn unplaced(hold: &Hold) -> Carried {
    Carried {
        hold: hold.clone(),
        fate: Fate::Unplaced,
    }
}

fn small(bar: usize) -> u32 {
    u32::try_from(bar).unwrap_or(u32::MAX)
}
