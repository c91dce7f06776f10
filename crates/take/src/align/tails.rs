//! Which stretches are no tones of the player's own? What rings on in the room, a click in silence, what only dies away.

use super::segments::Segment;

/// A tone is heard in the room for so many seconds after its end.
const TAIL_SECS: f64 = 1.2;
/// What rings on is softer than its tone by so many decibels at least …
const TAIL_DB: f64 = 5.0;
/// … and by so many at most, …
const FAINTEST_TAIL_DB: f64 = 22.0;
/// … and for each second that has gone since by so many at least and at most more: rooms from half a second to two seconds of
/// reverberation (60 dB).
const DIES_SLOWLY: f64 = 30.0;
const DIES_FAST: f64 = 120.0;
/// With new partials and an attack as plain as this it is a tone of its own: two tails that beat rise as plainly, but without.
const TAIL_ATTACK: f64 = 0.45;
/// Without so much of an attack it is one however faint.
const NO_ATTACK: f64 = 0.2;
/// Several tones that ring on together are heard as a pitch of none of them, softer by so many decibels, for so many seconds at most.
const MIXED_DB: f64 = 13.0;
const LONGEST_MIXED: f64 = 0.2;
/// What rings on keeps its pitch, to so many semitones.
const SAME_TAIL: f64 = 0.6;

/// Marks what only rings on.
pub(super) fn ringing(segments: &mut [Segment]) {
    // Tones lately heard: pitch, level, end.
    let mut late: Vec<(f64, f64, f64)> = Vec::new();
    for segment in segments {
        let Some(key) = segment.key().filter(|_| segment.sounds()) else {
            continue;
        };
        late.retain(|(_, _, to)| segment.from - to < TAIL_SECS);
        let middle = f64::midpoint(segment.from, segment.to);
        let of = |(other, level, to): &(f64, f64, f64)| {
            let away = (other - key).abs();
            let same = away < SAME_TAIL || (away - 12.0).abs() < SAME_TAIL;
            let (fallen, since) = (level - segment.level, (middle - to).max(0.0));
            let tail = TAIL_DB + DIES_SLOWLY * since;
            let dies = fallen > tail
                && (segment.attack < NO_ATTACK || fallen < FAINTEST_TAIL_DB + DIES_FAST * since);
            let mixed =
                !segment.struck && segment.secs() < LONGEST_MIXED && fallen > MIXED_DB + DIES_SLOWLY * since;
            same && dies || mixed
        };
        if !(segment.struck && segment.attack >= TAIL_ATTACK) && late.iter().any(of) {
            segment.rings = true;
        } else {
            late.push((key, segment.level, segment.to));
        }
    }
}

/// A noise in silence is no longer than this, in seconds: a click, a key, a drop of water.
const NOISE_SECS: f64 = 0.085;

/// Marks short noises in silence.
pub(super) fn alone(segments: &mut [Segment]) {
    let mut from = 0;
    while from < segments.len() {
        let sounding = |segment: &&Segment| segment.sounds();
        let run = segments.iter().skip(from).take_while(sounding).map(Segment::secs);
        let (count, secs) = run.fold((0, 0.0), |(count, sum), secs| (count + 1, sum + secs));
        if secs < NOISE_SECS {
            for segment in segments.iter_mut().skip(from).take(count) {
                segment.alone = true;
            }
        }
        from += count + 1;
    }
}

/// Softer than what was before by so many decibels.
const FADES_DB: f64 = 5.0;

pub(super) fn steps(segments: &mut [Segment]) {
    let mut before: Option<f64> = None;
    let mut level = f64::NEG_INFINITY;
    for segment in segments {
        segment.fades = segment.attack < NO_ATTACK && segment.level < level - FADES_DB;
        level = segment.level;
        if let Some(key) = segment.key().filter(|_| segment.sounds()) {
            segment.step = before.map_or(0.0, |before| (key - before).abs());
            before = Some(key);
        }
    }
}
