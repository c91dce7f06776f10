//! How do the voices become a piece? Parts and staves, one grid of bars with numbers, sections, the heading.

use super::order::order;
use super::reader::Reader;
use super::voice::{BarNote, Voice};
use super::voices::Group;
use crate::assemble::PartBar;
use notation::{
    BarIndex, Credits, Finding, NamedSection, Part, Piece, Place, Quarters, SectionList, SectionOrders,
    Severity,
};
use std::collections::BTreeMap;

impl Reader {
    /// The piece with its findings; `None` if no voice has a note.
    pub(super) fn finish(mut self) -> Option<(Piece, Vec<Finding>)> {
        let sounds = |voice: &Voice| voice.part.events.iter().any(notation::Event::is_note);
        if !self.voices.iter().any(sounds) {
            return None;
        }
        let groups = self.groups();
        self.close_last_endings();
        self.grid();
        self.sections();
        self.heading();
        let voices = std::mem::take(&mut self.voices);
        let mut part_of: BTreeMap<usize, usize> = BTreeMap::new();
        let mut voices: Vec<Option<Voice>> = voices.into_iter().map(Some).collect();
        for staves in groups {
            let number = self.score.piece.parts.len();
            let mut joined: Option<(Part, Vec<PartBar>)> = None;
            for (staff, members) in staves.iter().enumerate() {
                let staff = u8::try_from(staff + 1).unwrap_or(1);
                for index in members {
                    let Some(mut voice) = voices.get_mut(*index).and_then(Option::take) else {
                        continue;
                    };
                    part_of.insert(*index, number);
                    if joined.is_none() {
                        for line in &mut voice.barlines {
                            line.part = number;
                        }
                        self.score.piece.barlines.append(&mut voice.barlines);
                    }
                    match &mut joined {
                        None => joined = Some((voice.part, voice.facts)),
                        Some((part, facts)) => join(part, facts, voice, staff),
                    }
                }
            }
            let Some((mut part, facts)) = joined else { continue };
            part.staves = u8::try_from(staves.len()).unwrap_or(1).max(1);
            if part.staves > 1 {
                part.clefs
                    .iter_mut()
                    .for_each(|clef| clef.staff = clef.staff.or(Some(1)));
            }
            part.spans
                .sort_by_key(|span| span.start.or(span.end).map(|anchor| anchor.place));
            self.score.piece.parts.push(part);
            self.score.facts.push(facts);
        }
        let bars = self.score.piece.bars.len();
        for part in &mut self.score.piece.parts {
            inside(part, bars);
        }
        let names: Vec<String> = (0..self.score.piece.parts.len())
            .map(|index| {
                let name = self
                    .score
                    .piece
                    .parts
                    .get(index)
                    .map_or("", |part| part.name.as_str());
                if name.trim().is_empty() {
                    format!("part {}", index + 1)
                } else {
                    name.to_owned()
                }
            })
            .collect();
        let labels: Vec<String> = self
            .score
            .piece
            .bars
            .iter()
            .map(|bar| bar.label.clone())
            .collect();
        let last = labels.len().saturating_sub(1);
        self.says.finish(
            &mut self.score.report,
            |voice| names.get(part_of.get(&voice).copied().unwrap_or(0)).cloned(),
            |bar| labels.get(bar.get().min(last)).cloned().unwrap_or_default(),
        );
        self.score.settle();
        Some((self.score.piece, self.score.report.finish()))
    }

    /// The parts as lists of staves, each a list of voices by index: as the score directive says, else each voice alone.
    fn groups(&mut self) -> Vec<Vec<Vec<usize>>> {
        let filled: Vec<bool> = self.voices.iter().map(|voice| !voice.facts.is_empty()).collect();
        let mut placed = vec![false; self.voices.len()];
        let mut groups = Vec::new();
        for Group { staves } in std::mem::take(&mut self.setup.groups) {
            let mut group: Vec<Vec<usize>> = Vec::new();
            for staff in staves {
                let mut members = Vec::new();
                for id in staff {
                    let Some(index) = self.voices.iter().position(|voice| voice.id == id) else {
                        let what = format!(
                            "the score names a voice “{}” that the tune does not have",
                            id.chars().take(40).collect::<String>()
                        );
                        self.says.push(Severity::Note, "voice-missing", None, what, "");
                        continue;
                    };
                    let (Some(true), Some(slot)) = (filled.get(index), placed.get_mut(index)) else {
                        continue;
                    };
                    if !std::mem::replace(slot, true) {
                        members.push(index);
                    }
                }
                if !members.is_empty() {
                    group.push(members);
                }
            }
            if !group.is_empty() {
                groups.push(group);
            }
        }
        let scored = !groups.is_empty();
        for index in 0..self.voices.len() {
            if placed.get(index) == Some(&false) && filled.get(index) == Some(&true) {
                if scored {
                    let id: String = self
                        .voices
                        .get(index)
                        .map_or(String::new(), |voice| voice.id.chars().take(40).collect());
                    let what = format!(
                        "voice {id} is not in the score directive, which would leave it out in print; it was kept"
                    );
                    self.says
                        .push(Severity::Note, "voice-not-in-score", None, what, "");
                }
                groups.push(vec![vec![index]]);
            }
        }
        groups
    }

    /// Numbers the bars: a pickup is 0 and not counted, nor is the second half of a bar parted by a repeat.
    fn grid(&mut self) {
        let bars = self
            .voices
            .iter()
            .map(|voice| voice.facts.len())
            .max()
            .unwrap_or(0);
        let at = |bar: usize| -> (Quarters, Option<Quarters>, bool, BarNote) {
            let facts = self.voices.iter().filter_map(|voice| voice.facts.get(bar));
            let metre = facts.clone().find_map(|facts| facts.metre);
            let content = facts.clone().map(|facts| facts.content).max().unwrap_or_default();
            let rests = facts.clone().any(|facts| facts.whole_rest.is_some());
            let length = if rests || content.is_zero() {
                content.max(metre.unwrap_or_default())
            } else {
                content
            };
            let section_end = facts.clone().any(|facts| facts.section_end);
            let mut note = BarNote::default();
            for other in self.voices.iter().filter_map(|voice| voice.bars.get(bar)) {
                note.new_system |= other.new_system;
                note.new_page |= other.new_page;
                note.number = note.number.or(other.number);
                note.ending |= other.ending;
                note.split |= other.split;
            }
            (length, metre, section_end, note)
        };
        let all: Vec<_> = (0..bars).map(at).collect();
        let mut number = self.setup.first_number.unwrap_or(1);
        let mut uncounted = 0_u32;
        let mut before: Option<(Quarters, Option<Quarters>, bool, BarNote)> = None;
        for (index, this) in all.iter().enumerate() {
            let (length, metre, section_end, note) = *this;
            let short = metre.is_some_and(|metre| length < metre);
            // The pickup to a section, or the rest of a bar that a repeat cut.
            let last = index + 1 == bars;
            let continues = match &before {
                Some((length_before, metre_before, true, _)) if !note.ending || note.split => {
                    let completes =
                        metre_before == &metre && metre.is_some_and(|metre| *length_before + length == metre);
                    let pickup =
                        metre_before.is_none_or(|metre| *length_before >= metre) && !section_end && !last;
                    completes || pickup
                }
                _ => false,
            };
            let implicit = short && (index == 0 && !last || continues);
            let bar = self.score.bar_mut(index);
            bar.new_system = note.new_system;
            bar.new_page = note.new_page;
            bar.implicit = implicit;
            if let Some(said) = note.number {
                number = said;
            }
            if implicit && index == 0 {
                bar.label = number.saturating_sub(1).to_string();
            } else if implicit {
                uncounted += 1;
                bar.label = format!("X{uncounted}");
            } else {
                bar.label = number.to_string();
                number = number.saturating_add(1);
            }
            before = Some(*this);
        }
        if let Some(first) = self.score.piece.bars.first_mut() {
            first.new_page |= self.setup.new_page;
        }
    }

    /// Sections named in the body, and the order that the header gives them.
    fn sections(&mut self) {
        let bars = self.score.piece.bars.len();
        let end = Place::start_of(BarIndex::from_usize(bars));
        let mut labels = std::mem::take(&mut self.labels);
        labels.sort_by_key(|label| label.place);
        labels.retain(|label| label.place < end);
        let mut orders = SectionOrders::default();
        let ends: Vec<Place> = labels
            .iter()
            .skip(1)
            .map(|label| label.place)
            .chain([end])
            .collect();
        if let Some(first) = labels.first()
            && first.place > Place::default()
            && !labels.iter().any(|label| label.name == "A")
        {
            // Music before the first label, where the order begins with A: it is A.
            orders.sections.push(NamedSection {
                name: "A".to_owned(),
                start: Place::default(),
                end: first.place,
            });
        }
        for (label, end) in labels.into_iter().zip(ends) {
            orders.sections.push(NamedSection {
                name: label.name,
                start: label.place,
                end,
            });
        }
        if let Some(said) = self.setup.order.take()
            && !said.trim().is_empty()
        {
            self.listed(&said, &mut orders);
        }
        self.score.piece.section_orders = orders;
    }

    fn listed(&mut self, said: &str, orders: &mut SectionOrders) {
        let shown: String = said.chars().take(60).collect();
        let Some(names) = order(said) else {
            // Words, as some transcribers have them: printed.
            self.setup.words.push(super::text::plain(said));
            let what = format!("the order of parts “{shown}” is no list of letters; it was kept as words");
            self.says.push(
                Severity::Note,
                "section-order-unclear",
                None,
                what,
                "look on the page in what order the sections are played",
            );
            return;
        };
        if orders.sections.is_empty() {
            let what = format!(
                "the heading gives the order of parts {shown}, but no part is marked among the notes"
            );
            self.says.push(
                Severity::Note,
                "section-order-unclear",
                None,
                what,
                "pencil in where each part begins",
            );
            return;
        }
        let find = |name: &String| {
            let exact = orders.sections.iter().position(|section| section.name == *name);
            exact.and_then(|at| u32::try_from(at).ok())
        };
        let found: Option<Vec<u32>> = names.iter().map(find).collect();
        let Some(order) = found else {
            let what = format!(
                "the heading gives the order of parts {shown}, but not all of these are marked among the notes"
            );
            self.says.push(
                Severity::Caution,
                "section-order-unclear",
                None,
                what,
                "look on the page in what order the sections are played",
            );
            return;
        };
        let written_out = self.repeats_written_out(&order, orders);
        orders.lists.push(SectionList {
            name: String::new(),
            order,
            followed: true,
            written_out,
        });
    }

    /// `P:AABB` over sections that also have their repeat signs: the list writes the repeats out.
    fn repeats_written_out(&mut self, order: &[u32], orders: &SectionOrders) -> bool {
        let twice = |section: u32| {
            let runs = order
                .chunk_by(|a, b| a == b)
                .filter(|run| run.first() == Some(&section));
            let mut runs = runs.peekable();
            runs.peek().is_some() && runs.all(|run| run.len() > 1)
        };
        let repeated = |section: &NamedSection| {
            let last = BarIndex(if section.end.offset.is_zero() {
                section.end.bar.0.saturating_sub(1)
            } else {
                section.end.bar.0
            });
            let voices = self.voices.iter().take(1);
            voices.flat_map(|voice| &voice.barlines).any(|line| {
                line.place.bar == last
                    && line.side == notation::BarSide::Right
                    && line.repeat.as_ref().is_some_and(|repeat| !repeat.forward)
            })
        };
        let mut signed = orders
            .sections
            .iter()
            .enumerate()
            .filter(|(_, section)| repeated(section))
            .peekable();
        let both = signed.peek().is_some() && signed.all(|(index, _)| u32::try_from(index).is_ok_and(twice));
        if both {
            self.says.push(
                Severity::Caution,
                "section-order-and-repeats",
                None,
                "the order of parts names each part twice, and the parts have repeat signs as well; they were taken to mean the same",
                "check how often each part is played",
            );
        }
        both
    }

    fn heading(&mut self) {
        let setup = &mut self.setup;
        let mut titles = std::mem::take(&mut setup.titles).into_iter();
        let mut credits = Credits {
            title: titles.next(),
            ..Credits::default()
        };
        credits.page_words = titles.chain(std::mem::take(&mut setup.words)).collect();
        let people = |role: &str, names: Vec<String>| -> Vec<(String, String)> {
            names.into_iter().map(|name| (role.to_owned(), name)).collect()
        };
        credits.people = people("composer", std::mem::take(&mut setup.composers));
        credits
            .people
            .extend(people("transcriber", std::mem::take(&mut setup.transcribers)));
        credits.rights = std::mem::take(&mut setup.rights);
        self.score.piece.credits = credits;
        self.score.piece.provenance.encoding = std::mem::take(&mut setup.notes);
    }
}

/// Adds a voice to a part that has one already.
fn join(part: &mut Part, facts: &mut Vec<PartBar>, voice: Voice, staff: u8) {
    let mut other = voice.part;
    let voices = u16::try_from(part.voices.len()).unwrap_or(u16::MAX);
    let events = u32::try_from(part.events.len()).unwrap_or(u32::MAX);
    let before = part.voices.clone();
    let distinct = |name: String| {
        if before.contains(&name) {
            format!("{name} ({})", before.len() + 1)
        } else {
            name
        }
    };
    part.voices.extend(other.voices.into_iter().map(distinct));
    for event in &mut other.events {
        event.voice = event.voice.saturating_add(voices);
        event.staff = staff;
        if let notation::EventKind::Chord(heads) = &mut event.kind {
            heads.iter_mut().for_each(|head| head.staff = staff);
        }
    }
    part.events.append(&mut other.events);
    let new_staff = staff > part.clefs.iter().filter_map(|clef| clef.staff).max().unwrap_or(1);
    if new_staff {
        other.clefs.iter_mut().for_each(|clef| clef.staff = Some(staff));
        part.clefs
            .iter_mut()
            .for_each(|clef| clef.staff = clef.staff.or(Some(1)));
        part.clefs.append(&mut other.clefs);
    }
    // Keys and metres are the first voice's: on one part they agree.
    for direction in &mut other.directions {
        direction.staff = Some(staff);
    }
    part.directions.append(&mut other.directions);
    for span in &mut other.spans {
        span.staff = Some(staff);
    }
    part.spans.append(&mut other.spans);
    for (index, fact) in voice.facts.into_iter().enumerate() {
        match facts.get_mut(index) {
            Some(known) => {
                known.content = known.content.max(fact.content);
                known.metre = known.metre.or(fact.metre);
                known.section_end |= fact.section_end;
                known.whole_rest = known
                    .whole_rest
                    .or(fact.whole_rest.map(|rest| rest.saturating_add(events)));
            }
            None => facts.push(PartBar {
                whole_rest: fact.whole_rest.map(|rest| rest.saturating_add(events)),
                ..fact
            }),
        }
    }
    if part.abbreviation.is_empty() {
        part.abbreviation = other.abbreviation;
    }
    if part.name.is_empty() {
        part.name = other.name;
    }
}

/// Brings what was written after the last bar back to its end.
fn inside(part: &mut Part, bars: usize) {
    let last = BarIndex::from_usize(bars.saturating_sub(1));
    let fit = |place: &mut Place| {
        if place.bar.get() >= bars {
            *place = Place {
                bar: last,
                offset: Quarters::whole(100_000),
            };
        }
    };
    part.directions
        .iter_mut()
        .for_each(|direction| fit(&mut direction.place));
    part.clefs.iter_mut().for_each(|change| fit(&mut change.place));
    part.keys.iter_mut().for_each(|change| fit(&mut change.place));
    part.metres.iter_mut().for_each(|change| fit(&mut change.place));
    part.transpositions
        .iter_mut()
        .for_each(|change| fit(&mut change.place));
    for span in &mut part.spans {
        for anchor in [&mut span.start, &mut span.end].into_iter().flatten() {
            fit(&mut anchor.place);
        }
    }
}
