//! Which keys sound, from when to when? Ties joined, grace notes given their short time, bar by bar in the order of playing.

use super::played::Played;
use super::velocity::Dynamics;
use notation::{
    Event, Finding, Head, HeadNote, Lyric, Part, Piece, Place, Quarters, Rational, Severity, Transposition,
};
use std::collections::BTreeMap;

/// One key pressed.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Note {
    pub on: Quarters,
    pub off: Quarters,
    pub key: u8,
    pub velocity: u8,
}

/// What is heard of a part.
#[derive(Debug, Default)]
pub(super) struct Heard {
    pub notes: Vec<Note>,
    pub lyrics: Vec<(Quarters, String)>,
    /// All its notes are without pitch.
    pub percussion: bool,
    cues: u32,
    microtones: u32,
    out_of_range: u32,
    unpitched: u32,
    same_key: u32,
    signs: u32,
}

/// Source: General MIDI 1 (RP-003), percussion key map: 38 is the acoustic snare.
const SNARE: u8 = 38;
/// Time of one grace note.
const GRACE: Quarters = Quarters::ONE;
const GRACE_PARTS: i64 = 8;

/// The notes of a part; `None` if there are more than `most`.
pub(super) fn part_notes(piece: &Piece, part: &Part, bars: &[Played], most: usize) -> Option<Heard> {
    let mut reader = Reader {
        heard: Heard::default(),
        concert: piece.concert_pitch,
        part,
        dynamics: Dynamics::of(part),
        tied: BTreeMap::new(),
        graces: BTreeMap::new(),
        last: BTreeMap::new(),
    };
    for bar in bars {
        reader.bar(bar);
        if reader.heard.notes.len() > most {
            return None;
        }
    }
    let mut heard = reader.heard;
    heard.percussion = heard.unpitched > 0 && heard.unpitched as usize >= heard.notes.len();
    heard.one_at_a_time();
    Some(heard)
}

struct Reader<'a> {
    heard: Heard,
    concert: bool,
    part: &'a Part,
    dynamics: Dynamics,
    /// Notes that wait for the note they are tied to, by key.
    tied: BTreeMap<u8, usize>,
    /// Grace notes that wait for their main note, by voice.
    graces: BTreeMap<u16, Vec<&'a Event>>,
    /// The notes that the last event of each voice started.
    last: BTreeMap<u16, Vec<usize>>,
}

impl<'a> Reader<'a> {
    fn bar(&mut self, bar: &Played) {
        for event in self.part.bar_events(bar.bar) {
            if event.cue {
                self.heard.cues += u32::from(event.is_note());
                continue;
            }
            if let Some(grace) = event.grace {
                if grace.after {
                    let end = bar.start + event.place.offset;
                    self.after(&[event], end);
                } else {
                    self.graces.entry(event.voice).or_default().push(event);
                }
                continue;
            }
            self.event(event, bar);
        }
        let bar_end = bar.start + bar.length;
        for graces in std::mem::take(&mut self.graces).into_values() {
            self.after(&graces, bar_end);
        }
    }

    fn event(&mut self, event: &'a Event, bar: &Played) {
        let on = bar.start + event.place.offset;
        let off = on + event.duration;
        let graces = self.graces.remove(&event.voice).unwrap_or_default();
        if !event.is_note() {
            if !graces.is_empty() {
                self.after(&graces, on);
            }
            if event.is_rest() {
                self.last.remove(&event.voice);
            }
            return;
        }
        if !event.duration.is_positive() || off.is_overflow() {
            return;
        }
        let stolen = short(graces.len(), event.duration);
        let mut at = on;
        for grace in &graces {
            let next = at + stolen / count(graces.len());
            self.chord(grace, at, next);
            at = next;
        }
        self.heard.signs += u32::from(!event.ornaments.is_empty() || !event.articulations.is_empty());
        self.lyric(&event.lyrics, on, bar.pass);
        let started = self.chord(event, at, off);
        self.last.insert(event.voice, started);
    }

    /// Grace notes that take their time from the end of the note before.
    fn after(&mut self, graces: &[&'a Event], end: Quarters) {
        let Some(first) = graces.first() else { return };
        let before = self.last.get(&first.voice).cloned().unwrap_or_default();
        let room = before
            .first()
            .and_then(|note| self.heard.notes.get(*note))
            .filter(|note| note.off == end)
            .map_or(Quarters::ONE, |note| note.off - note.on);
        let stolen = short(graces.len(), room);
        for note in before {
            if let Some(note) = self.heard.notes.get_mut(note)
                && note.off == end
                && note.on < end - stolen
            {
                note.off = end - stolen;
            }
        }
        let mut at = (end - stolen).max(Quarters::ZERO);
        for grace in graces {
            let next = at + stolen / count(graces.len());
            self.chord(grace, at, next);
            at = next;
        }
    }

    /// Sounds the heads of an event; gives the notes that it started or went on with.
    fn chord(&mut self, event: &Event, on: Quarters, off: Quarters) -> Vec<usize> {
        let velocity = self.dynamics.at(event.place);
        let mut started = Vec::with_capacity(event.heads().len());
        for head in event.heads() {
            let Some(key) = self.key(head, event.place) else {
                continue;
            };
            let before = self.tied.remove(&key).filter(|_| head.tie_stop);
            let waiting =
                before.filter(|note| self.heard.notes.get(*note).is_some_and(|note| note.off == on));
            let index = match waiting.and_then(|note| Some((note, self.heard.notes.get_mut(note)?))) {
                Some((index, note)) => {
                    note.off = off;
                    index
                }
                None => {
                    self.heard.notes.push(Note {
                        on,
                        off,
                        key,
                        velocity,
                    });
                    self.heard.notes.len() - 1
                }
            };
            if head.tie_start {
                self.tied.insert(key, index);
            }
            started.push(index);
        }
        started
    }

    fn key(&mut self, head: &Head, place: Place) -> Option<u8> {
        let pitch = match head.note {
            HeadNote::Pitch(pitch) => pitch,
            HeadNote::Unpitched(_) => {
                self.heard.unpitched += 1;
                return Some(SNARE);
            }
        };
        let transposition = if self.concert {
            Transposition::default()
        } else {
            self.part.transposition_at(place)
        };
        let sounding = transposition.sounding(pitch).semitones();
        if !sounding.is_whole() {
            self.heard.microtones += 1;
        }
        let nearest = (sounding + Rational::new(1, 2)).floor();
        let key = u8::try_from(nearest).ok().filter(|key| *key < 128);
        self.heard.out_of_range += u32::from(key.is_none());
        key
    }

    /// The syllable of the verse that is sung in this pass.
    fn lyric(&mut self, lyrics: &[Lyric], at: Quarters, pass: usize) {
        let Some(lyric) = lyrics.get(pass).or(lyrics.last()) else {
            return;
        };
        let joins = matches!(lyric.syllabic.as_str(), "begin" | "middle");
        // Source: RP-017: a hyphen joins syllables, a space ends the word.
        let text = format!("{}{}", lyric.text, if joins { "-" } else { " " });
        if !lyric.text.is_empty() {
            self.heard.lyrics.push((at, text));
        }
    }
}

fn count(graces: usize) -> Rational {
    Rational::whole(i64::try_from(graces).unwrap_or(1).max(1))
}

/// The time that so many grace notes take from a note of some length: an eighth of a quarter each, together at most half.
fn short(graces: usize, of: Quarters) -> Quarters {
    if graces == 0 {
        return Quarters::ZERO;
    }
    (GRACE * count(graces) / Rational::whole(GRACE_PARTS)).min(of / Rational::whole(2))
}

impl Heard {
    /// All times that must be exact.
    pub(super) fn times(&self) -> impl Iterator<Item = Quarters> + '_ {
        let notes = self.notes.iter().flat_map(|note| [note.on, note.off]);
        notes.chain(self.lyrics.iter().map(|(at, _)| *at))
    }

    /// A key can be down only once: of two notes on one key the first ends where the second starts.
    fn one_at_a_time(&mut self) {
        self.notes.sort_by_key(|note| (note.key, note.on, note.off));
        let mut kept: Vec<Note> = Vec::with_capacity(self.notes.len());
        for note in std::mem::take(&mut self.notes) {
            match kept.last_mut() {
                Some(before) if before.key == note.key && note.on < before.off => {
                    self.same_key += 1;
                    if before.on == note.on {
                        before.off = before.off.max(note.off);
                        before.velocity = before.velocity.max(note.velocity);
                        continue;
                    }
                    before.off = note.on;
                    kept.push(note);
                }
                _ => kept.push(note),
            }
        }
        kept.sort_by_key(|note| (note.on, note.key));
        self.notes = kept;
    }

    /// Says what of the part the file doesn't hold.
    pub(super) fn say(&self, part: &Part, findings: &mut Vec<Finding>) {
        let mut say = |count: u32, severity, kind, what: &str| {
            if count > 0 {
                let finding = Finding::new(severity, kind, format!("{count} {what}"), "");
                findings.push(finding.in_part(part.name.clone()));
            }
        };
        say(self.cues, Severity::Note, "midi-cues", "cue notes were left out");
        say(
            self.signs,
            Severity::Note,
            "midi-signs",
            "notes have ornaments or articulation, which do not sound in the file",
        );
        say(
            self.microtones,
            Severity::Caution,
            "midi-microtones",
            "notes lie between the keys; each was written as the nearest",
        );
        say(
            self.out_of_range,
            Severity::Problem,
            "midi-out-of-range",
            "notes are higher or lower than a MIDI file can say and were left out",
        );
        say(
            self.unpitched,
            Severity::Note,
            "midi-unpitched",
            "notes have no pitch; each was written as a stroke on the snare drum",
        );
        say(
            self.same_key,
            Severity::Note,
            "midi-unison",
            "notes sound on a key that is down already; the first ends there, or both are one",
        );
    }
}
