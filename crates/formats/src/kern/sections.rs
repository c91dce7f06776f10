//! Which sections are named, and in what order are they played? `*>A` and `*>[A,A,B]`.
//!
//! Source: Humdrum user's guide, chapter 20 (section labels, expansion lists, `thru`): the list without a name is the usual
//! one, `*>norep[…]` and the like are others. Endings: sections `A1`, `A2` that follow a section `A`, by common usage.

use super::part::Reader;
use super::scan::Cell;
use notation::{
    BarIndex, BarSide, Barline, Ending, EndingKind, Finding, How, IdKind, NamedSection, Place, SectionList,
    Severity,
};
use std::collections::BTreeMap;

/// Bar lines by part, bar, and whether they stand at its start.
type Known = BTreeMap<(usize, BarIndex, bool), usize>;

/// More brackets than stand over any score.
const MOST_BRACKETS: usize = 500_000;
/// More sections than any list names.
const MOST: usize = 5_000;

/// Labels and lists as they stand in the text.
#[derive(Debug, Default)]
pub(super) struct Labels {
    starts: Vec<(String, Place)>,
    lists: Vec<(String, Vec<String>)>,
}

impl Labels {
    /// Takes in a label or list, `text` being what follows `*>`.
    pub(super) fn take(&mut self, text: &str, place: Place) {
        if let Some((name, inside)) = text.split_once('[') {
            let inside = inside.split(']').next().unwrap_or_default();
            let order = inside
                .split(',')
                .map(|name| short(name.trim()))
                .take(MOST)
                .collect();
            let name = short(name.trim());
            if self.lists.len() < 100 && !self.lists.iter().any(|(known, _)| *known == name) {
                self.lists.push((name, order));
            }
        } else if self.starts.len() < MOST
            && self
                .starts
                .last()
                .is_none_or(|last| last.0 != text || last.1 != place)
        {
            self.starts.push((short(text.trim()), place));
        }
    }
}

fn short(text: &str) -> String {
    text.chars().take(60).collect()
}

impl Reader<'_, '_> {
    /// Puts sections and their orders into the piece, and brackets over endings.
    pub(super) fn put_sections(&mut self, labels: Labels) {
        let bars = u32::try_from(self.scan.lengths.len()).unwrap_or(u32::MAX);
        let starts: Vec<(String, Place)> = labels
            .starts
            .into_iter()
            .map(|(name, place)| (name, self.forward(place)))
            .filter(|(_, place)| place.bar.0 < bars)
            .collect();
        let ends = starts.iter().skip(1).map(|(_, place)| *place);
        let ends: Vec<Place> = ends.chain([Place::start_of(BarIndex(bars))]).collect();
        let sections: Vec<NamedSection> = starts
            .into_iter()
            .zip(ends)
            .map(|((name, start), end)| NamedSection { name, start, end })
            .collect();
        let mut first: BTreeMap<&str, u32> = BTreeMap::new();
        for (index, section) in sections.iter().enumerate() {
            first
                .entry(&section.name)
                .or_insert(u32::try_from(index).unwrap_or(u32::MAX));
        }
        let mut lists = Vec::new();
        for (name, order) in labels.lists {
            let unknown: Vec<&String> = order
                .iter()
                .filter(|name| !first.contains_key(name.as_str()))
                .collect();
            if let Some(one) = unknown.first() {
                self.score.report.push(Finding::new(
                    Severity::Caution,
                    "section-missing",
                    format!("the order of sections names “{one}”, which is no section of the piece"),
                    "find the order of sections on the page",
                ));
            }
            lists.push(SectionList {
                followed: name.is_empty() && unknown.is_empty(),
                order: order
                    .iter()
                    .filter_map(|name| first.get(name.as_str()).copied())
                    .collect(),
                name,
                written_out: true,
            });
        }
        self.put_endings(&sections);
        self.score.piece.section_orders.sections = sections;
        self.score.piece.section_orders.lists = lists;
    }

    /// A place at the end of a bar is the start of the next.
    fn forward(&self, place: Place) -> Place {
        let length = self.scan.lengths.get(place.bar.get());
        if place.offset.is_positive() && length.is_some_and(|length| place.offset >= *length) {
            Place::start_of(place.bar.next())
        } else {
            place
        }
    }

    /// Sections `A1` and `A2` after `A` are its endings: brackets over them are implied.
    fn put_endings(&mut self, sections: &[NamedSection]) {
        let mut base: Option<&str> = None;
        let mut endings: Vec<(&NamedSection, &str)> = Vec::new();
        for section in sections {
            let number = base
                .and_then(|base| section.name.strip_prefix(base))
                .filter(|number| !number.is_empty() && number.bytes().all(|b| b.is_ascii_digit()));
            match number {
                Some(number) => endings.push((section, number)),
                None => {
                    base = Some(&section.name)
                        .filter(|name| !name.is_empty())
                        .map(String::as_str)
                }
            }
        }
        let lines = self.score.piece.barlines.iter().enumerate();
        let mut known: Known = lines
            .map(|(at, line)| ((line.part, line.place.bar, line.side == BarSide::Left), at))
            .collect();
        for (section, number) in endings {
            let whole_bars = section.start.offset.is_zero() && section.end.offset.is_zero();
            if whole_bars && section.start < section.end && known.len() < MOST_BRACKETS {
                self.put_ending(section, number, &mut known);
            }
        }
    }

    fn put_ending(&mut self, section: &NamedSection, number: &str, known: &mut Known) {
        let end = self.end_of(section.end.bar.0 - 1);
        for part in 0..self.parts.len() {
            self.put_bracket(
                part,
                section.start,
                BarSide::Left,
                number,
                EndingKind::Start,
                known,
            );
            let line = known.get(&(part, end.bar, false));
            let line = line.and_then(|at| self.score.piece.barlines.get(*at));
            let repeats = line.is_some_and(|line| line.repeat.as_ref().is_some_and(|repeat| !repeat.forward));
            let stop = if repeats {
                EndingKind::Stop
            } else {
                EndingKind::Discontinue
            };
            self.put_bracket(part, end, BarSide::Right, number, stop, known);
        }
    }

    fn put_bracket(
        &mut self,
        part: usize,
        place: Place,
        side: BarSide,
        number: &str,
        kind: EndingKind,
        known: &mut Known,
    ) {
        let ending = Ending {
            number: number.to_owned(),
            text: String::new(),
            kind,
        };
        let key = (part, place.bar, side == BarSide::Left);
        let line = known
            .get(&key)
            .and_then(|at| self.score.piece.barlines.get_mut(*at));
        if let Some(line) = line {
            line.ending = Some(ending);
            return;
        }
        let cell = Cell {
            slot: 0,
            at: 0,
            text: "",
        };
        let id = self.id(IdKind::Barline, &cell);
        self.score.piece.provenance.origins.entry(id).how = How::Implied;
        known.insert(key, self.score.piece.barlines.len());
        self.score.piece.barlines.push(Barline {
            id,
            part,
            place,
            side,
            style: None,
            repeat: None,
            ending: Some(ending),
            fermatas: Vec::new(),
            segno: None,
            coda: None,
        });
    }
}
