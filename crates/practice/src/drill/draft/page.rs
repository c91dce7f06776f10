//! How do drafted bars become a piece? With fresh ids, printed accidentals, beams, tuplets, bar lines, and a map back.

use super::beams::beam;
use super::tuplets::{Valued, brackets};
use super::{DraftBar, Passage, Small, Sounded, Tone};
use crate::BarSpan;
use crate::drill::{Source, StartTempo};
use notation::{
    Alter, Anchor, Bar, BarIndex, BarSide, Barline, Change, Clef, Direction, DirectionKind, Event, EventKind,
    Grace, Head, HeadNote, Id, IdKind, KeySignature, Metre, MetreSymbol, Metronome, MetronomeValue,
    NoteValue, Part, Piece, Pitch, Place, PrintedAccidental, Quarters, Rational, Repeat, Side, Span,
    SpanKind,
};
use std::collections::BTreeMap;

/// One drill of a page.
pub(crate) struct Chapter<'a> {
    pub passages: &'a [Passage],
    /// Words over its first bar.
    pub heading: Option<&'a str>,
    pub tempo: Option<StartTempo>,
}

/// A piece and where it comes from.
pub(crate) struct Written {
    pub piece: Piece,
    pub bars: Vec<Option<BarIndex>>,
    pub from: BTreeMap<Id, Id>,
}

/// Writes drills one after the other, each on a new line. `words` are lines that belong to no bar. Beside the piece the bars
/// of each drill; drills without bars don't come.
pub(crate) fn write(
    chapters: &[Chapter],
    source: &Source,
    title: &str,
    words: Vec<String>,
) -> (Written, Vec<BarSpan>) {
    let mut writer = Writer::new(source);
    let mut spans = Vec::new();
    for chapter in chapters {
        let first = writer.piece.bars.len();
        let count = chapter.passages.len();
        if chapter.passages.iter().any(|passage| !passage.bars.is_empty()) {
            writer.open(BarIndex::from_usize(first), chapter);
        }
        for (index, passage) in chapter.passages.iter().enumerate() {
            let mut passage = passage.clone();
            passage.spell();
            writer.passage(&passage, index + 1 == count);
        }
        let end = writer.piece.bars.len();
        if end > first {
            let (from, to) = (BarIndex::from_usize(first), BarIndex::from_usize(end - 1));
            if let Some(bar) = writer.piece.bars.get_mut(first).filter(|_| first > 0) {
                bar.new_system = true;
            }
            spans.push(BarSpan::new(from, to));
        }
    }
    (writer.finish(source, title, words), spans)
}

struct Writer {
    piece: Piece,
    part: Part,
    bars: Vec<Option<BarIndex>>,
    from: BTreeMap<Id, Id>,
    clef: Option<Clef>,
    key: Option<KeySignature>,
    metre: Option<Metre>,
    /// What the bar has altered so far.
    live: BTreeMap<(i8, char), Alter>,
    /// Heads that the tone before holds on.
    held: Vec<HeadNote>,
}

/// An event written, for the spans that hold on to it.
#[derive(Clone, Copy)]
struct Placed {
    id: Id,
    place: Place,
    mark: u32,
    sounds: bool,
}

impl Writer {
    fn new(source: &Source) -> Self {
        let mut piece = Piece {
            concert_pitch: false,
            ..Piece::default()
        };
        let source = source.ctx.part;
        let mut part = Part::new(piece.ids.give(IdKind::Part), source.name.clone());
        part.abbreviation.clone_from(&source.abbreviation);
        part.instrument_name.clone_from(&source.instrument_name);
        part.instrument_sound.clone_from(&source.instrument_sound);
        part.midi_program = source.midi_program;
        part.voices.push("1".to_owned());
        part.staff_lines = source
            .staff_lines
            .iter()
            .filter(|(staff, _)| *staff == 1)
            .copied()
            .collect();
        Self {
            piece,
            part,
            bars: Vec::new(),
            from: BTreeMap::new(),
            clef: None,
            key: None,
            metre: None,
            live: BTreeMap::new(),
            held: Vec::new(),
        }
    }

    fn passage(&mut self, passage: &Passage, last: bool) {
        let first = self.piece.bars.len();
        let mut placed: Vec<Placed> = Vec::new();
        self.held.clear();
        for bar in &passage.bars {
            self.bar(bar, &mut placed);
        }
        self.reaches(passage, &placed);
        if self.piece.bars.len() == first {
            return;
        }
        if passage.opens {
            self.barline(first, BarSide::Left, "heavy-light", Some(true));
        }
        let end = self.piece.bars.len() - 1;
        match (passage.closes, last) {
            (true, _) => self.barline(end, BarSide::Right, "light-heavy", Some(false)),
            (false, true) => self.barline(end, BarSide::Right, "light-heavy", None),
            (false, false) => self.barline(end, BarSide::Right, "light-light", None),
        }
    }

    /// Where a drill begins: its heading and tempo.
    fn open(&mut self, first: BarIndex, chapter: &Chapter) {
        let place = Place::start_of(first);
        if let Some(heading) = chapter.heading {
            self.direct(place, Side::Above, DirectionKind::Words(heading.to_owned()));
        }
        if let Some(tempo) = chapter.tempo {
            let mark = Metronome {
                beat: tempo.beat.value,
                dots: tempo.beat.dots,
                value: MetronomeValue::PerMinute(tempo.bpm.to_string()),
                parentheses: false,
            };
            self.direct(place, Side::Above, DirectionKind::Metronome(mark));
        }
    }

    fn barline(&mut self, bar: usize, side: BarSide, style: &str, forward: Option<bool>) {
        let length = self.piece.bars.get(bar).map_or(Quarters::ZERO, |bar| bar.length);
        let offset = if side == BarSide::Left {
            Quarters::ZERO
        } else {
            length
        };
        self.piece.barlines.push(Barline {
            id: self.piece.ids.give(IdKind::Barline),
            part: 0,
            place: Place {
                bar: BarIndex::from_usize(bar),
                offset,
            },
            side,
            style: Some(style.to_owned()),
            repeat: forward.map(|forward| Repeat {
                forward,
                times: None,
                after_jump: None,
            }),
            ending: None,
            fermatas: Vec::new(),
            segno: None,
            coda: None,
        });
    }

    fn bar(&mut self, draft: &DraftBar, placed: &mut Vec<Placed>) {
        let mut draft = draft.clone();
        whole_rest(&mut draft);
        beam(&mut draft);
        let index = BarIndex::from_usize(self.piece.bars.len());
        let start = Place::start_of(index);
        self.live.clear();
        if self.clef != Some(draft.clef) {
            self.set_clef(start, draft.clef);
        }
        if self.key.as_ref() != Some(&draft.key) {
            self.set_key(start, &draft.key);
        }
        if self.metre != draft.metre {
            let metre = draft.metre.clone().unwrap_or(Metre {
                parts: Vec::new(),
                symbol: MetreSymbol::Senza,
            });
            let change = self.change(start, metre);
            self.part.metres.push(change);
            self.metre.clone_from(&draft.metre);
        }
        let id = self.piece.ids.give(IdKind::Bar);
        self.piece.bars.push(Bar {
            id,
            label: String::new(),
            implicit: draft.length < draft.full(),
            length: draft.length,
            new_system: false,
            new_page: false,
        });
        self.bars.push(draft.from);
        if let Some(words) = &draft.words {
            self.direct(start, Side::Above, DirectionKind::Words(words.clone()));
        }
        for (offset, mark) in &draft.dynamics {
            let place = Place {
                offset: *offset,
                ..start
            };
            self.direct(place, Side::Below, DirectionKind::Dynamic(mark.clone()));
        }
        let mut clefs = draft.clefs.iter().peekable();
        let mut keys = draft.keys.iter().peekable();
        let mut events: Vec<Placed> = Vec::new();
        let mut values: Vec<Valued> = Vec::new();
        for (offset, tone) in draft.placed() {
            let place = Place { offset, ..start };
            while let Some((at, clef)) = clefs.next_if(|(at, _)| *at <= offset) {
                self.set_clef(Place { offset: *at, ..start }, *clef);
            }
            while let Some((at, key)) = keys.next_if(|(at, _)| *at <= offset) {
                self.set_key(Place { offset: *at, ..start }, key);
            }
            let id = self.tone(tone, place);
            let at = Placed {
                id,
                place,
                mark: tone.mark,
                sounds: tone.is_note(),
            };
            placed.push(at);
            events.push(at);
            values.push((tone.written.clone(), tone.length));
        }
        // Changes after the last note begins.
        for (at, clef) in clefs {
            self.set_clef(Place { offset: *at, ..start }, *clef);
        }
        for (at, key) in keys {
            self.set_key(Place { offset: *at, ..start }, key);
        }
        for (ratio, from, to) in brackets(&values) {
            let (Some(first), Some(last)) = (events.get(from), events.get(to)) else {
                continue;
            };
            let kind = SpanKind::Tuplet {
                actual: ratio.actual,
                normal: ratio.normal,
                bracket: true,
            };
            self.span(kind, (first.id, first.place), (last.id, last.place));
        }
    }

    fn change<T>(&mut self, place: Place, value: T) -> Change<T> {
        Change {
            id: self.piece.ids.give(IdKind::Change),
            place,
            staff: None,
            value,
            printed: true,
        }
    }

    fn set_clef(&mut self, place: Place, clef: Clef) {
        let change = self.change(place, clef);
        self.part.clefs.push(change);
        self.clef = Some(clef);
    }

    fn set_key(&mut self, place: Place, key: &KeySignature) {
        let change = self.change(place, key.clone());
        self.part.keys.push(change);
        self.key = Some(key.clone());
        self.live.clear();
    }

    fn direct(&mut self, place: Place, side: Side, kind: DirectionKind) {
        let id = self.piece.ids.give(IdKind::Direction);
        self.part.directions.push(Direction {
            id,
            place,
            staff: None,
            voice: None,
            side: Some(side),
            printed: true,
            kind,
        });
    }

    fn tone(&mut self, tone: &Tone, place: Place) -> Id {
        let mut first_small = None;
        for (order, small) in (0_u16..).zip(&tone.graces) {
            let id = self.small(small, place, order);
            first_small.get_or_insert(id);
        }
        let id = self.piece.ids.give(IdKind::Event);
        let held = std::mem::take(&mut self.held);
        let kind = if tone.is_rest() {
            let whole_bar = tone.written.is_none() && place.offset.is_zero();
            EventKind::Rest { whole_bar }
        } else {
            EventKind::Chord(
                tone.heads
                    .iter()
                    .map(|head| self.head(head, tone.tied, held.contains(&head.note)))
                    .collect(),
            )
        };
        if tone.tied {
            self.held = tone.heads.iter().map(|head| head.note).collect();
        }
        if let Some(words) = &tone.words {
            self.direct(place, Side::Above, DirectionKind::Words(words.clone()));
        }
        if let Some(from) = tone.from {
            self.from.insert(id, from);
        }
        if let Some(first) = first_small.filter(|_| tone.graces_slurred) {
            self.span(SpanKind::Slur, (first, place), (id, place));
        }
        let mut event = plain(id, place, kind);
        event.duration = tone.length;
        event.written.clone_from(&tone.written);
        event.beams.clone_from(&tone.beams);
        event.articulations.clone_from(&tone.articulations);
        event.ornaments.clone_from(&tone.ornaments);
        event.technical.clone_from(&tone.technical);
        event.fermatas.clone_from(&tone.fermatas);
        event.arpeggio.clone_from(&tone.arpeggio);
        self.part.events.push(event);
        id
    }

    fn small(&mut self, small: &Small, place: Place, order: u16) -> Id {
        let id = self.piece.ids.give(IdKind::Event);
        let heads = small
            .heads
            .iter()
            .map(|head| self.head(head, false, false))
            .collect();
        let mut event = plain(id, place, EventKind::Chord(heads));
        event.written = small.written.clone().or_else(|| {
            Some(notation::Written {
                value: NoteValue::Eighth,
                dots: 0,
                tuplets: Vec::new(),
            })
        });
        event.grace = Some(Grace {
            slash: small.slash,
            order,
            after: false,
        });
        if let Some(from) = small.from {
            self.from.insert(id, from);
        }
        self.part.events.push(event);
        id
    }

    /// A head with its printed accidental by the usual rule: in its own octave and bar, a tie carries on.
    fn head(&mut self, sounded: &Sounded, tied: bool, held: bool) -> Head {
        let accidental = sounded
            .pitch()
            .filter(|_| !held)
            .and_then(|pitch| self.accidental(pitch, sounded.courtesy));
        Head {
            id: self.piece.ids.give(IdKind::Head),
            note: sounded.note,
            staff: 1,
            accidental,
            tie_start: tied,
            tie_stop: held,
            let_ring: false,
            technical: sounded.technical.clone(),
            shape: sounded.shape.clone(),
            parentheses: false,
        }
    }

    fn accidental(&mut self, pitch: Pitch, courtesy: bool) -> Option<PrintedAccidental> {
        let slot = (pitch.octave, pitch.step.letter());
        let signature = self
            .key
            .as_ref()
            .map_or(Rational::ZERO, |key| key.alter_of(pitch.step));
        let live = self.live.insert(slot, pitch.alter).unwrap_or(signature);
        let needed = live != pitch.alter;
        if !needed && !courtesy {
            return None;
        }
        Some(PrintedAccidental {
            sign: notation::accidental_name(pitch.alter)?.to_owned(),
            alter: Some(pitch.alter),
            cautionary: !needed,
            editorial: false,
            parentheses: false,
        })
    }

    fn span(&mut self, kind: SpanKind, from: (Id, Place), to: (Id, Place)) {
        let id = self.piece.ids.give(IdKind::Span);
        let anchor = |(id, place)| {
            Some(Anchor {
                place,
                element: Some(id),
            })
        };
        self.part.spans.push(Span {
            id,
            kind,
            start: anchor(from),
            end: anchor(to),
            staff: Some(1),
            side: None,
        });
    }

    /// Slurs and lines from the first event that bears the mark, or a later one, to the last that does.
    fn reaches(&mut self, passage: &Passage, placed: &[Placed]) {
        for reach in &passage.reaches {
            let inside: Vec<&Placed> = placed
                .iter()
                .filter(|at| at.sounds && (reach.from..=reach.to).contains(&at.mark))
                .collect();
            let (Some(first), Some(last)) = (inside.first(), inside.last()) else {
                continue;
            };
            if first.id == last.id && reach.kind == SpanKind::Slur {
                continue;
            }
            self.span(reach.kind.clone(), (first.id, first.place), (last.id, last.place));
        }
    }

    fn finish(mut self, source: &Source, title: &str, words: Vec<String>) -> Written {
        let source = source.ctx;
        let first = self.bars.iter().flatten().next().copied().unwrap_or_default();
        let transposition = source.part.transposition_at(Place::start_of(first));
        if !source.part.transpositions.is_empty() {
            let change = self.change(Place::default(), transposition);
            self.part.transpositions.push(change);
        }
        let pickup = usize::from(self.piece.bars.first().is_some_and(|bar| bar.implicit));
        for (index, bar) in self.piece.bars.iter_mut().enumerate() {
            bar.label = (index + 1 - pickup).to_string();
        }
        self.piece.concert_pitch = source.piece.concert_pitch;
        self.part.for_player = source.part.for_player;
        self.piece.credits.title = Some(title.to_owned());
        self.piece.credits.page_words = words;
        self.part
            .spans
            .sort_by_key(|span| span.start.map(|start| start.place));
        self.piece.barlines.sort_by_key(|line| (line.place, line.side));
        let bars = self.piece.bars.len();
        self.part.index_bars(bars);
        self.piece.parts.push(self.part);
        Written {
            piece: self.piece,
            bars: self.bars,
            from: self.from,
        }
    }
}

/// A full bar of nothing but rests has one rest.
fn whole_rest(bar: &mut DraftBar) {
    if bar.is_full() && bar.metre.is_some() && !bar.tones.is_empty() && bar.tones.iter().all(Tone::is_rest) {
        bar.tones = vec![Tone::rest(bar.length)];
    }
}

fn plain(id: Id, place: Place, kind: EventKind) -> Event {
    Event {
        id,
        place,
        kind,
        duration: Quarters::ZERO,
        written: None,
        grace: None,
        cue: false,
        voice: 0,
        staff: 1,
        printed: true,
        beams: Vec::new(),
        articulations: Vec::new(),
        ornaments: Vec::new(),
        technical: Vec::new(),
        fermatas: Vec::new(),
        dynamics: Vec::new(),
        arpeggio: None,
        lyrics: Vec::new(),
    }
}
