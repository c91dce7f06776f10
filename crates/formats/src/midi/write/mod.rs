//! How does a written piece become a MIDI file? The written notation, note for note: ties joined, sounding pitch, a track
//! for each part. How ornaments are realised and how long an articulated note sounds is not asked here.
//!
//! Source: Standard MIDI Files 1.0 (RP-001), format 1: the first track holds tempo and metre, each further one a part.

mod file;
mod notes;
mod played;
mod signs;
mod velocity;

use crate::FormatError;
use file::Track;
use notation::{BarIndex, Finding, Part, Piece, Quarters, Rational, Severity};
use notes::{Heard, part_notes};
use played::{Played, played};

/// What to write.
#[derive(Clone, Copy, Debug)]
pub struct MidiOptions<'a> {
    /// The bars in the order in which they are to sound; `None`: as they are written, repeats not taken.
    pub order: Option<&'a [BarIndex]>,
    /// Indexes of the parts to write; `None`: all.
    pub parts: Option<&'a [usize]>,
    /// Quarter notes a minute until the piece gives a tempo.
    pub tempo: Rational,
}

impl Default for MidiOptions<'_> {
    /// All parts in written order at 120 quarter notes a minute (RP-001, Set Tempo: the standard's own default).
    fn default() -> Self {
        Self {
            order: None,
            parts: None,
            tempo: Rational::whole(120),
        }
    }
}

/// More notes than a file for players needs.
const MOST_NOTES: usize = 1_000_000;

/// Writes a piece as a MIDI file of format 1.
///
/// - Tied notes are one note; the pitch is the sounding one. Cues are left out.
/// - Grace notes take an eighth of a quarter note each, together at most half of the note they lean on, from its start; those
///   after a note take it from its end (common practice for the idea; the lengths are ours).
/// - A note's velocity follows the dynamic marks, by the table in `velocity.rs`; tempo follows metronome marks, and playback hints where there
///   are none.
///
/// # Errors
/// If there is nothing to write, or more than a file can hold.
pub fn write_midi(piece: &Piece, options: &MidiOptions<'_>) -> Result<(Vec<u8>, Vec<Finding>), FormatError> {
    let bars = played(piece, options.order);
    let chosen: Vec<&Part> = match options.parts {
        None => piece.parts.iter().collect(),
        Some(parts) => parts.iter().filter_map(|index| piece.parts.get(*index)).collect(),
    };
    if bars.is_empty() || chosen.is_empty() {
        return Err(FormatError::Midi {
            what: "there are no bars or parts to write".to_owned(),
            advice: "choose a part and bars of the piece",
        });
    }
    let mut findings = Vec::new();
    let mut heard = Vec::with_capacity(chosen.len());
    let mut count = 0;
    for part in &chosen {
        let notes = part_notes(piece, part, &bars, MOST_NOTES - count).ok_or_else(|| too_long(MOST_NOTES))?;
        count += notes.notes.len();
        heard.push(notes);
    }
    let conductor = signs::conductor(piece, &chosen, &bars, options.tempo);
    let end = bars.last().map_or(Quarters::ZERO, |bar| bar.start + bar.length);
    let times = heard
        .iter()
        .flat_map(Heard::times)
        .chain(conductor.iter().map(|(at, _)| *at))
        .chain([end]);
    let (per_quarter, exact) = per_quarter(times);
    let clock = Clock { per_quarter };
    if !exact {
        findings.push(Finding::new(
            Severity::Note,
            "midi-rounded",
            format!("not every length can be written exactly; times were rounded to {per_quarter} parts of a quarter note"),
            "",
        ));
    }
    let end = clock.tick(end).ok_or_else(|| too_long(MOST_NOTES))?;
    let mut tracks = Vec::with_capacity(chosen.len() + 1);
    let mut first = Track::default();
    for (at, bytes) in conductor {
        first.put(clock.tick(at).unwrap_or(end), 1, bytes);
    }
    tracks.push(first);
    let mut pitched = 0_u8;
    for (part, heard) in chosen.iter().zip(heard) {
        let channel = channel(&heard, &mut pitched);
        tracks.push(track(piece, part, &heard, &bars, channel, clock, end));
        heard.say(part, &mut findings);
    }
    if pitched > 15 {
        findings.push(Finding::new(
            Severity::Note,
            "midi-channels-shared",
            format!("{pitched} parts share 15 channels; parts on one channel sound with one instrument"),
            "write fewer parts",
        ));
    }
    Ok((file::bytes(per_quarter, tracks, end), findings))
}

fn too_long(most: usize) -> FormatError {
    FormatError::Midi {
        what: format!("the piece is longer than a file can hold, or has more than {most} notes"),
        advice: "write fewer bars or parts",
    }
}

/// Percussion on channel 10, the others in turn on the rest.
fn channel(heard: &Heard, pitched: &mut u8) -> u8 {
    if heard.percussion {
        return super::parts::PERCUSSION;
    }
    let turn = *pitched % 15;
    *pitched = pitched.saturating_add(1);
    if turn < super::parts::PERCUSSION {
        turn
    } else {
        turn + 1
    }
}

fn track(
    piece: &Piece,
    part: &Part,
    heard: &Heard,
    bars: &[Played],
    channel: u8,
    clock: Clock,
    end: u32,
) -> Track {
    let mut track = Track::default();
    let mut put = |at: Quarters, rank: u8, bytes: Vec<u8>| {
        track.put(clock.tick(at).unwrap_or(end), rank, bytes);
    };
    for (at, bytes) in signs::of_part(piece, part, bars, channel) {
        put(at, 1, bytes);
    }
    for (at, text) in &heard.lyrics {
        put(*at, 1, file::text(0x05, text));
    }
    for note in &heard.notes {
        let on = clock.tick(note.on).unwrap_or(end);
        let off = clock.tick(note.off).unwrap_or(end).max(on + 1);
        track.put(on, 2, vec![0x90 | channel, note.key, note.velocity]);
        track.put(off, 0, vec![0x80 | channel, note.key, 64]);
    }
    track
}

/// Ticks of the file.
#[derive(Clone, Copy, Debug)]
struct Clock {
    per_quarter: u16,
}

/// The longest time that one number of the file can say. Source: RP-001, variable-length quantity.
const LAST_TICK: i64 = 0x0FFF_FFFF;

impl Clock {
    /// The nearest tick; `None` past the end of what a file can say.
    fn tick(self, at: Quarters) -> Option<u32> {
        let tick = (at * Rational::whole(i64::from(self.per_quarter)) + Rational::new(1, 2)).floor();
        u32::try_from(tick.max(0)).ok().filter(|_| tick < LAST_TICK)
    }
}

/// As many ticks as make every time exact, a multiple of 480 if possible; false if no number a file can hold does.
fn per_quarter(times: impl Iterator<Item = Quarters>) -> (u16, bool) {
    const MOST: i64 = 32_767;
    let mut common = 1_i64;
    for time in times {
        let den = time.den().max(1);
        if common % den != 0 {
            common = lcm(common, den);
        }
        if common > MOST {
            // Halves to 32nds, thirds, ninths, fifths and sevenths stay exact.
            return (30_240, false);
        }
    }
    let usual = lcm(common, 480);
    let taken = if usual <= MOST { usual } else { common };
    (u16::try_from(taken).unwrap_or(480), true)
}

fn lcm(a: i64, b: i64) -> i64 {
    let (mut x, mut y) = (a, b);
    while y != 0 {
        (x, y) = (y, x % y);
    }
    (a / x.max(1)).saturating_mul(b)
}
