//! In what order are sections and endings played? Endings as brackets, sections and `expansion` lists as stated.
//!
//! Source: MEI 5.0, section, ending, expansion, att.plist.

use super::music::Music;
use super::values::{id_of, references, short};
use crate::xml::El;
use notation::{BarIndex, BarSide, Ending, EndingKind, NamedSection, Place, Quarters, SectionList, Severity};
use std::borrow::Cow;
use std::collections::BTreeMap;

/// More sections than any piece has.
const MOST_SECTIONS: usize = 5_000;
/// A list of sections longer than any.
const MOST_LISTED: usize = 20_000;

/// Sections, endings and lists as far as they are read.
#[derive(Default)]
pub(super) struct Order<'a> {
    /// Brackets that are open.
    pub endings: Vec<OpenEnding>,
    /// The next bar starts a repeat.
    pub repeat_from_next: bool,
    /// Sections that are open: name and first bar.
    open: Vec<(Option<Cow<'a, str>>, u32)>,
    pub closed: Vec<(Cow<'a, str>, u32, u32)>,
    lists: Vec<List<'a>>,
}

struct List<'a> {
    name: String,
    sections: Vec<Cow<'a, str>>,
    /// Stands first among the lists, or is marked as the usual one.
    preferred: bool,
}

/// A bracket whose end is not met yet.
#[derive(Debug)]
pub(super) struct OpenEnding {
    pub number: String,
    pub text: String,
    pub open_end: bool,
    pub first: Option<BarIndex>,
}

impl<'a> Music<'a> {
    /// Begins a `section` or `ending` (or another container that has a name).
    pub(super) fn enter(&mut self, el: El<'_, 'a>) {
        let first = u32::try_from(self.bars).unwrap_or(u32::MAX);
        self.own_section(el);
        self.order.open.push((id_of(el), first));
        if el.name() != "ending" {
            return;
        }
        if !self.order.endings.is_empty() {
            self.find(
                Severity::Caution,
                "ending-nested",
                None,
                Quarters::ZERO,
                "a bracket over bars stands inside another; where both start or end together only the inner one is kept",
                "look at the brackets over these bars on the page",
            );
        }
        let said = el.attr("n").or(el.attr("label")).unwrap_or_default();
        let (number, text) = match &self.own {
            Some(_) => super::own::ending(el),
            None => (passes(said), el.attr("label").unwrap_or(said).to_owned()),
        };
        self.own_ending_begins(el);
        self.order.endings.push(OpenEnding {
            text: if text == number && self.own.is_none() {
                String::new()
            } else {
                short(&text)
            },
            number,
            open_end: el.attr("lendsym") == Some("none"),
            first: None,
        });
    }

    /// Ends the container that was begun last.
    pub(super) fn leave(&mut self, is_ending: bool) {
        let bars = u32::try_from(self.bars).unwrap_or(u32::MAX);
        if let Some((Some(name), first)) = self.order.open.pop()
            && bars > first
            && self.order.closed.len() < MOST_SECTIONS
        {
            self.order.closed.push((name, first, bars));
        }
        if !is_ending {
            return;
        }
        let Some(mut ending) = self.order.endings.pop() else {
            return;
        };
        if !self.own_ending_ends(&mut ending.number) {
            return;
        }
        if ending.first.is_none() {
            self.find(
                Severity::Caution,
                "ending-empty",
                None,
                Quarters::ZERO,
                "a bracket over bars has no bars under it; it was left out",
                "look at the brackets on the page",
            );
            return;
        }
        let kind = if ending.open_end {
            EndingKind::Discontinue
        } else {
            EndingKind::Stop
        };
        self.mark_ending(
            BarSide::Right,
            Ending {
                number: ending.number,
                text: String::new(),
                kind,
            },
        );
    }

    /// An `expansion`: a list of sections and endings as they are played.
    pub(super) fn expansion(&mut self, el: El<'_, 'a>) {
        if self.own_expansion(el) {
            return;
        }
        let mut sections = references(el, "plist");
        sections.truncate(MOST_LISTED);
        let listed: usize = self.order.lists.iter().map(|list| list.sections.len()).sum();
        if sections.is_empty() || listed + sections.len() > MOST_LISTED {
            return;
        }
        let name = el.attr("label").or(el.attr("type")).map(str::to_owned);
        let name = name
            .or_else(|| id_of(el).map(Cow::into_owned))
            .unwrap_or_default();
        self.order.lists.push(List {
            preferred: el.attr("type") == Some("default") || el.attr("type") == Some("norm"),
            name: short(&name),
            sections,
        });
    }

    /// Puts sections and lists into the piece; with several lists the first (or the one marked as usual) is followed.
    pub(super) fn settle_order(&mut self) {
        let order = std::mem::take(&mut self.order);
        if order.lists.is_empty() {
            return;
        }
        let mut closed = order.closed;
        closed.sort_by_key(|(_, first, end)| (*first, std::cmp::Reverse(*end)));
        let known: BTreeMap<&str, usize> = closed
            .iter()
            .enumerate()
            .map(|(at, (name, ..))| (name.as_ref(), at))
            .collect();
        let named = |list: &List<'a>| -> (Vec<usize>, Vec<String>) {
            let mut missing = Vec::new();
            let mut found = Vec::new();
            for name in &list.sections {
                match known.get(name.as_ref()) {
                    Some(at) => found.push(*at),
                    None => missing.push(short(name)),
                }
            }
            (found, missing)
        };
        let lists: Vec<(String, Vec<usize>, Vec<String>)> = order
            .lists
            .iter()
            .map(|list| {
                let (found, missing) = named(list);
                (list.name.clone(), found, missing)
            })
            .collect();
        let used: std::collections::BTreeSet<usize> = lists
            .iter()
            .flat_map(|(_, found, _)| found.iter().copied())
            .collect();
        let number: BTreeMap<usize, u32> = used.iter().copied().zip(0_u32..).collect();
        let at = |bar: u32| Place::start_of(BarIndex(bar));
        let orders = &mut self.score.piece.section_orders;
        orders.sections = used
            .iter()
            .filter_map(|index| closed.get(*index))
            .map(|(name, first, end)| NamedSection {
                name: short(name),
                start: at(*first),
                end: at(*end),
            })
            .collect();
        let marked = order.lists.iter().position(|list| list.preferred);
        let usable = |at: &usize| {
            lists
                .get(*at)
                .is_some_and(|(_, found, missing)| !found.is_empty() && missing.is_empty())
        };
        let followed = marked.filter(usable).or_else(|| (0..lists.len()).find(usable));
        for (nth, (name, found, missing)) in lists.iter().enumerate() {
            let orders = &mut self.score.piece.section_orders;
            orders.lists.push(SectionList {
                name: if lists.len() == 1 {
                    String::new()
                } else {
                    name.clone()
                },
                order: found
                    .iter()
                    .filter_map(|index| number.get(index).copied())
                    .collect(),
                followed: followed == Some(nth),
                written_out: true,
            });
            if !missing.is_empty() {
                let what = format!(
                    "the order of sections “{name}” names sections that are not there ({}); it is not followed",
                    missing.iter().take(5).cloned().collect::<Vec<_>>().join(", ")
                );
                self.score
                    .caution("section-order-unclear", what, "play as the signs on the page say");
            }
        }
    }
}

/// The passes of an ending as a list of numbers: `1`, `1,2`, `1-3` is `1,2,3`; anything else as it stands.
fn passes(said: &str) -> String {
    let mut numbers: Vec<u32> = Vec::new();
    for piece in said
        .split([',', ' ', ';', '.', '+', '&'])
        .map(str::trim)
        .filter(|piece| !piece.is_empty())
    {
        let range = piece.split_once(['-', '–']);
        let (from, to) = range.unwrap_or((piece, piece));
        match (from.trim().parse::<u32>(), to.trim().parse::<u32>()) {
            (Ok(from), Ok(to)) if from <= to && to - from < 20 && to <= 100 => numbers.extend(from..=to),
            _ => return short(said),
        }
    }
    if numbers.is_empty() || numbers.len() > 50 {
        return short(said);
    }
    numbers.iter().map(u32::to_string).collect::<Vec<_>>().join(",")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn endings_are_lists_of_passes() {
        assert_eq!(passes("1"), "1");
        assert_eq!(passes("1."), "1");
        assert_eq!(passes("1, 2"), "1,2");
        assert_eq!(passes("1-3"), "1,2,3");
        assert_eq!(passes("last time"), "last time");
        assert_eq!(passes("9-1"), "9-1");
    }
}
