//! What does our own writer say of sections and their orders? Names, which list is followed, whether repeats are in it.

use super::super::music::Music;
use super::super::values::references;
use super::has;
use crate::xml::El;
use notation::{BarIndex, NamedSection, Place, SectionList};
use std::collections::BTreeMap;

/// Longer than any list of sections.
const MOST: usize = 20_000;

impl<'a> Music<'a> {
    /// Remembers the name of a section of ours.
    pub(in super::super) fn own_section(&mut self, el: El<'_, 'a>) {
        if let (Some(own), Some(id), Some(label)) = (&mut self.own, el.attr("xml:id"), el.attr("label"))
            && el.name() == "section"
        {
            own.sections.insert(id.to_owned(), label.to_owned());
        }
    }

    /// Keeps a list of sections of ours; false if the file is not ours.
    pub(in super::super) fn own_expansion(&mut self, el: El<'_, 'a>) -> bool {
        let Some(own) = &mut self.own else { return false };
        let listed: usize = own.lists.iter().map(|(_, sections)| sections.len()).sum();
        let sections = references(el, "plist")
            .into_iter()
            .take(MOST.saturating_sub(listed));
        let list = SectionList {
            name: el.attr("label").unwrap_or_default().to_owned(),
            order: Vec::new(),
            followed: !has(el, "not-followed"),
            written_out: !has(el, "with-repeats"),
        };
        own.lists
            .push((list, sections.map(|name| name.into_owned()).collect()));
        true
    }

    /// Puts sections and lists into the piece.
    pub(super) fn finish_sections(
        &mut self,
        names: &BTreeMap<String, String>,
        lists: Vec<(SectionList, Vec<String>)>,
    ) {
        let mut closed = self.order.closed.clone();
        closed.retain(|(id, ..)| names.contains_key(id.as_ref()));
        closed.sort_by_key(|(_, first, _)| *first);
        let orders = &mut self.score.piece.section_orders;
        let at = |bar: u32| Place::start_of(BarIndex(bar));
        for (id, first, end) in &closed {
            orders.sections.push(NamedSection {
                name: names.get(id.as_ref()).cloned().unwrap_or_default(),
                start: at(*first),
                end: at(*end),
            });
        }
        let numbers: BTreeMap<&str, u32> = closed
            .iter()
            .zip(0_u32..)
            .map(|((id, ..), n)| (id.as_ref(), n))
            .collect();
        for (mut list, sections) in lists {
            list.order = sections
                .iter()
                .filter_map(|name| numbers.get(name.as_str()).copied())
                .collect();
            orders.lists.push(list);
        }
    }
}
