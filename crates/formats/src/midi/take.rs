//! What stands in the tracks? Notes from key down to key up, and all the events that say something about the page.

use super::bytes::{Chunk, Event, Events};
use std::collections::BTreeMap;

/// More notes than any piece for players has; bounds the memory.
pub(super) const MOST_NOTES: usize = 100_000;
/// More texts, tempos and changes than a piece for players needs.
const MOST_SIGNS: usize = 20_000;

/// One key pressed and let go.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(super) struct Note {
    /// Ticks from the start.
    pub on: u64,
    pub off: u64,
    pub key: u8,
    pub channel: u8,
    pub track: u16,
    /// Byte of the file where it is pressed.
    pub at: u32,
}

/// A text of the file.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Text {
    pub tick: u64,
    pub track: u16,
    /// The meta event's type, 1–7.
    pub kind: u8,
    pub text: String,
}

/// A metre: upper number, lower number.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct MetreAt {
    pub tick: u64,
    pub beats: u8,
    pub beat_type: u16,
}

/// A key signature: sharps or flats, minor.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct KeyAt {
    pub tick: u64,
    pub track: u16,
    pub fifths: i8,
    pub minor: bool,
}

/// All that the tracks hold.
#[derive(Debug, Default)]
pub(super) struct Take {
    pub notes: Vec<Note>,
    pub texts: Vec<Text>,
    pub metres: Vec<MetreAt>,
    pub keys: Vec<KeyAt>,
    /// Ticks and microseconds a quarter note.
    pub tempos: Vec<(u64, u32)>,
    /// Tick, track, channel, program from 1.
    pub programs: Vec<(u64, u16, u8, u8)>,
    /// What is met and not taken, counted by name.
    pub left: BTreeMap<&'static str, u32>,
    /// Tracks that break off: number from 1, byte, why.
    pub broken: Vec<(u16, usize, &'static str)>,
    /// Metres and keys that are none: what they say.
    pub unusable: Vec<String>,
    /// Keys never let go: held to the end of their track.
    pub stuck: u32,
    /// Keys let go that were not down.
    pub stray: u32,
    /// Keys pressed again while down: the first note ended there.
    pub struck_again: u32,
    /// Notes let go the moment they are pressed: left out.
    pub empty: u32,
    /// There were more notes or signs than are taken.
    pub too_many: bool,
    /// The last tick of any track.
    pub end: u64,
}

impl Take {
    /// Reads a track; `number` counts from 0.
    pub(super) fn track(&mut self, number: u16, chunk: Chunk<'_>) {
        let mut down: BTreeMap<(u8, u8), usize> = BTreeMap::new();
        let mut events = Events::new(chunk);
        for (tick, at, event) in events.by_ref() {
            match event {
                Event::Channel(status, key, value) => {
                    self.channel(number, tick, at, (status, key, value), &mut down);
                }
                Event::Meta(kind, bytes) => self.meta(number, tick, kind, bytes),
                Event::System => self.leave("messages to one maker's instruments (system exclusive)"),
            }
        }
        let end = events.tick();
        self.end = self.end.max(end);
        if let Some((at, why)) = events.damage()
            && (why != "it has no end mark" || chunk.cut)
        {
            self.broken.push((number.saturating_add(1), at, why));
        }
        for note in down.into_values() {
            self.stuck += 1;
            if let Some(note) = self.notes.get_mut(note) {
                note.off = end.max(note.on);
            }
        }
    }

    fn leave(&mut self, what: &'static str) {
        *self.left.entry(what).or_default() += 1;
    }

    fn channel(
        &mut self,
        track: u16,
        tick: u64,
        at: usize,
        (status, key, value): (u8, u8, u8),
        down: &mut BTreeMap<(u8, u8), usize>,
    ) {
        let channel = status & 0x0F;
        match status & 0xF0 {
            0x90 if value > 0 => {
                if let Some(before) = down.remove(&(channel, key))
                    && let Some(before) = self.notes.get_mut(before)
                {
                    self.struck_again += 1;
                    before.off = tick;
                }
                if self.notes.len() >= MOST_NOTES {
                    self.too_many = true;
                    return;
                }
                down.insert((channel, key), self.notes.len());
                self.notes.push(Note {
                    on: tick,
                    off: tick,
                    key,
                    channel,
                    track,
                    at: u32::try_from(at).unwrap_or(u32::MAX),
                });
            }
            // Source: MIDI 1.0, note on with velocity 0 is note off.
            0x80 | 0x90 => match down.remove(&(channel, key)) {
                Some(note) => {
                    if let Some(note) = self.notes.get_mut(note) {
                        note.off = tick;
                    }
                }
                None => self.stray += 1,
            },
            0xA0 | 0xD0 => self.leave("pressure on keys (aftertouch)"),
            0xB0 if key == 64 => self.leave("presses and releases of the damper pedal"),
            0xB0 => self.leave("controllers such as volume and panning"),
            0xC0 => {
                if self.programs.len() < MOST_SIGNS {
                    self.programs.push((tick, track, channel, key.saturating_add(1)));
                }
            }
            _ => self.leave("pitch bends"),
        }
    }

    fn meta(&mut self, track: u16, tick: u64, kind: u8, bytes: &[u8]) {
        match (kind, bytes) {
            (0x08 | 0x09, _) => self.leave("names of programs and devices"),
            (0x01..=0x07, _) => {
                let text = text_of(bytes);
                if text.trim().is_empty() {
                    return;
                }
                if self.texts.len() >= MOST_SIGNS {
                    self.too_many = true;
                    return;
                }
                self.texts.push(Text {
                    tick,
                    track,
                    kind,
                    text,
                });
            }
            (0x51, [a, b, c, ..]) => {
                let micros = u32::from_be_bytes([0, *a, *b, *c]);
                if micros == 0 {
                    self.unusable.push("a tempo of no length".to_owned());
                } else if self.tempos.len() < MOST_SIGNS {
                    self.tempos.push((tick, micros));
                } else {
                    self.too_many = true;
                }
            }
            (0x58, [beats, power, ..]) => {
                if *beats == 0 || *power > 7 {
                    self.unusable
                        .push(format!("the metre {beats} over 2 to the power of {power}"));
                } else if self.metres.len() < MOST_SIGNS {
                    self.metres.push(MetreAt {
                        tick,
                        beats: *beats,
                        beat_type: 1 << *power,
                    });
                } else {
                    self.too_many = true;
                }
            }
            (0x59, [fifths, mode, ..]) => {
                let fifths = fifths.cast_signed();
                if !(-7..=7).contains(&fifths) {
                    self.unusable
                        .push(format!("a key signature of {fifths} sharps or flats"));
                } else if self.keys.len() < MOST_SIGNS {
                    self.keys.push(KeyAt {
                        tick,
                        track,
                        fifths,
                        minor: *mode == 1,
                    });
                } else {
                    self.too_many = true;
                }
            }
            (0x51 | 0x58 | 0x59, _) => self
                .unusable
                .push("a tempo, metre or key that is cut short".to_owned()),
            // Where in a film the music starts.
            (0x54, _) => self.leave("a start by the film's clock (SMPTE offset)"),
            // Numbers of sequences, channels and ports: how the file is played.
            (0x00 | 0x20 | 0x21, _) => {}
            (0x7F, _) => self.leave("what one program notes for itself (sequencer-specific)"),
            _ => self.leave("meta events of an unknown type"),
        }
    }

    /// Puts everything in order of time.
    pub(super) fn settle(&mut self) {
        let before = self.notes.len();
        self.notes.retain(|note| note.off > note.on);
        self.empty = u32::try_from(before - self.notes.len()).unwrap_or(u32::MAX);
        self.notes
            .sort_by_key(|note| (note.track, note.channel, note.on, std::cmp::Reverse(note.key)));
        // Of several at one tick the last counts.
        self.tempos.sort_by_key(|(tick, _)| *tick);
        keep_last(&mut self.tempos, |a, b| a.0 == b.0);
        self.metres.sort_by_key(|metre| metre.tick);
        keep_last(&mut self.metres, |a, b| a.tick == b.tick);
        self.keys.sort_by_key(|key| (key.tick, key.track));
        self.texts.sort_by_key(|text| text.tick);
    }
}

fn keep_last<T>(list: &mut Vec<T>, same: impl Fn(&T, &T) -> bool) {
    list.reverse();
    list.dedup_by(|a, b| same(a, b));
    list.reverse();
}

/// UTF-8, or else Latin-1 (the standard says ASCII and lets others pass); control characters left out.
fn text_of(bytes: &[u8]) -> String {
    const LONGEST: usize = 500;
    let bytes = bytes.get(..bytes.len().min(4 * LONGEST)).unwrap_or_default();
    let text = match std::str::from_utf8(bytes) {
        Ok(text) => text.to_owned(),
        Err(_) => bytes.iter().map(|b| char::from(*b)).collect(),
    };
    text.chars()
        .filter(|c| !c.is_control() || *c == '\n')
        .take(LONGEST)
        .collect()
}
