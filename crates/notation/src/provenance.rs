//! Where did each element come from? A side table by id, outside equality of pieces.

use crate::id::Id;
use std::collections::BTreeMap;

/// How an element came to be in the piece.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum How {
    /// It stands on the page or in the file.
    #[default]
    Printed,
    /// The standard implies it (a start-repeat at the beginning).
    Implied,
    /// The reader guessed it.
    Guessed,
    /// Somebody edited it.
    Edited,
}

/// Where one element came from.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Origin {
    /// Bytes of the decoded text, from and to.
    pub range: Option<(u32, u32)>,
    /// The name the source gave it (an `id` attribute).
    pub foreign_id: Option<String>,
    /// How it came to be.
    pub how: How,
    /// Probability from 0 to 1, for elements read from a scanned page.
    pub confidence: Option<f32>,
    /// Page (from 0), left, top, width, height in pixels, for elements read from a scanned page.
    pub page_box: Option<(u32, [f32; 4])>,
}

/// Where the whole piece came from, and each element by id.
#[derive(Clone, Debug, Default)]
pub struct Provenance {
    /// Name of the source as the person gave it.
    pub source: String,
    /// SHA-256 of the source's bytes, lower-case hexadecimal.
    pub sha256: String,
    /// The standard it is written in, by name; empty for a piece that was read from nowhere.
    pub standard: String,
    /// The entry inside a compressed source.
    pub zip_entry: Option<String>,
    /// Program and date that wrote the source, as it says.
    pub encoding: Vec<String>,
    /// Origins by element.
    pub origins: Origins,
}

/// Origins by element. Most are given in the order of the ids, one after the other, and looked up seldom.
#[derive(Clone, Debug, Default)]
pub struct Origins {
    /// In order of the ids' numbers.
    in_order: Vec<(Id, Origin)>,
    /// Those given after a later id had one.
    late: BTreeMap<Id, Origin>,
}

impl Origins {
    /// Makes room for so many more.
    pub fn reserve(&mut self, more: usize) {
        self.in_order.reserve(more);
    }

    /// Says where an element came from, in place of what was said before.
    pub fn insert(&mut self, id: Id, origin: Origin) {
        if self
            .in_order
            .last()
            .is_none_or(|(last, _)| last.number() < id.number())
        {
            self.in_order.push((id, origin));
        } else {
            *self.entry(id) = origin;
        }
    }

    fn find(&self, id: Id) -> Option<usize> {
        // Asked most often of the elements given last.
        if let Some(from_end) = self.in_order.iter().rev().take(4).position(|(of, _)| *of == id) {
            return Some(self.in_order.len() - 1 - from_end);
        }
        self.in_order
            .binary_search_by_key(&id.number(), |(of, _)| of.number())
            .ok()
            .filter(|at| self.in_order.get(*at).is_some_and(|(of, _)| *of == id))
    }

    /// Where an element came from.
    #[must_use]
    pub fn get(&self, id: &Id) -> Option<&Origin> {
        match self.find(*id) {
            Some(at) => self.in_order.get(at).map(|(_, origin)| origin),
            None => self.late.get(id),
        }
    }

    /// The same, to be changed.
    pub fn get_mut(&mut self, id: &Id) -> Option<&mut Origin> {
        match self.find(*id) {
            Some(at) => self.in_order.get_mut(at).map(|(_, origin)| origin),
            None => self.late.get_mut(id),
        }
    }

    /// The same, made if nothing was said yet.
    pub fn entry(&mut self, id: Id) -> &mut Origin {
        match self.find(id) {
            Some(at) => &mut self.in_order[at].1,
            None => self.late.entry(id).or_default(),
        }
    }

    /// All of them, those given late after the others.
    pub fn iter(&self) -> impl Iterator<Item = (Id, &Origin)> {
        let late = self.late.iter().map(|(id, origin)| (*id, origin));
        self.in_order.iter().map(|(id, origin)| (*id, origin)).chain(late)
    }

    /// How many elements have one.
    #[must_use]
    pub fn len(&self) -> usize {
        self.in_order.len() + self.late.len()
    }

    /// True if none has.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }
}

/// Provenance never makes two pieces differ.
impl PartialEq for Provenance {
    fn eq(&self, _: &Self) -> bool {
        true
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::id::{IdKind, IdSource};

    #[test]
    fn origins_are_found_in_whatever_order_they_were_given() {
        let mut ids = IdSource::default();
        let ids: Vec<Id> = (0..20).map(|_| ids.give(IdKind::Event)).collect();
        let at = |n: u32| Origin {
            range: Some((n, n + 1)),
            ..Origin::default()
        };
        let mut origins = Origins::default();
        for n in [0, 3, 5, 9, 12, 19, 4, 7, 3] {
            origins.insert(ids[n as usize], at(n));
        }
        assert_eq!(origins.len(), 8);
        for n in [0, 3, 4, 5, 7, 9, 12, 19] {
            assert_eq!(origins.get(&ids[n as usize]), Some(&at(n)));
        }
        assert_eq!(origins.get(&ids[8]), None);
        origins.entry(ids[8]).how = How::Implied;
        origins.entry(ids[5]).how = How::Edited;
        let how = |n: usize| origins.get(&ids[n]).map(|origin| origin.how);
        assert_eq!((how(8), how(5)), (Some(How::Implied), Some(How::Edited)));
        assert_eq!(origins.iter().count(), 9);
    }
}
