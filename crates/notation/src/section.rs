//! In what order does the source say that named sections are played? ABC `P:`, Humdrum `*>[A,B,A]`, MEI `expansion`.
//!
//! As stated, unresolved: the lists stand here once, `performance` follows the one that is marked.

use crate::place::Place;

/// The sections that the source names, and its lists of them.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct SectionOrders {
    /// The named sections in written order; they may overlap.
    pub sections: Vec<NamedSection>,
    /// The orders in which they are played: none, one, or several to choose from.
    pub lists: Vec<SectionList>,
}

/// A stretch of the page with a name.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct NamedSection {
    /// Its name in the source (`A`, `A1`, `trio`).
    pub name: String,
    /// Where it starts.
    pub start: Place,
    /// Where it ends: the place after it (the start of the next bar; of the bar after the last at the end).
    pub end: Place,
}

/// An order of sections.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct SectionList {
    /// The list's name (`norep` in Humdrum); empty for the only or usual one.
    pub name: String,
    /// Indices into [`SectionOrders::sections`], as they are played.
    pub order: Vec<u32>,
    /// This is the list to play by. Of several so marked the first counts; with none the signs on the page rule.
    pub followed: bool,
    /// True if the list writes out every repeat, ending and jump (Humdrum, MEI), so that the signs inside a section
    /// are not taken again; false if each section is played as its signs say (ABC).
    pub written_out: bool,
}

impl SectionOrders {
    /// The list to play by, if there is one.
    #[must_use]
    pub fn followed(&self) -> Option<&SectionList> {
        self.lists.iter().find(|list| list.followed)
    }

    /// The sections of a list as they are played; indices of no section are passed over.
    pub fn sections_of<'a>(&'a self, list: &'a SectionList) -> impl Iterator<Item = &'a NamedSection> + 'a {
        let at = |index: &u32| self.sections.get(usize::try_from(*index).ok()?);
        list.order.iter().filter_map(at)
    }

    /// True if the source says nothing about sections.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.sections.is_empty() && self.lists.is_empty()
    }
}
