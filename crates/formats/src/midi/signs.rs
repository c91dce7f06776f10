//! What stands beside the notes? Keys, metres, tempo, names and texts of the file, placed on the page.

use super::bars::{GridBar, bar_of, plain};
use super::build::{Scored, ScoredPart};
use super::quantise::is_compound;
use super::signature::{Placed, fewest_accidentals};
use super::take::Text;
use super::values::value_of;
use crate::assemble::Score;
use notation::{
    BarIndex, Change, Clef, ClefSign, Direction, DirectionKind, How, IdKind, KeySignature, Lyric, Metre,
    Metronome, MetronomeValue, NoteValue, Origin, Part, Place, Quarters, Rational, SoundHint,
};
use std::collections::BTreeMap;

/// Signs of the file that concern all parts.
pub(super) struct Signs {
    /// Quarter notes from the start, place, sharps or flats, minor; each differs from the one before.
    pub keys: Vec<(Quarters, Place, i8, Option<bool>)>,
    /// The key was inferred.
    pub key_guessed: bool,
    /// Tracks state different keys.
    pub keys_differ: bool,
    /// Tempo marks are so many that they are the player's freedom, not the page's marks.
    pub tempo_is_played: bool,
    /// Texts to be sung: track, tick, syllable.
    lyrics: BTreeMap<u64, Vec<(u16, String)>>,
}

/// The meta events of texts. Source: RP-001.
pub(super) const TEXT: u8 = 1;
const COPYRIGHT: u8 = 2;
const NAME: u8 = 3;
const INSTRUMENT: u8 = 4;
const LYRIC: u8 = 5;
const MARKER: u8 = 6;
const CUE_POINT: u8 = 7;

impl Signs {
    pub(super) fn new(scored: &Scored) -> Self {
        let take = &scored.take;
        let has_notes = |track: u16| scored.parts.iter().any(|part| part.from.track == track);
        // The track that speaks for all: one without notes, else the first that states a key.
        let speaks = take
            .keys
            .iter()
            .find(|key| !has_notes(key.track))
            .or(take.keys.first())
            .map(|key| key.track);
        let mut keys: Vec<(Quarters, Place, i8, Option<bool>)> = Vec::new();
        for key in take.keys.iter().filter(|key| Some(key.track) == speaks) {
            let (at, place) = place(key.tick, scored);
            if keys.last().is_some_and(|(last, ..)| *last == at) {
                keys.pop();
            }
            if keys
                .last()
                .is_none_or(|(.., fifths, minor)| (*fifths, *minor) != (key.fifths, Some(key.minor)))
            {
                keys.push((at, place, key.fifths, Some(key.minor)));
            }
        }
        let of_track = |track: u16| -> Vec<(u64, i8)> {
            let own = take.keys.iter().filter(|key| key.track == track);
            own.map(|key| (key.tick, key.fifths)).collect()
        };
        let mut tracks: Vec<u16> = take.keys.iter().map(|key| key.track).collect();
        tracks.dedup();
        let keys_differ = tracks
            .iter()
            .take(100)
            .any(|track| Some(of_track(*track)) != speaks.map(of_track));
        let key_guessed = keys.is_empty();
        if key_guessed {
            let fifths = fewest_accidentals(&placed(scored));
            keys.push((Quarters::ZERO, Place::default(), fifths, None));
        }
        let mut lyrics: BTreeMap<u64, Vec<(u16, String)>> = BTreeMap::new();
        for text in take.texts.iter().filter(|text| text.kind == LYRIC) {
            lyrics
                .entry(text.tick)
                .or_default()
                .push((text.track, text.text.clone()));
        }
        Self {
            keys,
            key_guessed,
            keys_differ,
            tempo_is_played: take.tempos.len() > 4 + scored.bars.len() / 2,
            lyrics,
        }
    }

    /// Sharps (+) or flats (−) in force.
    pub(super) fn fifths_at(&self, at: Quarters) -> i8 {
        let before = self.keys.partition_point(|(from, ..)| *from <= at);
        let key = self.keys.get(before.saturating_sub(1));
        key.map_or(0, |(.., fifths, _)| *fifths)
    }

    /// Name, instrument and program of a part.
    pub(super) fn names(&self, part: &mut Part, scored: &Scored, of: &ScoredPart) {
        let text = |kind: u8| {
            let mut own = scored
                .take
                .texts
                .iter()
                .filter(|text| text.track == of.from.track);
            own.find(|text| text.kind == kind)
                .map(|text| text.text.trim().to_owned())
        };
        // Source: RP-001, Sequence/Track Name: in a format 0 file the name is the piece's.
        let name = if scored.header.format == 1 {
            text(NAME)
        } else {
            None
        };
        part.instrument_name = text(INSTRUMENT).filter(|_| !of.from.shares_track);
        part.name = name.or(part.instrument_name.clone()).unwrap_or_default();
        if of.from.shares_track {
            let channel = format!("channel {}", of.from.channel + 1);
            part.name = if part.name.is_empty() {
                channel
            } else {
                format!("{} ({channel})", part.name)
            };
        }
        part.midi_program = programs(scored, of).next().map(|(_, program)| program);
    }

    /// Clef, keys and metres of a part.
    pub(super) fn changes(&self, part: &mut Part, score: &mut Score, scored: &Scored, of: &ScoredPart) {
        let mut id = |how: How| {
            score.taken += 1;
            let id = score.piece.ids.give(IdKind::Change);
            if how != How::Printed {
                let origin = Origin {
                    how,
                    ..Origin::default()
                };
                score.piece.provenance.origins.insert(id, origin);
            }
            id
        };
        part.clefs.push(Change {
            id: id(How::Guessed),
            place: Place::default(),
            staff: None,
            value: clef(of),
            printed: false,
        });
        if !of.from.is_percussion() {
            for (_, place, fifths, minor) in &self.keys {
                let mode = minor.map(|minor| if minor { "minor" } else { "major" }.to_owned());
                part.keys.push(Change {
                    id: id(if self.key_guessed {
                        How::Guessed
                    } else {
                        How::Printed
                    }),
                    place: *place,
                    staff: None,
                    value: KeySignature {
                        declared_mode: mode,
                        ..KeySignature::of_fifths(*fifths)
                    },
                    printed: !self.key_guessed,
                });
            }
        }
        let mut before: Option<&GridBar> = None;
        for (index, bar) in scored.bars.iter().enumerate() {
            let same = before.is_some_and(|before| {
                (before.metre.beats, before.metre.beat_type) == (bar.metre.beats, bar.metre.beat_type)
            });
            before = Some(bar);
            if same {
                continue;
            }
            part.metres.push(Change {
                id: id(if bar.stated { How::Printed } else { How::Implied }),
                place: Place::start_of(BarIndex::from_usize(index)),
                staff: None,
                value: Metre::new(u16::from(bar.metre.beats), bar.metre.beat_type),
                printed: bar.stated,
            });
        }
    }

    /// Tempo, markers, texts and changes of instrument: all in the first part, none of them printed.
    pub(super) fn directions(&self, part: &mut Part, score: &mut Score, scored: &Scored) {
        for (tick, micros) in &scored.take.tempos {
            let (_, place) = place(*tick, scored);
            let per_minute = Rational::new(60_000_000, i64::from(*micros));
            score.taken += 1;
            score.piece.sound_hints.push(SoundHint {
                place,
                part: 0,
                attributes: vec![("tempo".to_owned(), decimal(per_minute))],
            });
            if !self.tempo_is_played {
                let kind = DirectionKind::Metronome(metronome(per_minute, scored.bars.get(place.bar.get())));
                part.directions.push(direction(score, place, kind, How::Implied));
            }
        }
        for text in &scored.take.texts {
            let Some(kind) = direction_of(text) else { continue };
            let (_, place) = place(text.tick, scored);
            part.directions.push(direction(score, place, kind, How::Printed));
        }
        for of in &scored.parts {
            for (tick, program) in programs(scored, of).skip(1) {
                let (_, place) = place(tick, scored);
                let kind = DirectionKind::Sign {
                    name: "instrument-change".to_owned(),
                    text: format!("program {program}"),
                };
                part.directions.push(direction(score, place, kind, How::Printed));
            }
        }
    }

    /// Syllables under the notes that start with them; how many found a note.
    pub(super) fn lyrics(&self, part: &mut Part, of: &ScoredPart, scored: &Scored) -> usize {
        if self.lyrics.is_empty() {
            return 0;
        }
        let own_notes = |track: u16| scored.parts.iter().any(|part| part.from.track == track);
        let first = scored.parts.first().is_some_and(|first| std::ptr::eq(first, of));
        // Where each chord's first note value stands: at the chord's start, in its voice.
        let starts: BTreeMap<(Quarters, u16), u64> = of
            .chords
            .iter()
            .filter_map(|chord| {
                let note = chord.notes.first().and_then(|note| of.from.notes.get(*note))?;
                Some(((chord.start, u16::try_from(chord.voice).ok()?), note.on))
            })
            .collect();
        let mut taken = 0;
        let mut within = false;
        let mut sung = Quarters::new(-1, 1);
        for event in part.events.iter_mut().filter(|event| event.is_note()) {
            let bar = scored.bars.get(event.place.bar.get());
            let at = bar.map_or(Quarters::ZERO, |bar| bar.start) + event.place.offset;
            let Some(tick) = starts.get(&(at, event.voice)).filter(|_| at > sung) else {
                continue;
            };
            for (track, text) in self.lyrics.get(tick).into_iter().flatten() {
                if *track == of.from.track || first && !own_notes(*track) {
                    event.lyrics.push(lyric(text, &mut within));
                    sung = at;
                    taken += 1;
                }
            }
        }
        taken
    }

    /// How many syllables the file has.
    pub(super) fn lyric_count(&self) -> usize {
        self.lyrics.values().map(Vec::len).sum()
    }

    /// Title, rights and words of the file.
    pub(super) fn credits(&self, score: &mut Score, scored: &Scored) {
        let has_notes = |track: u16| scored.parts.iter().any(|part| part.from.track == track);
        let credits = &mut score.piece.credits;
        for text in &scored.take.texts {
            let said = text.text.trim().to_owned();
            match text.kind {
                NAME if scored.header.format != 1 || text.track == 0 && !has_notes(0) => {
                    credits.title.get_or_insert(said);
                }
                COPYRIGHT => credits.rights.push(said),
                TEXT if text.tick == 0 => credits.page_words.push(said),
                _ => {}
            }
        }
    }
}

/// Programs of a part: tick and number from 1; those of its track and channel, else those of its channel anywhere.
fn programs<'a>(scored: &'a Scored, of: &'a ScoredPart) -> impl Iterator<Item = (u64, u8)> + 'a {
    let all = &scored.take.programs;
    let own = all
        .iter()
        .any(|(_, track, channel, _)| (*track, *channel) == (of.from.track, of.from.channel));
    let mut before = None;
    all.iter()
        .filter(move |(_, track, channel, _)| {
            *channel == of.from.channel && (!own || *track == of.from.track)
        })
        .map(|(tick, .., program)| (*tick, *program))
        .filter(move |(_, program)| before.replace(*program) != Some(*program))
}

fn direction(score: &mut Score, place: Place, kind: DirectionKind, how: How) -> Direction {
    score.taken += 1;
    let id = score.piece.ids.give(IdKind::Direction);
    if how != How::Printed {
        let origin = Origin {
            how,
            ..Origin::default()
        };
        score.piece.provenance.origins.insert(id, origin);
    }
    Direction {
        id,
        place,
        staff: None,
        voice: None,
        side: None,
        printed: false,
        kind,
    }
}

fn direction_of(text: &Text) -> Option<DirectionKind> {
    let said = text.text.trim().to_owned();
    let sign = |name: &str, text: String| DirectionKind::Sign {
        name: name.to_owned(),
        text,
    };
    match text.kind {
        MARKER => Some(DirectionKind::Rehearsal(said)),
        CUE_POINT => Some(sign("cue-point", said)),
        TEXT if text.tick > 0 => Some(sign("text", said)),
        _ => None,
    }
}

/// Where a sign stands: at the nearest bar line if one is near, else in its bar, to a sixteenth of a quarter note.
fn place(tick: u64, scored: &Scored) -> (Quarters, Place) {
    let bars = &scored.bars;
    let near = scored.clock.ticks(Rational::new(1, 8));
    let index = bar_of(bars, tick.saturating_add(near));
    let Some(bar) = bars.get(index) else {
        return (Quarters::ZERO, Place::default());
    };
    let offset = if tick <= bar.tick.saturating_add(near) {
        Quarters::ZERO
    } else {
        plain(scored.clock.quarters(tick - bar.tick)).min(bar.length)
    };
    let place = Place {
        bar: BarIndex::from_usize(index),
        offset,
    };
    (bar.start + offset, place)
}

/// Notes in order of time, for the count of accidentals.
fn placed(scored: &Scored) -> Vec<Placed> {
    let mut notes: Vec<(Quarters, u8, usize)> = Vec::with_capacity(scored.take.notes.len());
    for (index, part) in scored
        .parts
        .iter()
        .enumerate()
        .filter(|(_, part)| !part.from.is_percussion())
    {
        let own = part.from.notes.iter().zip(&part.onsets.starts);
        notes.extend(own.map(|(note, start)| (*start, note.key, index)));
    }
    notes.sort_unstable();
    let mut bar = 0;
    let mut placed = Vec::with_capacity(notes.len());
    for (start, key, part) in notes {
        while scored.bars.get(bar).is_some_and(|bar| bar.end() <= start) {
            bar += 1;
        }
        placed.push((bar, part, key));
    }
    placed
}

/// Treble or bass, by the middle note of the part: from middle C up treble.
fn clef(of: &ScoredPart) -> Clef {
    if of.from.is_percussion() {
        return Clef {
            sign: ClefSign::Percussion,
            line: 0,
            octave_change: 0,
        };
    }
    let mut keys: Vec<u8> = of.from.notes.iter().map(|note| note.key).collect();
    keys.sort_unstable();
    let middle = keys.get(keys.len() / 2).copied().unwrap_or(60);
    if middle >= 60 { Clef::TREBLE } else { Clef::BASS }
}

/// A metronome mark on the beat of the metre: a compound beat, else the quarter note, in which the file counts.
fn metronome(per_minute: Rational, bar: Option<&GridBar>) -> Metronome {
    let compound = bar.filter(|bar| is_compound(bar.metre.beats, bar.metre.beat_type));
    let beat = compound.map_or(Quarters::ONE, |bar| {
        Rational::new(12, i64::from(bar.metre.beat_type))
    });
    let (value, dots) = value_of(beat, 1).unwrap_or((NoteValue::Quarter, 0));
    Metronome {
        beat: value,
        dots,
        value: MetronomeValue::PerMinute(decimal(per_minute / beat)),
        parentheses: false,
    }
}

/// A number to the thousandth: `120`, `92.5`. (The file rounds to whole microseconds, finer than that.)
fn decimal(number: Rational) -> String {
    let thousandths = (number * Rational::whole(1_000) + Rational::new(1, 2)).floor();
    let (whole, rest) = (thousandths / 1_000, thousandths % 1_000);
    let text = format!("{whole}.{rest:03}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// Source: RP-017: a hyphen after a syllable joins it to the next, a space ends the word.
fn lyric(text: &str, within: &mut bool) -> Lyric {
    let joins = text.trim_end().ends_with('-') && text.trim().len() > 1;
    let syllabic = match (*within, joins) {
        (false, false) => "single",
        (false, true) => "begin",
        (true, true) => "middle",
        (true, false) => "end",
    };
    *within = joins;
    Lyric {
        line: "1".to_owned(),
        text: text.trim().trim_end_matches('-').to_owned(),
        syllabic: syllabic.to_owned(),
        extend: false,
    }
}
