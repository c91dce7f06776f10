//! How do quantised and spelled notes become a page? Bars, voices, note values and ties put together into a piece.

use super::bars::{Clock, GridBar, bars};
use super::bytes::{Chunk, Division, Header, chunks, unwrapped};
use super::ends::{EndsReport, ends};
use super::metre_tree::Node;
use super::parts::{PartNotes, parts};
use super::quantise::{Onsets, Precision, lead, onsets, precision};
use super::said::{self, PartFacts};
use super::signs::Signs;
use super::spelling::spell;
use super::take::Take;
use super::values::{Segment, Value, values};
use super::voices::{Chord, voices};
use crate::FormatError;
use crate::assemble::{PartBar, Score};
use notation::{
    Anchor, BarIndex, Event, EventKind, Finding, Head, HeadNote, How, IdKind, Origin, Part, Piece, Pitch,
    Place, Quarters, Span, SpanKind,
};

/// More notes, rests and tied pieces than a piece for players has; a silent file could ask for any number of rests.
const MOST_EVENTS: usize = 80_000;
/// A note of one part takes some 1,400 bytes of memory, read and surveyed: so many in a part, and one more for so many bytes
/// of the file, stay under twenty times the file and 64 MB.
const MOST_IN_A_PART: usize = 41_000;
const BYTES_OF_A_NOTE: usize = 70;
/// More parts than a score has.
const MOST_PARTS: usize = 500;

/// All that is known of the file when its notes have been put on the page's grid.
pub(super) struct Scored {
    pub header: Header,
    pub take: Take,
    pub clock: Clock,
    pub bars: Vec<GridBar>,
    pub precision: Precision,
    pub parts: Vec<ScoredPart>,
    /// Independent patterns of a format 2 file that were passed over.
    pub other_patterns: usize,
}

/// One part on the grid.
pub(super) struct ScoredPart {
    pub from: PartNotes,
    pub onsets: Onsets,
    pub report: EndsReport,
    /// One for each note; empty for percussion.
    pub pitches: Vec<Option<Pitch>>,
    pub chords: Vec<Chord>,
    /// Notes shortened because too many sounded together.
    pub shortened: u32,
}

/// Reads the bytes of a file.
pub(super) fn read(bytes: &[u8]) -> Result<(Piece, Vec<Finding>), FormatError> {
    let mut scored = score(bytes)?;
    let signs = Signs::new(&scored);
    spell_all(&mut scored, &signs);
    let mut score = Score::default();
    // What sounds is all there is.
    score.piece.concert_pitch = true;
    put_bars(&mut score, &scored);
    let mut facts = Vec::new();
    for index in 0..scored.parts.len() {
        let most = MOST_IN_A_PART + bytes.len() / BYTES_OF_A_NOTE;
        let part = put_part(&mut score, &scored, &signs, index, most)?;
        facts.push(part);
    }
    signs.credits(&mut score, &scored);
    said::say(&mut score.report, &scored, &signs, &facts);
    score.settle();
    Ok((score.piece, score.report.finish()))
}

fn unreadable(what: &str, advice: &'static str) -> FormatError {
    FormatError::Midi {
        what: what.to_owned(),
        advice,
    }
}

const AGAIN: &str = "export or download it again";

/// From the bytes to notes on the grid.
fn score(bytes: &[u8]) -> Result<Scored, FormatError> {
    let (inner, base) = unwrapped(bytes);
    let (header, tracks) =
        chunks(inner, base).ok_or_else(|| unreadable("its header is missing or damaged", AGAIN))?;
    let mut take = Take::default();
    let mut other_patterns = 0;
    if header.format == 2 {
        let holds_notes = |number: u16, chunk: &Chunk<'_>| {
            let mut take = Take::default();
            take.track(number, *chunk);
            !take.notes.is_empty()
        };
        let mut patterns = (0..)
            .zip(&tracks)
            .filter(|(number, chunk)| holds_notes(*number, chunk));
        if let Some((number, chunk)) = patterns.next() {
            take.track(number, *chunk);
        }
        other_patterns = patterns.count();
    } else {
        for (number, chunk) in (0..).zip(&tracks) {
            take.track(number, *chunk);
        }
    }
    take.settle();
    if take.notes.is_empty() {
        return Err(unreadable(
            "it holds no notes",
            "look whether it is the right file",
        ));
    }
    let clock = Clock::new(header, &take)
        .ok_or_else(|| unreadable("its header gives a quarter note no ticks", AGAIN))?;
    let bars = bars(&take, clock)?;
    let parts = parts(&take);
    if parts.len() > MOST_PARTS || parts.len() * bars.len() > MOST_EVENTS {
        return Err(unreadable(
            &format!("it asks for {} parts of {} bars", parts.len(), bars.len()),
            "look whether it is the right file",
        ));
    }
    let precision = precision(&take.notes, &bars, clock);
    let parts = parts
        .into_iter()
        .map(|from| on_grid(from, &bars, clock, precision))
        .collect();
    Ok(Scored {
        header,
        take,
        clock,
        bars,
        precision,
        parts,
        other_patterns,
    })
}

fn on_grid(from: PartNotes, bars: &[GridBar], clock: Clock, precision: Precision) -> ScoredPart {
    let onsets = onsets(&from.notes, bars, clock, precision);
    let (ends, report) = ends(&from.notes, &onsets, bars, clock);
    let timed: Vec<_> = from
        .notes
        .iter()
        .zip(onsets.starts.iter().zip(&ends))
        .map(|(note, (start, end))| (*start, *end, note.key))
        .collect();
    let (chords, shortened) = voices(&timed);
    ScoredPart {
        pitches: vec![None; from.notes.len()],
        from,
        onsets,
        report,
        chords,
        shortened,
    }
}

/// Spells the notes of all parts together, in order of time.
fn spell_all(scored: &mut Scored, signs: &Signs) {
    let mut order: Vec<(Quarters, u8, usize, usize)> = Vec::with_capacity(scored.take.notes.len());
    for (index, part) in scored
        .parts
        .iter()
        .enumerate()
        .filter(|(_, part)| !part.from.is_percussion())
    {
        for (note, (of, start)) in part.from.notes.iter().zip(&part.onsets.starts).enumerate() {
            order.push((*start, of.key, index, note));
        }
    }
    order.sort_unstable();
    let keys: Vec<u8> = order.iter().map(|(_, key, ..)| *key).collect();
    let signature: Vec<i8> = order.iter().map(|(start, ..)| signs.fifths_at(*start)).collect();
    for ((.., part, note), pitch) in order.into_iter().zip(spell(&keys, &signature)) {
        let place = scored
            .parts
            .get_mut(part)
            .and_then(|part| part.pitches.get_mut(note));
        if let Some(place) = place {
            *place = Some(pitch);
        }
    }
}

fn put_bars(score: &mut Score, scored: &Scored) {
    let pickup = scored.bars.first().is_some_and(GridBar::is_short);
    for (index, of) in scored.bars.iter().enumerate() {
        let bar = score.bar_mut(index);
        bar.label = (index + usize::from(!pickup)).to_string();
        bar.implicit = index == 0 && pickup;
        bar.length = of.length;
    }
}

/// Writes one part into the score.
fn put_part(
    score: &mut Score,
    scored: &Scored,
    signs: &Signs,
    index: usize,
    most: usize,
) -> Result<PartFacts, FormatError> {
    let Some(of) = scored.parts.get(index) else {
        return Ok(PartFacts::default());
    };
    let id = score.piece.ids.give(IdKind::Part);
    let mut part = Part::new(id, "");
    signs.names(&mut part, scored, of);
    signs.changes(&mut part, score, scored, of);
    if index == 0 {
        signs.directions(&mut part, score, scored);
    }
    let voices = of.chords.iter().map(|chord| chord.voice + 1).max().unwrap_or(1);
    part.voices = (1..=voices).map(|voice| voice.to_string()).collect();
    let mut writer = PartWriter {
        score,
        scored,
        of,
        part,
        facts: Vec::with_capacity(scored.bars.len()),
    };
    let mut by_voice: Vec<Vec<usize>> = vec![Vec::new(); voices];
    for (chord, of) in of.chords.iter().enumerate() {
        if let Some(voice) = by_voice.get_mut(of.voice) {
            voice.push(chord);
        }
    }
    let mut next = vec![0; voices];
    for bar in 0..scored.bars.len() {
        for (voice, (chords, next)) in by_voice.iter().zip(&mut next).enumerate() {
            writer.bar(bar, voice, chords, next);
        }
        let most = if writer.part.events.len() > most {
            most
        } else {
            MOST_EVENTS
        };
        if writer.part.events.len() > most || writer.score.taken > most {
            return Err(unreadable(
                &format!("its notes would fill more than {most} places on the page"),
                "look whether it is the right file",
            ));
        }
    }
    let PartWriter { mut part, facts, .. } = writer;
    let lyrics = signs.lyrics(&mut part, of, scored);
    score.facts.push(facts);
    let name = part.name.clone();
    score.piece.parts.push(part);
    Ok(PartFacts { name, lyrics })
}

struct PartWriter<'a> {
    score: &'a mut Score,
    scored: &'a Scored,
    of: &'a ScoredPart,
    part: Part,
    facts: Vec<PartBar>,
}

impl PartWriter<'_> {
    /// Writes what a voice has in a bar; `next` is the first of its chords that hasn't ended before the bar.
    fn bar(&mut self, bar: usize, voice: usize, chords: &[usize], next: &mut usize) {
        let Some(grid) = self.scored.bars.get(bar) else {
            return;
        };
        let (first, last) = (grid.start, grid.end());
        let chord = |at: usize| {
            chords
                .get(at)
                .and_then(|chord| Some((*chord, self.of.chords.get(*chord)?)))
        };
        while chord(*next).is_some_and(|(_, chord)| chord.end <= first) {
            *next += 1;
        }
        let shift = lead(&self.scored.bars, bar) - first;
        let mut line: Vec<(Segment, Option<usize>)> = Vec::new();
        let mut reach = first;
        let part_of = |from: Quarters, to: Quarters, chord: Option<usize>| {
            let segment = Segment {
                start: from + shift,
                end: to + shift,
                rest: chord.is_none(),
            };
            (segment, chord)
        };
        let mut at = *next;
        while let Some((index, chord)) = chord(at).filter(|(_, chord)| chord.start < last) {
            let start = chord.start.max(first);
            if start > reach {
                line.push(part_of(reach, start, None));
            }
            reach = chord.end.min(last);
            line.push(part_of(start, reach, Some(index)));
            at += 1;
        }
        let empty = line.is_empty();
        if voice == 0 {
            let fact = PartBar {
                content: if empty && !grid.is_short() {
                    Quarters::ZERO
                } else {
                    grid.length
                },
                metre: Some(grid.full()),
                whole_rest: (empty && !grid.is_short())
                    .then(|| u32::try_from(self.part.events.len()).ok())
                    .flatten(),
                section_end: false,
            };
            self.facts.push(fact);
            if empty && !grid.is_short() {
                self.whole_rest(bar, grid.length);
                return;
            }
        } else if empty {
            return;
        }
        if reach < last {
            line.push(part_of(reach, last, None));
        }
        let (segments, chord_of): (Vec<Segment>, Vec<Option<usize>>) = line.into_iter().unzip();
        let tree = Node::bar(grid.metre.beats, grid.metre.beat_type);
        let values = values(&tree, &segments);
        self.values(bar, voice, &values, &chord_of, shift);
    }

    fn whole_rest(&mut self, bar: usize, length: Quarters) {
        let place = Place::start_of(BarIndex::from_usize(bar));
        let event = self.event(place, EventKind::Rest { whole_bar: true }, length, 0);
        self.part.events.push(event);
    }

    fn values(
        &mut self,
        bar: usize,
        voice: usize,
        values: &[Value],
        chord_of: &[Option<usize>],
        shift: Quarters,
    ) {
        let start_of_bar = self.scored.bars.get(bar).map_or(Quarters::ZERO, |bar| bar.start);
        let mut open: Option<(u32, usize)> = None;
        for value in values {
            let place = Place {
                bar: BarIndex::from_usize(bar),
                offset: value.start - shift - start_of_bar,
            };
            let chord = chord_of.get(value.segment).copied().flatten();
            let kind = match chord.and_then(|chord| self.of.chords.get(chord)) {
                Some(chord) => {
                    let absolute = value.start - shift;
                    let before = absolute > chord.start;
                    let after = absolute + value.duration < chord.end;
                    EventKind::Chord(self.heads(chord, before, after))
                }
                None if voice == 0 => EventKind::Rest { whole_bar: false },
                None => EventKind::Space,
            };
            let mut event = self.event(place, kind, value.duration, voice);
            if event.kind != EventKind::Space {
                event.written.clone_from(&value.written);
            }
            if let Some(chord) = chord.and_then(|chord| self.of.chords.get(chord)) {
                self.origin(&event, chord);
            }
            let index = self.part.events.len();
            self.part.events.push(event);
            if open.map(|(number, _)| number) != value.tuplet {
                self.close(open, index);
                open = value.tuplet.map(|number| (number, index));
            }
        }
        self.close(open, self.part.events.len());
    }

    /// A tuplet's group from its first event to the one before `until`.
    fn close(&mut self, open: Option<(u32, usize)>, until: usize) {
        let Some((_, first)) = open else { return };
        let events = self.part.events.get(first..until).unwrap_or_default();
        let (Some(start), Some(end)) = (events.first(), events.last()) else {
            return;
        };
        let Some(ratio) = start.written.as_ref().and_then(|written| written.tuplets.first()) else {
            return;
        };
        let anchor = |event: &Event| Anchor {
            place: event.place,
            element: Some(event.id),
        };
        let span = Span {
            id: self.score.piece.ids.give(IdKind::Span),
            kind: SpanKind::Tuplet {
                actual: ratio.actual,
                normal: ratio.normal,
                bracket: true,
            },
            start: Some(anchor(start)),
            end: Some(anchor(end)),
            staff: None,
            side: None,
        };
        self.part.spans.push(span);
    }

    fn heads(&mut self, chord: &Chord, tie_stop: bool, tie_start: bool) -> Vec<Head> {
        let mut heads = Vec::with_capacity(chord.notes.len());
        for note in &chord.notes {
            let pitch = self.of.pitches.get(*note).copied().flatten();
            heads.push(Head {
                id: self.score.piece.ids.give(IdKind::Head),
                note: pitch.map_or(HeadNote::Unpitched(None), HeadNote::Pitch),
                staff: 1,
                accidental: None,
                tie_start,
                tie_stop,
                let_ring: false,
                technical: Vec::new(),
                shape: None,
                parentheses: false,
            });
        }
        heads
    }

    fn event(&mut self, place: Place, kind: EventKind, duration: Quarters, voice: usize) -> Event {
        self.score.taken += 1;
        Event {
            id: self.score.piece.ids.give(IdKind::Event),
            place,
            kind,
            duration,
            written: None,
            grace: None,
            cue: false,
            voice: u16::try_from(voice).unwrap_or(0),
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

    /// Where the chord's first key is pressed in the file; the note value is inferred.
    fn origin(&mut self, event: &Event, chord: &Chord) {
        let at = chord
            .notes
            .iter()
            .filter_map(|note| self.of.from.notes.get(*note))
            .map(|note| note.at);
        let origin = Origin {
            range: at.min().map(|at| (at, at.saturating_add(3))),
            how: How::Guessed,
            ..Origin::default()
        };
        self.score.piece.provenance.origins.insert(event.id, origin);
    }
}

/// True if ticks are parts of a second and not of a quarter note.
pub(super) fn by_seconds(header: Header) -> bool {
    matches!(header.division, Division::PerSecond { .. })
}
