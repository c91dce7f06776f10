//! How is a performance written as a MIDI file? One track: tempo as it was played, notes as they sound.
//!
//! Source: Standard MIDI Files 1.0 (RP-001); MIDI 1.0 Detailed Specification for note, program and bend. Gradual changes of
//! tempo are steps of a 16th; a pause is time at its speed. Velocities follow the table of the formats crate: 72 is mf, a mark
//! is 16.

use crate::numbers::count;
use notation::{Quarters, Rational};
use performance::play::{Clock, Performance};

/// Parts of a quarter note: 2 to the 5th, 3 twice, 5 and 7 divide it, so that usual lengths are exact.
pub const PER_QUARTER: u16 = 10_080;
/// The longest time that one number of the file can say.
const LAST_TICK: i64 = 0x0FFF_FFFF;
/// Within a gradual change the tempo is set anew after so much of a quarter note.
const TEMPO_STEP: (i64, i64) = (1, 4);

/// Writes a performance as a MIDI file of format 0. `program` counts from 1, as General MIDI's list does.
#[must_use]
pub fn write_midi(performance: &Performance, name: &str, program: u8) -> Vec<u8> {
    let mut events: Vec<(u32, u8, Vec<u8>)> = Vec::new();
    let pauses = pauses(&performance.clock);
    let text: String = name.chars().take(200).collect();
    events.push((0, 0, meta(0x03, text.as_bytes())));
    events.push((0, 1, vec![0xC0, program.clamp(1, 128) - 1]));
    for (at, speed) in tempi(&performance.clock, &pauses) {
        let micros = count(60_000_000.0 / speed.max(4.0)).min(0xFF_FFFF);
        let [.., a, b, c] = micros.to_be_bytes();
        events.push((at, 1, meta(0x51, &[a, b, c])));
    }
    let mut bend = 0;
    for note in &performance.notes {
        let Some(pitch) = note.pitch else { continue };
        let key = (pitch + Rational::new(1, 2)).floor().clamp(0, 127);
        let Ok(number) = u8::try_from(key) else { continue };
        let on = tick(note.onset, &pauses, false);
        let off = tick(note.end(), &pauses, true).max(on + 1);
        let level = note.loudness.first().map_or(0.0, |(_, level)| *level) + note.accent;
        let velocity = count((72.0 + 4.0 * level).clamp(1.0, 127.0)).to_le_bytes()[0];
        // A quarter-tone is a bend of the one voice: 4,096 parts are a semitone.
        let wanted = ((pitch - Rational::whole(key)) * Rational::whole(4_096)).floor();
        if wanted != bend {
            bend = wanted;
            let value = (8_192 + wanted).clamp(0, 16_383);
            let low = (value & 0x7F).to_le_bytes()[0];
            let high = (value >> 7 & 0x7F).to_le_bytes()[0];
            events.push((on, 2, vec![0xE0, low, high]));
        }
        events.push((on, 3, vec![0x90, number, velocity]));
        events.push((off, 1, vec![0x80, number, 64]));
    }
    let end = tick(performance.quarters(), &pauses, false);
    file(events, end)
}

/// Where the music stands still, with the quarter notes of all pauses up to and with each.
fn pauses(clock: &Clock) -> Vec<(Quarters, Quarters)> {
    let mut sum = Quarters::ZERO;
    let stopped = clock
        .stretches()
        .iter()
        .filter(|stretch| stretch.pause.is_positive());
    stopped
        .map(|stretch| {
            sum += stretch.pause;
            (stretch.from, sum)
        })
        .collect()
}

/// The tick of a time, pauses counted: those at the very time come before what begins there, after what ends there.
fn tick(at: Quarters, pauses: &[(Quarters, Quarters)], ends: bool) -> u32 {
    let before = pauses.partition_point(|(pause, _)| if ends { *pause < at } else { *pause <= at });
    let waited = before
        .checked_sub(1)
        .and_then(|n| pauses.get(n))
        .map_or(Quarters::ZERO, |(_, sum)| *sum);
    let parts = (at + waited) * Rational::whole(i64::from(PER_QUARTER)) + Rational::new(1, 2);
    u32::try_from(parts.floor().clamp(0, LAST_TICK)).unwrap_or(0)
}

/// Speeds in quarter notes a minute with the ticks at which they begin; in a gradual change the mean of each step.
fn tempi(clock: &Clock, pauses: &[(Quarters, Quarters)]) -> Vec<(u32, f64)> {
    let mut tempi: Vec<(u32, f64)> = Vec::new();
    let step = Rational::new(TEMPO_STEP.0, TEMPO_STEP.1);
    for stretch in clock.stretches() {
        let steady = stretch.start == stretch.end;
        if stretch.to <= stretch.from || steady {
            // A pause has a speed of its own: it begins where the music before it has ended.
            let pause = stretch.to <= stretch.from;
            tempi.push((tick(stretch.from, pauses, pause), stretch.start.to_f64()));
            continue;
        }
        let mut at = stretch.from;
        while at < stretch.to && tempi.len() < 1_000_000 {
            let next = (at + step).min(stretch.to);
            let minutes = (clock.ends(next) - clock.begins(at)) / 60.0;
            tempi.push((tick(at, pauses, false), (next - at).to_f64() / minutes));
            at = next;
        }
    }
    tempi.dedup_by(|later, earlier| later.1.to_bits() == earlier.1.to_bits());
    tempi
}

fn meta(kind: u8, data: &[u8]) -> Vec<u8> {
    let mut bytes = vec![0xFF, kind];
    number(u32::try_from(data.len()).unwrap_or(0), &mut bytes);
    bytes.extend_from_slice(data);
    bytes
}

/// Seven bits a byte, the highest first; all but the last have the top bit set.
fn number(value: u32, bytes: &mut Vec<u8>) {
    let mut left = [value >> 21, value >> 14, value >> 7]
        .map(|part| part & 0x7F)
        .to_vec();
    while left.first() == Some(&0) {
        left.remove(0);
    }
    let low = |part: u32| part.to_le_bytes()[0];
    bytes.extend(left.iter().map(|part| low(*part) | 0x80));
    bytes.push(low(value & 0x7F));
}

fn file(mut events: Vec<(u32, u8, Vec<u8>)>, end: u32) -> Vec<u8> {
    events.sort_by_key(|(tick, rank, _)| (*tick, *rank));
    let mut track = Vec::new();
    let mut now = 0;
    for (tick, _, bytes) in &events {
        number(tick - now, &mut track);
        track.extend(bytes);
        now = *tick;
    }
    number(end.saturating_sub(now), &mut track);
    track.extend([0xFF, 0x2F, 0]);
    let mut bytes = b"MThd\0\0\0\x06\0\0\0\x01".to_vec();
    bytes.extend(PER_QUARTER.to_be_bytes());
    bytes.extend(b"MTrk");
    bytes.extend(u32::try_from(track.len()).unwrap_or(u32::MAX).to_be_bytes());
    bytes.extend(track);
    bytes
}
