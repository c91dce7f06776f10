//! How does a tune become a written page? Bars, beams, rests, printed accidentals, marks, words.

use super::marks::{Marks, Sign};
use super::measure::{BeatKind, Measure, QUARTER, Ticks, quarters};
use super::tune::{Note, Tune};
use instruments::Instrument;
use notation::{
    Anchor, Articulation, ArticulationKind, Bar, BarIndex, BarSide, Barline, Beam, Change, Clef, Direction,
    DirectionKind, Event, EventKind, Head, HeadNote, Id, IdKind, KeySignature, Metronome, MetronomeValue,
    NoteValue, Part, Piece, Pitch, Place, PrintedAccidental, Quarters, Rational, Side, Span, SpanKind,
    TupletRatio, Written,
};
use std::collections::BTreeMap;

/// What stands on the page beside the notes.
#[derive(Clone, Debug)]
pub(super) struct Page<'a> {
    pub(super) title: &'a str,
    pub(super) instrument: Option<&'static Instrument>,
    pub(super) signature: KeySignature,
    pub(super) measure: &'a Measure,
    pub(super) bars: usize,
    /// Tempo word and number of beats a minute.
    pub(super) words: &'a str,
    pub(super) bpm: u16,
}

struct Writer<'a> {
    page: &'a Page<'a>,
    tune: &'a Tune,
    piece: Piece,
    part: Part,
    /// The event of each note of the tune.
    events: Vec<(Id, Place)>,
}

/// Writes a tune down.
pub(super) fn write(page: &Page, tune: &Tune, marks: &Marks) -> Piece {
    let mut piece = Piece::default();
    piece.credits.title = Some(page.title.to_owned());
    let name = page.instrument.map_or("Part", |instrument| instrument.name);
    let part = Part::new(piece.ids.give(IdKind::Part), name);
    let mut writer = Writer {
        page,
        tune,
        piece,
        part,
        events: Vec::new(),
    };
    writer.head();
    writer.bars();
    writer.music(marks);
    writer.beams();
    writer.spans(marks);
    writer.finish()
}

impl Writer<'_> {
    fn change<T>(&mut self, value: T) -> Change<T> {
        Change {
            id: self.piece.ids.give(IdKind::Change),
            place: Place::default(),
            staff: None,
            value,
            printed: true,
        }
    }

    fn head(&mut self) {
        self.part.voices.push("1".to_owned());
        if let Some(instrument) = self.page.instrument {
            self.part.instrument_name = Some(instrument.name.to_owned());
            self.part.instrument_sound = instrument.sounds.first().map(|sound| (*sound).to_owned());
            self.part.midi_program = instrument.midi.first().copied();
            let transposition = instrument.transposition();
            if !transposition.semitones().is_zero() {
                let change = self.change(transposition);
                self.part.transpositions.push(change);
            }
        }
        let clef = self
            .page
            .instrument
            .and_then(|instrument| instrument.clefs.first())
            .map_or(Clef::TREBLE, |usual| usual.clef);
        let clef = self.change(clef);
        self.part.clefs.push(clef);
        let key = self.change(self.page.signature.clone());
        self.part.keys.push(key);
        let metre = self.change(self.page.measure.metre());
        self.part.metres.push(metre);
        self.direction(
            Place::default(),
            DirectionKind::Words(self.page.words.to_owned()),
            Side::Above,
        );
        let (beat, dots) = match self.page.measure.kinds().first() {
            Some(BeatKind::Half) => (NoteValue::Half, 0),
            Some(BeatKind::Dotted) if self.page.measure.compound() => (NoteValue::Quarter, 1),
            _ => (NoteValue::Quarter, 0),
        };
        let metronome = Metronome {
            beat,
            dots,
            value: MetronomeValue::PerMinute(self.page.bpm.to_string()),
            parentheses: false,
        };
        self.direction(Place::default(), DirectionKind::Metronome(metronome), Side::Above);
    }

    fn direction(&mut self, place: Place, kind: DirectionKind, side: Side) {
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

    /// The bars: a pickup, full ones, the last shorter by the pickup.
    fn bars(&mut self) {
        let full = self.page.measure.length();
        let pickup = self.tune.pickup;
        let mut lengths: Vec<Ticks> = vec![full; self.page.bars];
        if pickup > 0 {
            if let Some(last) = lengths.last_mut() {
                *last -= pickup;
            }
            lengths.insert(0, pickup);
        }
        for (index, length) in lengths.iter().enumerate() {
            let id = self.piece.ids.give(IdKind::Bar);
            self.piece.bars.push(Bar {
                id,
                label: (index + usize::from(pickup == 0)).to_string(),
                implicit: pickup > 0 && index == 0,
                length: quarters(*length),
                new_system: false,
                new_page: false,
            });
        }
        let last = BarIndex::from_usize(lengths.len().saturating_sub(1));
        let id = self.piece.ids.give(IdKind::Barline);
        self.piece.barlines.push(Barline {
            id,
            part: 0,
            place: Place {
                bar: last,
                offset: quarters(lengths.last().copied().unwrap_or(0)),
            },
            side: BarSide::Right,
            style: Some("light-heavy".to_owned()),
            repeat: None,
            ending: None,
            fermatas: Vec::new(),
            segno: None,
            coda: None,
        });
    }

    /// Bar and offset of a moment.
    fn place(&self, onset: Ticks) -> Place {
        let full = self.page.measure.length();
        if onset < 0 {
            return Place {
                bar: BarIndex(0),
                offset: quarters(onset + self.tune.pickup),
            };
        }
        let bar = usize::try_from(onset / full).unwrap_or(0) + usize::from(self.tune.pickup > 0);
        Place {
            bar: BarIndex::from_usize(bar),
            offset: quarters(onset % full),
        }
    }

    fn music(&mut self, marks: &Marks) {
        let full = self.page.measure.length();
        let mut reader = Accidentals {
            signature: self.page.signature.clone(),
            ..Accidentals::default()
        };
        let mut at = -self.tune.pickup;
        for index in 0..self.tune.notes.len() {
            let Some(note) = self.tune.notes.get(index).copied() else {
                continue;
            };
            self.rests(at, note.onset);
            let bar = self.place(note.onset).bar;
            let accidental = reader.read(bar, note.pitch);
            self.note(index, &note, accidental, marks);
            at = note.onset + note.length;
        }
        let end = Ticks::try_from(self.page.bars).unwrap_or(0) * full - self.tune.pickup;
        self.rests(at, end);
    }

    fn event(
        &mut self,
        onset: Ticks,
        kind: EventKind,
        duration: Quarters,
        written: Option<Written>,
    ) -> Event {
        Event {
            id: self.piece.ids.give(IdKind::Event),
            place: self.place(onset),
            kind,
            duration,
            written,
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

    fn note(&mut self, index: usize, note: &Note, accidental: Option<PrintedAccidental>, marks: &Marks) {
        let head = Head {
            id: self.piece.ids.give(IdKind::Head),
            note: HeadNote::Pitch(note.pitch),
            staff: 1,
            accidental,
            tie_start: false,
            tie_stop: false,
            let_ring: false,
            technical: Vec::new(),
            shape: None,
            parentheses: false,
        };
        let written = written(note.length);
        let duration = quarters(note.length);
        let mut event = self.event(note.onset, EventKind::Chord(vec![head]), duration, Some(written));
        let sign = marks.signs.get(&index).and_then(|sign| match sign {
            Sign::Slur => None,
            Sign::Staccato => Some(ArticulationKind::Staccato),
            Sign::Tenuto => Some(ArticulationKind::Tenuto),
            Sign::Accent => Some(ArticulationKind::Accent),
        });
        let breath = marks
            .breaths
            .contains(&index)
            .then(|| ArticulationKind::BreathMark("comma".to_owned()));
        for kind in sign.into_iter().chain(breath) {
            event.articulations.push(Articulation { kind, side: None });
        }
        self.events.push((event.id, event.place));
        self.part.events.push(event);
    }

    /// Rests from one moment to another, each inside its beat or, where the metre allows it, over two.
    fn rests(&mut self, from: Ticks, to: Ticks) {
        let measure = self.page.measure;
        let full = measure.length();
        let mut at = from;
        while at < to {
            let in_bar = at.rem_euclid(full);
            let bar_end = at - in_bar + full;
            if in_bar == 0 && to >= bar_end {
                let event = self.event(at, EventKind::Rest { whole_bar: true }, quarters(full), None);
                self.part.events.push(event);
                at = bar_end;
                continue;
            }
            let (start, end) = measure.beat_at(in_bar);
            let left = (to - at).min(bar_end - at);
            let in_beat = left.min(end - in_bar);
            let length = if in_bar == start && left >= 48 && half_rest(measure, in_bar) {
                48
            } else {
                // Inside a dotted beat a quarter rest only begins it.
                let sizes: &[Ticks] = if in_bar == start {
                    &[48, 36, 24, 12, 6]
                } else {
                    &[12, 6]
                };
                sizes
                    .iter()
                    .copied()
                    .find(|size| *size <= in_beat)
                    .unwrap_or(in_beat)
            };
            let event = self.event(
                at,
                EventKind::Rest { whole_bar: false },
                quarters(length),
                Some(written(length)),
            );
            self.part.events.push(event);
            at += length;
        }
    }

    fn beams(&mut self) {
        let measure = self.page.measure;
        let full = measure.length();
        let mut groups: Vec<Vec<usize>> = Vec::new();
        let mut last: Option<(Ticks, Ticks)> = None;
        for (index, event) in self.part.events.iter().enumerate() {
            let onset = self.onset(event.place);
            let value = event.written.as_ref().map(|written| written.value);
            let beamed = event.is_note() && value.is_some_and(|value| value < NoteValue::Quarter);
            if !beamed {
                last = None;
                continue;
            }
            let unit = (onset.div_euclid(full), measure.beat_at(onset.rem_euclid(full)).0);
            match groups.last_mut() {
                Some(group) if last == Some(unit) => group.push(index),
                _ => groups.push(vec![index]),
            }
            last = Some(unit);
        }
        self.join_eighths(&mut groups);
        for group in groups.iter().filter(|group| group.len() > 1) {
            self.beam(group);
        }
        self.tuplets();
    }

    /// Plain eighths of two beats that belong together, or of a whole bar of three, share a beam.
    fn join_eighths(&self, groups: &mut Vec<Vec<usize>>) {
        let measure = self.page.measure;
        if measure.kinds().first() != Some(&BeatKind::Quarter) || measure.uneven() {
            return;
        }
        let full = measure.length();
        let pair = |group: &[usize]| {
            let lengths: Vec<Ticks> = group.iter().filter_map(|at| self.length_of(*at)).collect();
            (lengths == [12, 12]).then_some(())?;
            let onset = self.onset(self.part.events.get(*group.first()?)?.place);
            (onset >= 0).then_some(onset)
        };
        let mut at = 0;
        while at + 1 < groups.len() {
            let here = groups.get(at).and_then(|group| pair(group));
            let next = groups.get(at + 1).and_then(|group| pair(group));
            if let (Some(here), Some(next)) = (here, next) {
                let in_bar = here.rem_euclid(full);
                let beat = usize::try_from(in_bar / QUARTER).unwrap_or(0);
                let together = measure.may_hold(beat, 2) && full != 72;
                if next == here + QUARTER && together && in_bar % QUARTER == 0 {
                    let second = groups.remove(at + 1);
                    if let Some(first) = groups.get_mut(at) {
                        first.extend(second);
                    }
                }
            }
            at += 1;
        }
    }

    fn onset(&self, place: Place) -> Ticks {
        let full = self.page.measure.length();
        let offset = place.offset * Rational::whole(i64::from(QUARTER));
        let offset = Ticks::try_from(offset.floor()).unwrap_or(0);
        let bar = Ticks::try_from(place.bar.0).unwrap_or(0);
        if self.tune.pickup > 0 {
            if bar == 0 {
                offset - self.tune.pickup
            } else {
                (bar - 1) * full + offset
            }
        } else {
            bar * full + offset
        }
    }

    fn length_of(&self, event: usize) -> Option<Ticks> {
        let length = self.part.events.get(event)?.duration * Rational::whole(i64::from(QUARTER));
        Ticks::try_from(length.floor()).ok()
    }

    fn beam(&mut self, group: &[usize]) {
        let lengths: Vec<Ticks> = group.iter().filter_map(|at| self.length_of(*at)).collect();
        let sixteenth = |at: usize| lengths.get(at) == Some(&6);
        let count = group.len();
        for (at, index) in group.iter().enumerate() {
            let place = |first: bool, last: bool| match (first, last) {
                (true, _) => Beam::Begin,
                (_, true) => Beam::End,
                _ => Beam::Continue,
            };
            let mut beams = vec![place(at == 0, at + 1 == count)];
            if sixteenth(at) {
                let before = at > 0 && sixteenth(at - 1);
                let after = sixteenth(at + 1);
                beams.push(match (before, after) {
                    (false, false) if at == 0 => Beam::ForwardHook,
                    (false, false) => Beam::BackwardHook,
                    (before, after) => place(!before, !after),
                });
            }
            if let Some(event) = self.part.events.get_mut(*index) {
                event.beams = beams;
            }
        }
    }

    /// A bracket over each three notes in the time of two.
    fn tuplets(&mut self) {
        let inside: Vec<usize> = (0..self.part.events.len())
            .filter(|at| self.length_of(*at) == Some(8))
            .collect();
        let groups: Vec<(Anchor, Anchor)> = inside
            .chunks(3)
            .filter_map(|three| {
                let anchor = |at: &usize| {
                    let event = self.part.events.get(*at)?;
                    Some(Anchor {
                        place: event.place,
                        element: Some(event.id),
                    })
                };
                Some((anchor(three.first()?)?, anchor(three.last()?)?))
            })
            .collect();
        for (start, end) in groups {
            let kind = SpanKind::Tuplet {
                actual: 3,
                normal: 2,
                bracket: false,
            };
            self.span(kind, start, end, None);
        }
    }

    fn span(&mut self, kind: SpanKind, start: Anchor, end: Anchor, side: Option<Side>) {
        let id = self.piece.ids.give(IdKind::Span);
        self.part.spans.push(Span {
            id,
            kind,
            start: Some(start),
            end: Some(end),
            staff: Some(1),
            side,
        });
    }

    fn spans(&mut self, marks: &Marks) {
        let anchor = |at: usize, events: &[(Id, Place)]| {
            events.get(at).map(|(id, place)| Anchor {
                place: *place,
                element: Some(*id),
            })
        };
        for (from, to) in &marks.slurs {
            if let (Some(start), Some(end)) = (anchor(*from, &self.events), anchor(*to, &self.events)) {
                self.span(SpanKind::Slur, start, end, None);
            }
        }
        for (at, level) in &marks.dynamics {
            if let Some((_, place)) = self.events.get(*at).copied() {
                self.direction(place, DirectionKind::Dynamic((*level).to_owned()), Side::Below);
            }
        }
        for (from, to, louder) in &marks.hairpins {
            let start = self.events.get(*from).map(|(_, place)| *place);
            let end = self
                .tune
                .notes
                .get(*to)
                .map(|note| self.place(note.onset + note.length - 1));
            let end_place = self
                .events
                .get(*to)
                .zip(self.tune.notes.get(*to))
                .map(|((_, place), note)| Place {
                    bar: place.bar,
                    offset: place.offset + quarters(note.length),
                });
            if let (Some(start), Some(_), Some(end)) = (start, end, end_place) {
                let kind = if *louder {
                    SpanKind::Crescendo { niente: false }
                } else {
                    SpanKind::Diminuendo { niente: false }
                };
                let at = |place: Place| Anchor { place, element: None };
                self.span(kind, at(start), at(end), Some(Side::Below));
            }
        }
    }

    fn finish(mut self) -> Piece {
        self.part.index_bars(self.piece.bars.len());
        self.piece.parts.push(self.part);
        self.piece
    }
}

/// A half rest stands at the start of half a bar of four beats, or on a beat of half notes.
fn half_rest(measure: &Measure, in_bar: Ticks) -> bool {
    match measure.kinds().first() {
        Some(BeatKind::Half) => true,
        Some(BeatKind::Quarter) => measure.kinds().len() == 4 && measure.strength(in_bar) >= 3,
        _ => false,
    }
}

/// The printed value of a length.
fn written(length: Ticks) -> Written {
    let triplet = || vec![TupletRatio { actual: 3, normal: 2 }];
    let (value, dots, tuplets) = match length {
        6 => (NoteValue::N16th, 0, Vec::new()),
        8 => (NoteValue::Eighth, 0, triplet()),
        12 => (NoteValue::Eighth, 0, Vec::new()),
        18 => (NoteValue::Eighth, 1, Vec::new()),
        24 => (NoteValue::Quarter, 0, Vec::new()),
        36 => (NoteValue::Quarter, 1, Vec::new()),
        48 => (NoteValue::Half, 0, Vec::new()),
        72 => (NoteValue::Half, 1, Vec::new()),
        144 => (NoteValue::Whole, 1, Vec::new()),
        192 => (NoteValue::Breve, 0, Vec::new()),
        _ => (NoteValue::Whole, 0, Vec::new()),
    };
    Written { value, dots, tuplets }
}

/// Which accidentals are printed: what differs from what is in force in its octave, and a reminder in the next bar.
#[derive(Default)]
struct Accidentals {
    signature: KeySignature,
    bar: BarIndex,
    live: BTreeMap<(i8, char), Rational>,
    /// What the bar before left altered.
    before: BTreeMap<(i8, char), Rational>,
}

impl Accidentals {
    fn read(&mut self, bar: BarIndex, pitch: Pitch) -> Option<PrintedAccidental> {
        if bar != self.bar {
            self.before = if bar == self.bar.next() {
                std::mem::take(&mut self.live)
            } else {
                BTreeMap::new()
            };
            self.live.clear();
            self.bar = bar;
        }
        let slot = (pitch.octave, pitch.step.letter());
        let plain = self.signature.alter_of(pitch.step);
        let in_force = self.live.get(&slot).copied().unwrap_or(plain);
        let reminder = in_force == pitch.alter
            && !self.live.contains_key(&slot)
            && self.before.get(&slot).is_some_and(|alter| *alter != pitch.alter);
        let needed = in_force != pitch.alter;
        self.live.insert(slot, pitch.alter);
        if !needed && !reminder {
            return None;
        }
        let sign = match pitch.whole_alter()? {
            0 => "natural",
            1 => "sharp",
            -1 => "flat",
            2 => "double-sharp",
            _ => "flat-flat",
        };
        Some(PrintedAccidental {
            sign: sign.to_owned(),
            alter: Some(pitch.alter),
            cautionary: reminder,
            editorial: false,
            parentheses: reminder,
        })
    }
}
