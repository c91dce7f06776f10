//! With which note values is a length written here? Beats stay visible; what can't be one value becomes several, tied.
//!
//! Source: common practice as in Gould, Behind Bars, "Grouping values" (from memory): a note is not written over a stronger moment
//! than the one it begins on, but for the plain syncopations (short-long-short); rests show every beat.

use super::pulse::Pulse;
use super::{DraftBar, Passage, Tone};
use notation::{NoteValue, Quarters, Rational, TupletRatio, Written};

/// Tones cut and tied so that each has a plain value and beats stay visible. `lead` is where the first begins in the full bar.
pub(crate) fn spelled(tones: &[Tone], pulse: &Pulse, lead: Quarters) -> Vec<Tone> {
    let mut out = Vec::with_capacity(tones.len());
    let mut at = lead;
    for tone in tones {
        cut(tone, pulse, at, &mut out);
        at += tone.length;
    }
    out
}

/// A rest of a length that begins at a position of the full bar, as rests that show the beats.
pub(crate) fn silence(pulse: &Pulse, at: Quarters, length: Quarters) -> Vec<Tone> {
    if !length.is_positive() {
        return Vec::new();
    }
    spelled(&[Tone::rest(length)], pulse, at)
}

fn cut(tone: &Tone, pulse: &Pulse, at: Quarters, out: &mut Vec<Tone>) {
    let keeps = tone
        .written
        .as_ref()
        .is_some_and(|written| written.quarters() == tone.length && written.tuplets == tone.chain);
    if keeps || !tone.length.is_positive() || tone.length.is_overflow() {
        out.push(tone.clone());
        return;
    }
    let mut pieces = Vec::new();
    if tone.chain.is_empty() {
        pieces_of(pulse, at, tone.length, tone.is_rest(), 0, &mut pieces);
    } else {
        tuplet_pieces(tone, &mut pieces);
    }
    let last = pieces.len().saturating_sub(1);
    for (index, (length, written)) in pieces.into_iter().enumerate() {
        let mut piece = if index == 0 { tone.clone() } else { tone.bare() };
        piece.length = length;
        piece.written = written;
        piece.beams.clear();
        piece.tied = tone.is_note() && (index < last || tone.tied);
        // What ends a note belongs to its last piece, what begins it to its first.
        if index < last {
            piece.fermatas.clear();
        } else if index > 0 {
            piece.fermatas.clone_from(&tone.fermatas);
        }
        out.push(piece);
    }
}

type Piece = (Quarters, Option<Written>);

/// Deeper than any length needs.
const DEEPEST: u8 = 24;

fn pieces_of(pulse: &Pulse, at: Quarters, length: Quarters, rest: bool, depth: u8, out: &mut Vec<Piece>) {
    if let Some(value) = plain(length).filter(|value| fits(pulse, at, length, rest, value)) {
        out.push((length, Some(value)));
        return;
    }
    let cut = largest_group(pulse, at, length).or_else(|| strongest_inside(pulse, at, length));
    match cut {
        Some(cut) if depth < DEEPEST => {
            pieces_of(pulse, at, cut - at, rest, depth + 1, out);
            pieces_of(pulse, cut, at + length - cut, rest, depth + 1, out);
        }
        _ => out.push((length, plain(length).or_else(|| odd(length)))),
    }
}

/// From the start of an uneven bar or group: the last group that a plain value reaches.
fn largest_group(pulse: &Pulse, at: Quarters, length: Quarters) -> Option<Quarters> {
    let uneven = pulse.halves.len() > 1;
    let inside = pulse
        .halves
        .iter()
        .rev()
        .filter(|half| **half > at && **half < at + length);
    inside
        .copied()
        .find(|half| uneven && plain(*half - at).is_some() && pulse.strength(at) <= pulse.strength(*half))
}

/// Whether one value may stand here.
fn fits(pulse: &Pulse, at: Quarters, length: Quarters, rest: bool, value: &Written) -> bool {
    let own = pulse.strength(at);
    let Some(crossed) = strongest_inside(pulse, at, length).map(|cut| pulse.strength(cut)) else {
        return true;
    };
    let end = pulse.strength(at + length);
    if rest {
        let beat = pulse.beat_at(at);
        let whole_beat = (at, at + length) == beat;
        return whole_beat || value.dots == 0 && crossed > own && end < crossed;
    }
    if crossed >= own {
        // A note from a strong moment on may lie over weaker ones; in compound time only whole beats or inside one.
        let inside = at + length <= pulse.beat_at(at).1;
        let beats = own <= 2 && end <= 2;
        return !pulse.compound || inside || beats;
    }
    // Short-long-short, and short-long up to a strong moment, over one level.
    let binary = crossed + 1 == own && (own > 3 || !pulse.compound && own == 3 || own == 2);
    let twice = plain_unit(pulse, at, own).is_some_and(|unit| length == unit + unit);
    binary && (twice || own > 2 && end <= crossed)
}

/// How far apart moments of a strength stand.
fn plain_unit(pulse: &Pulse, at: Quarters, strength: u8) -> Option<Quarters> {
    let (start, end) = pulse.beat_at(at);
    let beat = end - start;
    match strength {
        0 | 1 => None,
        2 => Some(beat),
        weak => {
            let first = if pulse.compound {
                beat / Rational::whole(3)
            } else {
                beat / Rational::whole(2)
            };
            Some(first / Rational::whole(1_i64 << (weak - 3).min(16)))
        }
    }
}

/// The strongest moment inside a length, the first of equally strong ones.
fn strongest_inside(pulse: &Pulse, at: Quarters, length: Quarters) -> Option<Quarters> {
    let end = at + length;
    // Downbeats of following bars don't come: a tone never reaches over its bar.
    let beats = pulse.halves.iter().chain(&pulse.beats).copied();
    let strongest = beats
        .filter(|moment| *moment > at && *moment < end)
        .min_by_key(|moment| (pulse.strength(*moment), *moment));
    strongest.or_else(|| inside_beat(pulse, at, end))
}

/// The same for a length that lies inside one beat.
fn inside_beat(pulse: &Pulse, at: Quarters, end: Quarters) -> Option<Quarters> {
    let (start, beat_end) = pulse.beat_at(at);
    let mut part = beat_end - start;
    for level in 0..8 {
        let thirds = level == 0 && (pulse.compound || part.num() == 3);
        part = part / Rational::whole(if thirds { 3 } else { 2 });
        if !part.is_positive() {
            return None;
        }
        let next = start + part * Rational::whole(((at - start) / part).floor() + 1);
        if next < end {
            return Some(next);
        }
    }
    None
}

/// The plain value of a length: undotted or with one dot.
fn plain(length: Quarters) -> Option<Written> {
    valued(length, 1)
}

/// The value of a length with at most so many dots.
pub(crate) fn valued(length: Quarters, most_dots: u8) -> Option<Written> {
    (0..=most_dots).find_map(|dots| {
        NoteValue::ALL.into_iter().find_map(|value| {
            let written = Written {
                value,
                dots,
                tuplets: Vec::new(),
            };
            (written.quarters() == length).then_some(written)
        })
    })
}

/// A length of no plain value, as part of a tuplet if it is one of the usual ones.
fn odd(length: Quarters) -> Option<Written> {
    let two_dots = valued(length, 2);
    let usual = [(3, 2), (5, 4), (7, 4), (9, 8), (11, 8), (13, 8)];
    two_dots.or_else(|| {
        usual.into_iter().find_map(|(actual, normal)| {
            let nominal = length * Rational::new(i64::from(actual), i64::from(normal));
            let mut written = valued(nominal, 1)?;
            written.tuplets = vec![TupletRatio { actual, normal }];
            Some(written)
        })
    })
}

/// The pieces of a tone in tuplets: as few as possible, the longest first.
fn tuplet_pieces(tone: &Tone, out: &mut Vec<Piece>) {
    let scale = tone.chain.iter().fold(Rational::ONE, |scale, ratio| {
        scale * Rational::new(i64::from(ratio.actual), i64::from(ratio.normal))
    });
    let mut left = tone.length * scale;
    for _ in 0..12 {
        if !left.is_positive() || left.is_overflow() {
            break;
        }
        let fits = NoteValue::ALL
            .into_iter()
            .rev()
            .find(|value| value.quarters() <= left);
        let whole = valued(left, 1);
        let Some(mut written) = whole.or_else(|| {
            fits.map(|value| Written {
                value,
                dots: 0,
                tuplets: Vec::new(),
            })
        }) else {
            break;
        };
        left -= written.quarters();
        written.tuplets.clone_from(&tone.chain);
        out.push((written.quarters(), Some(written)));
    }
    if left.is_positive() {
        // What no value holds keeps its length and says none.
        out.push((left / scale, None));
    }
    if out.is_empty() {
        out.push((tone.length, None));
    }
}

/// Tones one after the other as bars of one metre, the last filled up with rests. `like` gives metre, clef and key.
pub(crate) fn bar_up(tones: &[Tone], like: &DraftBar) -> Vec<DraftBar> {
    let full = like.full();
    let mut bars: Vec<DraftBar> = Vec::new();
    if !full.is_positive() {
        return bars;
    }
    let mut bar = DraftBar::like(like);
    let mut room = full;
    for tone in tones {
        let mut left = tone.length;
        let mut first = true;
        while left.is_positive() && bars.len() < MOST_BARS {
            let taken = left.min(room);
            let mut piece = if first {
                tone.lasting(taken)
            } else {
                tone.bare().lasting(taken)
            };
            if taken == tone.length {
                piece.written.clone_from(&tone.written);
            }
            piece.tied = tone.is_note() && (taken < left || tone.tied);
            bar.tones.push(piece);
            left -= taken;
            room -= taken;
            first = false;
            if !room.is_positive() {
                bars.push(std::mem::replace(&mut bar, DraftBar::like(like)));
                room = full;
            }
        }
    }
    if !bar.tones.is_empty() {
        bar.tones.push(Tone::rest(room));
        bars.push(bar);
    }
    bars
}

/// More bars than a drill ever has.
const MOST_BARS: usize = 400;

/// Fills a bar up to its length with rests; what is there already stays.
pub(crate) fn fill_bar(bar: &mut DraftBar) {
    let reached = bar
        .tones
        .iter()
        .fold(Quarters::ZERO, |sum, tone| sum + tone.length);
    let missing = bar.length - reached;
    if missing.is_positive() {
        let rests = silence(&bar.pulse(), bar.lead + reached, missing);
        bar.tones.extend(rests);
    }
}

impl Passage {
    /// Every tone of every bar with a value that can be printed.
    pub fn spell(&mut self) {
        for bar in &mut self.bars {
            bar.tones = spelled(&bar.tones, &bar.pulse(), bar.lead);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use notation::{Metre, Pitch, Step};

    /// Lengths in sixteenths from a position in sixteenths.
    fn sixteenths(metre: (u16, u16), at: i64, length: i64, rest: bool) -> Vec<i64> {
        let pulse = Pulse::of(Some(&Metre::new(metre.0, metre.1)), Quarters::ZERO);
        let tone = if rest {
            Tone::rest(Rational::new(length, 4))
        } else {
            Tone::note(Pitch::new(Step::C, 0, 5), Rational::new(length, 4))
        };
        spelled(&[tone], &pulse, Rational::new(at, 4))
            .iter()
            .map(|tone| (tone.length * Rational::whole(4)).num())
            .collect()
    }

    /// Source: common practice; Gould, Behind Bars, "Grouping values" (from memory).
    #[test]
    fn beats_stay_visible() {
        let note = |metre, at, length| sixteenths(metre, at, length, false);
        assert_eq!(note((4, 4), 0, 16), [16]);
        assert_eq!(note((4, 4), 0, 12), [12], "a dotted half from the downbeat");
        assert_eq!(note((4, 4), 4, 12), [4, 8], "from beat two it shows the middle");
        assert_eq!(note((4, 4), 4, 8), [8], "the plain syncopation over the middle");
        assert_eq!(note((4, 4), 2, 4), [4], "eighth, quarter, eighth");
        assert_eq!(note((4, 4), 6, 4), [2, 2], "but not over the middle");
        assert_eq!(note((4, 4), 2, 6), [6], "eighth and dotted quarter");
        assert_eq!(note((4, 4), 1, 2), [2], "sixteenth, eighth, sixteenth");
        assert_eq!(note((4, 4), 1, 5), [3, 2]);
        assert_eq!(note((3, 4), 4, 8), [8], "quarter and half in three");
        assert_eq!(note((6, 8), 0, 12), [12]);
        assert_eq!(note((6, 8), 2, 6), [4, 2], "in six the second beat shows");
        assert_eq!(note((6, 8), 2, 4), [4]);
        assert_eq!(note((2, 4), 0, 5), [4, 1]);
    }

    /// Source: common practice: rests show every beat, dotted ones only in compound time.
    #[test]
    fn rests_show_every_beat() {
        let rest = |metre, at, length| sixteenths(metre, at, length, true);
        assert_eq!(rest((4, 4), 0, 12), [8, 4]);
        assert_eq!(rest((4, 4), 4, 12), [4, 8]);
        assert_eq!(rest((4, 4), 2, 6), [2, 4]);
        assert_eq!(rest((3, 4), 4, 8), [4, 4]);
        assert_eq!(rest((6, 8), 0, 6), [6]);
        assert_eq!(rest((6, 8), 6, 6), [6]);
        assert_eq!(rest((6, 8), 2, 4), [2, 2]);
        assert_eq!(rest((6, 8), 0, 12), [6, 6]);
    }
}
