//! What is written, all of it? The piece, its parts, and how to look something up in them.

use crate::bar::{Bar, BarGroup, Barline};
use crate::changes::{Change, Clef, KeySignature, Metre, Transposition};
use crate::direction::{Direction, SoundHint};
use crate::event::Event;
use crate::id::{Id, IdSource};
use crate::place::{BarIndex, Place};
use crate::provenance::Provenance;
use crate::rational::Quarters;
use crate::section::SectionOrders;
use crate::span::{Span, SpanKind};
use std::ops::Range;

/// A notated piece as a plain value: what stands on the page, nothing inferred.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Piece {
    /// Title, movement, people and rights as the source gives them.
    pub credits: Credits,
    /// The grid of bars that all parts share.
    pub bars: Vec<Bar>,
    /// The parts in score order.
    pub parts: Vec<Part>,
    /// Bar lines that say more than the usual thin one, in order of place; each names its part.
    pub barlines: Vec<Barline>,
    /// Playback hints in order of place; each names its part.
    pub sound_hints: Vec<SoundHint>,
    /// Named sections and the orders in which the source says that they are played, apart from signs on the page.
    pub section_orders: SectionOrders,
    /// True if the parts are written at concert pitch whatever their instruments.
    pub concert_pitch: bool,
    /// Where everything came from.
    pub provenance: Provenance,
    /// The source of new ids.
    pub ids: IdSource,
}

/// Title page matters.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Credits {
    /// Title of the work.
    pub title: Option<String>,
    /// Title of the movement.
    pub movement: Option<String>,
    /// Number of the work and of the movement.
    pub numbers: Vec<String>,
    /// People: role (`composer`, `arranger`; may be empty) and name.
    pub people: Vec<(String, String)>,
    /// Rights as stated.
    pub rights: Vec<String>,
    /// Other words on the page that belong to no bar, in source order.
    pub page_words: Vec<String>,
}

impl Credits {
    /// What to call the piece: work and movement, or what there is of them.
    #[must_use]
    pub fn name(&self) -> Option<String> {
        match (&self.title, &self.movement) {
            (Some(title), Some(movement)) if title != movement => Some(format!("{title}: {movement}")),
            (Some(title), _) => Some(title.clone()),
            (None, Some(movement)) => Some(movement.clone()),
            (None, None) => None,
        }
    }
}

/// One part: what one player reads.
#[derive(Clone, PartialEq, Debug)]
pub struct Part {
    /// Its name.
    pub id: Id,
    /// The printed name; may be empty.
    pub name: String,
    /// The printed short name; may be empty.
    pub abbreviation: String,
    /// The instrument's name where the source gives one apart from the part's.
    pub instrument_name: Option<String>,
    /// The instrument by the standard's sound id (`wind.reed.bassoon`).
    pub instrument_sound: Option<String>,
    /// MIDI program from 1, where given.
    pub midi_program: Option<u8>,
    /// How many staves it has.
    pub staves: u8,
    /// Voices as the source names them; [`Event::voice`] is an index into this.
    pub voices: Vec<String>,
    /// Events in order of place; grace notes before their main note, then by voice.
    pub events: Vec<Event>,
    /// For each bar the range of its events; kept by [`Part::index_bars`].
    pub bar_ranges: Vec<Range<u32>>,
    /// Clef changes in order of place.
    pub clefs: Vec<Change<Clef>>,
    /// Key changes in order of place.
    pub keys: Vec<Change<KeySignature>>,
    /// Metre changes in order of place.
    pub metres: Vec<Change<Metre>>,
    /// Transposition changes in order of place.
    pub transpositions: Vec<Change<Transposition>>,
    /// In a score at concert pitch: from what its player's own part is written to what sounds, if the source says.
    pub for_player: Option<Transposition>,
    /// Words and signs in order of place.
    pub directions: Vec<Direction>,
    /// Slurs, hairpins and the like in order of start.
    pub spans: Vec<Span>,
    /// Multi-bar rests and measure repeats.
    pub bar_groups: Vec<BarGroup>,
    /// Lines of each staff where not five.
    pub staff_lines: Vec<(u8, u8)>,
}

impl Part {
    /// An empty part.
    #[must_use]
    pub fn new(id: Id, name: impl Into<String>) -> Self {
        Self {
            id,
            name: name.into(),
            abbreviation: String::new(),
            instrument_name: None,
            instrument_sound: None,
            midi_program: None,
            staves: 1,
            voices: Vec::new(),
            events: Vec::new(),
            bar_ranges: Vec::new(),
            clefs: Vec::new(),
            keys: Vec::new(),
            metres: Vec::new(),
            transpositions: Vec::new(),
            for_player: None,
            directions: Vec::new(),
            spans: Vec::new(),
            bar_groups: Vec::new(),
            staff_lines: Vec::new(),
        }
    }

    /// Sorts everything by place and computes the ranges of events by bar. Call after changing events.
    pub fn index_bars(&mut self, bars: usize) {
        // Bar by bar, as they mostly come: sorting all at once takes room for all again.
        for bar in self.events.chunk_by_mut(|a, b| a.place.bar == b.place.bar) {
            if !bar.is_sorted_by_key(order_of) {
                bar.sort_by_key(order_of);
            }
        }
        if !self.events.is_sorted_by_key(|event| event.place.bar) {
            self.events.sort_by_key(order_of);
        }
        self.clefs.sort_by_key(|change| change.place);
        self.keys.sort_by_key(|change| change.place);
        self.metres.sort_by_key(|change| change.place);
        self.transpositions.sort_by_key(|change| change.place);
        self.directions.sort_by_key(|direction| direction.place);
        self.bar_ranges = Vec::with_capacity(bars);
        let mut next = 0;
        for bar in 0..bars {
            let start = next;
            while self
                .events
                .get(next)
                .is_some_and(|event| event.place.bar.get() <= bar)
            {
                next += 1;
            }
            self.bar_ranges.push(small(start)..small(next));
        }
    }

    /// The events of a bar, in order; empty for a bar that does not exist.
    #[must_use]
    pub fn bar_events(&self, bar: BarIndex) -> &[Event] {
        let Some(range) = self.bar_ranges.get(bar.get()) else {
            return &[];
        };
        self.events
            .get(range.start as usize..range.end as usize)
            .unwrap_or(&[])
    }

    /// The clef in force on a staff at a place.
    #[must_use]
    pub fn clef_at(&self, staff: u8, place: Place) -> Option<Clef> {
        in_force(&self.clefs, Some(staff), place).copied()
    }

    /// The key signature in force on a staff at a place.
    #[must_use]
    pub fn key_at(&self, staff: u8, place: Place) -> Option<&KeySignature> {
        in_force(&self.keys, Some(staff), place)
    }

    /// The metre in force at a place.
    #[must_use]
    pub fn metre_at(&self, place: Place) -> Option<&Metre> {
        in_force(&self.metres, None, place)
    }

    /// The transposition in force at a place; none if never stated.
    #[must_use]
    pub fn transposition_at(&self, place: Place) -> Transposition {
        in_force(&self.transpositions, None, place)
            .copied()
            .unwrap_or_default()
    }

    /// Octaves by which an ottava draws the notes of a staff away from their sound at a place (1 under 8va).
    #[must_use]
    pub fn ottava_at(&self, staff: u8, place: Place) -> i8 {
        let covers = |span: &&Span| {
            span.staff.is_none_or(|s| s == staff)
                && span.start.is_some_and(|start| start.place <= place)
                && span
                    .end
                    .is_none_or(|end| place < end.place || end.place == place && end.element.is_some())
        };
        self.spans
            .iter()
            .filter_map(|span| match span.kind {
                SpanKind::Ottava { octaves } => Some((span, octaves)),
                _ => None,
            })
            .find(|(span, _)| covers(span))
            .map_or(0, |(_, octaves)| octaves)
    }
}

fn small(n: usize) -> u32 {
    u32::try_from(n).unwrap_or(u32::MAX)
}

/// Order of events: place, grace notes first in their order (after-graces last), then voice.
fn order_of(event: &Event) -> (Place, u8, u16, u16) {
    let (class, order) = match event.grace {
        Some(grace) if !grace.after => (0, grace.order),
        None => (1, 0),
        Some(grace) => (2, grace.order),
    };
    (event.place, class, order, event.voice)
}

/// The last change at or before a place, for a staff (`None`: any staff). Changes are in order of place.
fn in_force<T>(changes: &[Change<T>], staff: Option<u8>, place: Place) -> Option<&T> {
    let until = changes.partition_point(|change| change.place <= place);
    changes[..until]
        .iter()
        .rev()
        .find(|change| match (change.staff, staff) {
            (Some(of), Some(asked)) => of == asked,
            _ => true,
        })
        .map(|change| &change.value)
}

impl Piece {
    /// The printed label of a bar; empty for a bar that does not exist.
    #[must_use]
    pub fn label(&self, bar: BarIndex) -> &str {
        self.bars.get(bar.get()).map_or("", |bar| bar.label.as_str())
    }

    /// Where each bar starts in written order, in quarter notes from the beginning; one more entry than bars.
    #[must_use]
    pub fn bar_onsets(&self) -> Vec<Quarters> {
        let mut onset = Quarters::ZERO;
        let mut onsets = Vec::with_capacity(self.bars.len() + 1);
        onsets.push(onset);
        for bar in &self.bars {
            onset += bar.length;
            onsets.push(onset);
        }
        onsets
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::id::IdKind;

    #[test]
    fn a_change_holds_until_the_next_on_its_staff() {
        let mut ids = IdSource::default();
        let mut part = Part::new(ids.give(IdKind::Part), "Cello");
        let mut clef = |bar, value, staff| Change {
            id: ids.give(IdKind::Change),
            place: Place::start_of(BarIndex(bar)),
            staff,
            value,
            printed: true,
        };
        part.clefs = vec![clef(0, Clef::BASS, None), clef(4, Clef::TREBLE, Some(1))];
        part.index_bars(8);
        assert_eq!(part.clef_at(1, Place::start_of(BarIndex(3))), Some(Clef::BASS));
        assert_eq!(part.clef_at(1, Place::start_of(BarIndex(4))), Some(Clef::TREBLE));
        assert_eq!(part.clef_at(2, Place::start_of(BarIndex(6))), Some(Clef::BASS));
    }
}
