//! What stands in some bars of the part? Its main voice as tones, with what is in force and what reaches over them.
//!
//! A tie that comes in from before is cut: the passage begins with a struck note. Bars are practised into the next downbeat,
//! where one follows, since joins fail most (common practice).

use super::pulse::Pulse;
use super::{DraftBar, Passage, Reach, Small, Sounded, Tone, fill_bar};
use crate::BarSpan;
use crate::drill::Source;
use notation::{
    BarIndex, BarSide, Clef, DirectionKind, Event, Head, Id, KeySignature, Part, Place, Quarters, Rational,
    Span, SpanKind,
};
use std::collections::{BTreeMap, BTreeSet};
use survey::rhythm::voice::{Item, Sound};

/// More tones than a spot ever has; a larger one is no drill.
const MOST_TONES: usize = 800;
/// Quarter notes in a bar beyond which it is none to be practised as one.
const LONGEST_BAR: i64 = 64;

/// The bars of a span. With `landing` the first note of the next bar follows in a bar of its own.
pub(crate) fn excerpt(source: &Source, span: BarSpan, landing: bool) -> Option<Passage> {
    let mut reader = Reader::new(source)?;
    let mut passage = Passage::default();
    for bar in (span.from.0..=span.to.0).map(BarIndex) {
        passage.bars.extend(reader.bar(bar, None));
    }
    if landing && lands(source, span.to) {
        passage.bars.extend(reader.landing(span.to.next()));
    }
    let tones = passage.tones().count();
    let sane = passage.bars.iter().all(|bar| {
        bar.length.is_positive() && !bar.length.is_overflow() && bar.length <= Rational::whole(LONGEST_BAR)
    });
    if passage.is_silent() || tones > MOST_TONES || !sane {
        return None;
    }
    passage.reaches = reader.reaches(span);
    let slurred = reader.slurred_graces();
    for tone in passage.tones_mut() {
        tone.graces_slurred = !tone.graces.is_empty() && slurred.contains(&tone.mark);
    }
    // What is tied on beyond the end is not.
    if let Some(last) = passage.tones_mut().last() {
        last.tied = false;
    }
    passage.loosen();
    Some(passage)
}

/// Everything that the main voice has, without what reaches over it: for counting.
pub(crate) fn whole_voice(source: &Source) -> Vec<DraftBar> {
    let Some(mut reader) = Reader::new(source) else {
        return Vec::new();
    };
    (0..source.ctx.piece.bars.len())
        .filter_map(|bar| reader.bar(BarIndex::from_usize(bar), None))
        .collect()
}

/// Whether the bar after `to` is played right after it, from its first beat on.
fn lands(source: &Source, to: BarIndex) -> bool {
    let next = to.next();
    let turns = source.ctx.piece.barlines.iter().any(|line| {
        let sign = line.repeat.is_some() || line.ending.is_some();
        sign && (line.place.bar == to && line.side == BarSide::Right
            || line.place.bar == next && line.side == BarSide::Left)
    });
    let starts_late = source
        .study
        .grids
        .get(next.get())
        .is_some_and(|grid| grid.lead.is_positive());
    next.get() < source.ctx.piece.bars.len() && !turns && !starts_late
}

struct Reader<'a> {
    source: &'a Source<'a>,
    part: &'a Part,
    items: &'a [survey::rhythm::voice::VoiceBar],
    mark: u32,
    /// The tones read, by place.
    read: Vec<(Place, u32)>,
    /// Elements of the voice read.
    own: BTreeSet<Id>,
    /// The small notes' tones.
    graces: BTreeMap<Id, u32>,
}

impl<'a> Reader<'a> {
    fn new(source: &'a Source<'a>) -> Option<Self> {
        let metre = source.survey.metre.as_ref()?;
        Some(Self {
            source,
            part: source.ctx.part,
            items: &metre.voice.bars,
            mark: 0,
            read: Vec::new(),
            own: BTreeSet::new(),
            graces: BTreeMap::new(),
        })
    }

    /// A bar; `until` cuts it short.
    fn bar(&mut self, index: BarIndex, until: Option<Quarters>) -> Option<DraftBar> {
        let bar = self.source.ctx.piece.bars.get(index.get())?;
        if !bar.length.is_positive() || bar.length.is_overflow() {
            return None;
        }
        let items = self.items.get(index.get()).map_or(&[][..], |bar| &bar.items);
        let staff = items
            .iter()
            .filter_map(|item| self.part.events.get(item.event?))
            .map(|event| event.staff)
            .next()
            .unwrap_or(1);
        let start = Place::start_of(index);
        let metre = self
            .part
            .metre_at(start)
            .filter(|metre| metre.length().is_some())
            .cloned();
        let lead = self
            .source
            .study
            .grids
            .get(index.get())
            .map_or(Quarters::ZERO, |grid| grid.lead);
        let mut draft = DraftBar {
            length: bar.length,
            lead: if lead.is_overflow() || lead.is_negative() {
                Quarters::ZERO
            } else {
                lead
            },
            metre,
            groups: self.groups(index),
            key: self.part.key_at(staff, start).cloned().unwrap_or_default(),
            clef: self.part.clef_at(staff, start).unwrap_or(Clef::TREBLE),
            clefs: inside(&self.part.clefs, index, staff),
            keys: inside(&self.part.keys, index, staff),
            tones: Vec::new(),
            from: Some(index),
            words: None,
            dynamics: self.dynamics(index),
        };
        if draft.key == KeySignature::default() {
            draft.key = KeySignature::of_fifths(0);
        }
        let mut reached = Quarters::ZERO;
        for item in items {
            if until.is_some_and(|until| item.offset >= until)
                || item.offset != reached
                || !item.duration.is_positive()
            {
                break;
            }
            let mut tone = self.tone(index, item);
            if let Some(until) = until
                && item.end() > until
            {
                tone = tone.lasting(until - item.offset);
                tone.chain.clear();
            }
            if reached + tone.length > bar.length {
                tone = tone.lasting(bar.length - reached);
            }
            reached += tone.length;
            if tone.length.is_positive() {
                draft.tones.push(tone);
            }
        }
        draft.clefs.retain(|(at, _)| *at < draft.length);
        draft.keys.retain(|(at, _)| *at < draft.length);
        fill_bar(&mut draft);
        Some(draft)
    }

    /// The groups that an uneven bar falls into.
    fn groups(&self, index: BarIndex) -> Vec<u16> {
        let grid = self.source.study.grids.get(index.get());
        let groups = grid.map_or(&[][..], |grid| &grid.groups);
        let uneven = groups
            .windows(2)
            .any(|pair| matches!(pair, [a, b] if a.units != b.units));
        if uneven && groups.len() < 16 {
            groups.iter().map(|group| group.units).collect()
        } else {
            Vec::new()
        }
    }

    /// The first note of a bar, a beat of it at most.
    fn landing(&mut self, index: BarIndex) -> Option<DraftBar> {
        let first = self.items.get(index.get())?.items.first()?;
        if !first.sounds() || !first.offset.is_zero() {
            return None;
        }
        let start = Place::start_of(index);
        let metre = self.part.metre_at(start)?;
        let pulse = Pulse::of(Some(metre), metre.length()?);
        let until = first.duration.min(pulse.beat());
        let mut bar = self.bar(index, Some(until))?;
        if let Some(tone) = bar.tones.first_mut() {
            tone.tied = false;
            // A part of a tuplet alone is a plain short note.
            if !tone.chain.is_empty() {
                *tone = tone.lasting(pulse.beat().min(bar.length));
                tone.chain.clear();
                bar.tones.truncate(1);
            }
        }
        let plain = bar.is_full();
        if !plain {
            return None;
        }
        bar.clefs.clear();
        bar.keys.clear();
        bar.dynamics.clear();
        bar.tones.truncate(1);
        fill_bar(&mut bar);
        Some(bar)
    }

    fn tone(&mut self, bar: BarIndex, item: &Item) -> Tone {
        let place = Place {
            bar,
            offset: item.offset,
        };
        self.mark += 1;
        let mark = self.mark;
        self.read.push((place, mark));
        let event = item.event.and_then(|index| self.part.events.get(index));
        let Some(event) = event.filter(|_| matches!(item.sound, Sound::Note | Sound::Held)) else {
            return Tone {
                mark,
                written: item
                    .written
                    .clone()
                    .filter(|written| written.quarters() == item.duration),
                chain: chain(item),
                ..Tone::rest(item.duration)
            };
        };
        self.own.insert(event.id);
        self.own.extend(event.heads().iter().map(|head| head.id));
        let written = item
            .written
            .clone()
            .filter(|written| written.quarters() == item.duration);
        let graces = self.graces(event, mark);
        Tone {
            length: item.duration,
            heads: event.heads().iter().map(sounded).collect(),
            chain: if written.is_some() {
                chain(item)
            } else {
                Vec::new()
            },
            written,
            tied: item.tied_on,
            graces_slurred: false,
            graces,
            articulations: event.articulations.clone(),
            ornaments: event.ornaments.clone(),
            fermatas: event.fermatas.clone(),
            technical: event.technical.clone(),
            arpeggio: event.arpeggio.clone(),
            beams: event.beams.clone(),
            words: None,
            mark,
            from: Some(event.id),
        }
    }

    /// The small notes before an event.
    fn graces(&mut self, event: &Event, mark: u32) -> Vec<Small> {
        let before = |small: &&Event| {
            small.voice == event.voice
                && small.place == event.place
                && !small.cue
                && small.grace.is_some_and(|grace| !grace.after)
                && small.is_note()
        };
        let events = self.part.bar_events(event.place.bar).iter().filter(before);
        let mut all = Vec::new();
        for small in events {
            self.own.insert(small.id);
            self.own.extend(small.heads().iter().map(|head| head.id));
            self.graces.insert(small.id, mark);
            for head in small.heads() {
                self.graces.insert(head.id, mark);
            }
            all.push(Small {
                heads: small.heads().iter().map(sounded).collect(),
                written: small.written.clone(),
                slash: small.grace.is_some_and(|grace| grace.slash),
                from: Some(small.id),
            });
        }
        all
    }

    fn dynamics(&self, bar: BarIndex) -> Vec<(Quarters, String)> {
        self.part
            .directions
            .iter()
            .filter(|direction| direction.place.bar == bar && direction.printed)
            .filter_map(|direction| match &direction.kind {
                DirectionKind::Dynamic(mark) => Some((direction.place.offset, mark.clone())),
                _ => None,
            })
            .collect()
    }

    /// Slurs, ottavas and lines over what was read, cut to it.
    fn reaches(&self, span: BarSpan) -> Vec<Reach> {
        let wanted = |kind: &SpanKind| {
            matches!(
                kind,
                SpanKind::Slur | SpanKind::Ottava { .. } | SpanKind::TrillLine
            )
        };
        let near = |reach: &&Span| {
            let from = reach.start.map_or(BarIndex(0), |start| start.place.bar);
            let to = reach.end.map(|end| end.place.bar);
            from <= span.to.next() && to.is_some_and(|to| to >= span.from)
        };
        self.part
            .spans
            .iter()
            .filter(|reach| wanted(&reach.kind))
            .filter(near)
            .filter_map(|reach| self.reach(reach))
            .collect()
    }

    /// The tones to whose small notes a slur leads, and no further.
    fn slurred_graces(&self) -> BTreeSet<u32> {
        let slurs = self.part.spans.iter().filter(|span| span.kind == SpanKind::Slur);
        slurs
            .filter_map(|span| {
                let (start, end) = (span.start?, span.end?);
                let mark = self.graces.get(&start.element?)?;
                (start.place == end.place).then_some(*mark)
            })
            .collect()
    }

    fn reach(&self, span: &Span) -> Option<Reach> {
        let (start, end) = (span.start?, span.end?);
        // A slur of another voice lies elsewhere.
        let foreign = |element: Option<Id>| {
            element.is_some_and(|id| !self.own.contains(&id) && self.part.voices.len() > 1)
        };
        let inside = |place: Place| self.read.iter().any(|(known, _)| known.bar == place.bar);
        if foreign(start.element) && inside(start.place) || foreign(end.element) && inside(end.place) {
            return None;
        }
        let from = self.read.iter().find(|(place, _)| *place >= start.place)?.1;
        let to = self.read.iter().rev().find(|(place, _)| match end.element {
            Some(_) => *place <= end.place,
            None => *place < end.place,
        })?;
        let to = to.1;
        let alone = !matches!(span.kind, SpanKind::Slur);
        (from < to || alone && from == to).then(|| Reach {
            from,
            to,
            kind: span.kind.clone(),
        })
    }
}

fn chain(item: &Item) -> Vec<notation::TupletRatio> {
    item.written
        .as_ref()
        .map(|written| written.tuplets.clone())
        .unwrap_or_default()
}

fn sounded(head: &Head) -> Sounded {
    Sounded {
        note: head.note,
        courtesy: head
            .accidental
            .as_ref()
            .is_some_and(|accidental| accidental.cautionary),
        technical: head.technical.clone(),
        shape: head.shape.clone(),
    }
}

/// What changes inside a bar.
fn inside<T: Clone>(changes: &[notation::Change<T>], bar: BarIndex, staff: u8) -> Vec<(Quarters, T)> {
    changes
        .iter()
        .filter(|change| change.place.bar == bar && change.place.offset.is_positive())
        .filter(|change| change.staff.is_none_or(|of| of == staff))
        .map(|change| (change.place.offset, change.value.clone()))
        .collect()
}
