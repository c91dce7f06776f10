//! Where are we in the score? All parts read side by side, record by record: what is open, what is in force.

use super::layout::{Home, Layout};
use super::leftover::Leftover;
use super::scan::{Cell, Line, Scan};
use super::spans::OpenSpan;
use super::tuplets::Group;
use super::user::Meanings;
use crate::assemble::{PartBar, Score};
use crate::report::Here;
use notation::{
    Anchor, BarIndex, Change, Direction, DirectionKind, Finding, Id, IdKind, Origin, Part, Place, Quarters,
    Rational, Severity, Side, Span, SpanKind, Written,
};

/// The reading of a score.
pub(super) struct Reader<'a, 's> {
    pub scan: &'s Scan<'a>,
    pub layout: Layout<'a>,
    pub score: Score,
    /// So many notes, rests and signs are taken, no more.
    pub most: usize,
    pub parts: Vec<PartState>,
    pub spines: Vec<SpineState>,
    pub slots: Vec<SlotState>,
    pub meanings: Meanings,
    pub leftover: Leftover,
    pub bar: BarIndex,
    pub offset: Quarters,
    /// Data was met.
    pub started: bool,
    /// The record being read, and the last one with data.
    pub index: usize,
    pub last_data: usize,
    /// Printed accidentals were worked out.
    pub implied_accidentals: bool,
    /// Comments of the encoder that were kept: how many.
    pub comments: u32,
}

/// A part being read.
#[derive(Debug)]
pub(super) struct PartState {
    pub part: Part,
    /// How it is called in messages.
    pub name: String,
    pub facts: Vec<PartBar>,
    /// Index of the first event of this bar.
    pub first_event: usize,
    /// How far its notes reach in this bar.
    pub content: Quarters,
    pub metre: Option<Quarters>,
    pub next_metre: Option<Option<Quarters>>,
    pub open: Vec<OpenSpan>,
    /// A metre symbol that waits for its metre.
    pub symbol: Option<(Place, notation::MetreSymbol)>,
}

/// What is in force in a spine.
#[derive(Debug, Default)]
pub(super) struct SpineState {
    /// Letters and semitones from sounding to written.
    pub written_above: (i32, Rational),
    pub cue: bool,
    /// No definite pitches: the percussion clef.
    pub unpitched: bool,
    pub tuplets_hidden: bool,
    /// A key designation that waits for its signature.
    pub designation: Option<(Place, super::key::Designation, u32)>,
    /// A signature was given.
    pub has_signature: bool,
    /// Where the signs of a spine beside the notes stand.
    pub side: Option<Side>,
    /// The hairpin that is open: index of its span.
    pub hairpin: Option<usize>,
    /// Which verse of its notes a spine of words is, from 1.
    pub verse: usize,
    /// The event of the last syllable.
    pub last_syllable: Option<usize>,
    /// A syllable goes on.
    pub inside_word: bool,
    /// The event of its first voice in the record being read.
    pub event: Option<usize>,
}

/// What a voice has open.
#[derive(Debug, Default)]
pub(super) struct SlotState {
    pub voice: Option<u16>,
    pub beams: u8,
    pub graces: u16,
    pub written: Option<Written>,
    /// The event before, if it was an appoggiatura.
    pub appoggiatura: Option<usize>,
    pub tuplet: Option<Group>,
    /// The tremolo between two notes that waits for its second.
    pub tremolo: Option<usize>,
}

impl<'a> Reader<'a, '_> {
    pub(super) fn home(&self, cell: &Cell<'a>) -> Option<Home> {
        let (spine, _) = self.scan.slots.get(cell.slot)?;
        self.layout.homes.get(*spine).copied().flatten()
    }

    pub(super) fn spine_of(&self, cell: &Cell<'a>) -> usize {
        self.scan.slots.get(cell.slot).map_or(0, |(spine, _)| *spine)
    }

    pub(super) fn place(&self) -> Place {
        Place {
            bar: self.bar,
            offset: self.offset,
        }
    }

    /// Where reading stands, for a finding.
    pub(super) fn here(&self, part: Option<usize>) -> Here {
        here(&self.score, &self.parts, part, self.place())
    }

    pub(super) fn find(
        &mut self,
        part: usize,
        severity: Severity,
        kind: &'static str,
        what: impl Into<String>,
        advice: &str,
    ) {
        let finding = self
            .here(Some(part))
            .put(Finding::new(severity, kind, what, advice));
        self.score.report.push(finding);
    }

    /// Counts something that is not taken into the piece.
    pub(super) fn left_out(&mut self, part: Option<usize>, known: bool, name: &str) {
        let (score, parts, place) = (
            &self.score,
            &self.parts,
            Place {
                bar: self.bar,
                offset: self.offset,
            },
        );
        self.leftover.add(known, name, || here(score, parts, part, place));
    }

    /// A new id, with where in the text the element stands.
    pub(super) fn id(&mut self, kind: IdKind, cell: &Cell<'a>) -> Id {
        let id = self.score.piece.ids.give(kind);
        let end = cell
            .at
            .saturating_add(u32::try_from(cell.text.len()).unwrap_or(u32::MAX));
        let origin = Origin {
            range: Some((cell.at, end)),
            ..Origin::default()
        };
        self.score.piece.provenance.origins.insert(id, origin);
        id
    }

    pub(super) fn change<T>(&mut self, cell: &Cell<'a>, staff: Option<u8>, value: T) -> Change<T> {
        self.score.taken += 1;
        Change {
            id: self.id(IdKind::Change, cell),
            place: self.place(),
            staff,
            value,
            printed: true,
        }
    }

    /// The staff to name in a part: none where it has only one.
    pub(super) fn staff(&self, home: Home) -> Option<u8> {
        let staves = self.parts.get(home.part).map_or(1, |state| state.part.staves);
        (staves > 1 && !home.all_staves).then_some(home.staff)
    }

    /// Adds a word or sign where reading stands.
    pub(super) fn direct(
        &mut self,
        cell: &Cell<'a>,
        home: Home,
        side: Option<Side>,
        printed: bool,
        kind: DirectionKind,
    ) {
        self.score.taken += 1;
        let direction = Direction {
            id: self.id(IdKind::Direction, cell),
            place: self.place(),
            staff: self.staff(home),
            voice: None,
            side,
            printed,
            kind,
        };
        if let Some(state) = self.parts.get_mut(home.part) {
            state.part.directions.push(direction);
        }
    }

    /// Adds a span of a part; its index there.
    pub(super) fn span(
        &mut self,
        cell: &Cell<'a>,
        part: usize,
        kind: SpanKind,
        start: Option<Anchor>,
        staff: Option<u8>,
        side: Option<Side>,
    ) -> usize {
        self.score.taken += 1;
        let span = Span {
            id: self.id(IdKind::Span, cell),
            kind,
            start,
            end: None,
            staff,
            side,
        };
        let spans = &mut self.parts[part].part.spans;
        spans.push(span);
        spans.len() - 1
    }

    /// An anchor at an event of a part.
    pub(super) fn anchor(&self, part: usize, event: usize) -> Option<Anchor> {
        let event = self.parts.get(part)?.part.events.get(event)?;
        Some(Anchor {
            place: event.place,
            element: Some(event.id),
        })
    }

    /// Goes to a record.
    pub(super) fn go_to(&mut self, line: &Line<'a>) {
        self.bar = BarIndex(line.bar);
        self.offset = line.offset;
    }
}

fn here(score: &Score, parts: &[PartState], part: Option<usize>, place: Place) -> Here {
    Here {
        part: part
            .and_then(|part| parts.get(part))
            .map(|state| state.name.clone()),
        bar: Some((place.bar, score.piece.label(place.bar).to_owned())),
        offset: place.offset,
    }
}
