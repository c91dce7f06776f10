//! Which tone of the recording is which note of the page? The line of expected notes laid against what was heard, whatever was
//! missed, mistaken, added, stopped over, taken again or left out.
//!
//! It is done twice: first with no knowledge of the player's pulse and tuning beyond a guess, then with both as the first look
//! showed them.

mod cuts;
mod echoes;
mod informed;
mod level;
mod partials;
mod prices;
mod pulse;
mod rounds;
mod second;
mod segments;
mod settle;
mod tails;
mod way;

#[cfg(test)]
pub(crate) mod tests;

pub use pulse::PulsePoint;
pub(crate) use pulse::{median, weighted_middle};

use crate::expected::{Expected, between};
use crate::{Onset, Track};
use segments::segments;
use way::{Pulse, Score, way};

/// What was made of one note that was heard or ought to have been.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub enum Was {
    /// At its pitch.
    Right,
    /// Another pitch in its place.
    Wrong,
    /// It can't be told from the notes around it: it is of the pitch before, which sounded on with no new attack, or too short
    /// to be heard apart. No mistake is counted.
    Unparted,
    /// Not heard, though the notes around it were.
    Missing,
    /// Heard beside the notes of the page.
    Extra,
}

/// One note, in order of time.
#[derive(Clone, PartialEq, Debug)]
pub struct Sounded {
    /// What was made of it.
    pub was: Was,
    /// Which of the expected notes; of an extra note the one after which it came.
    pub expected: usize,
    /// When it began, in seconds; of a missing note when it was due.
    pub onset_secs: f64,
    /// When it ended.
    pub end_secs: f64,
    /// The pitch heard as a key number in the player's tuning (his A4 = 69): the middle of its steady part.
    pub key: Option<f64>,
    /// How many semitones the pitch wavers within that part (half the span of the middle four fifths).
    pub wavers: f64,
    /// Its level in decibels below full scale.
    pub level_db: Option<f64>,
    /// How sure it is, from 0 to 1.
    pub sure: f64,
}

/// The player did not go on where the music goes on.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Jump {
    /// When, in seconds.
    pub at_secs: f64,
    /// The last expected note before.
    pub from: usize,
    /// The expected note with which it went on.
    pub to: usize,
    /// Its place among the notes sounded: the first after it.
    pub sounded: usize,
    /// What kind.
    pub kind: JumpKind,
}

/// What kind of jump.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub enum JumpKind {
    /// Back to play something again.
    Back,
    /// Notes or bars left out.
    On,
    /// By the page: a repeat left out, or taken once more than written.
    Page,
}

/// The recording laid against the notes.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Alignment {
    /// Notes in order of time, missing ones where they were due.
    pub sounded: Vec<Sounded>,
    /// Where the player did not go on.
    pub jumps: Vec<Jump>,
    /// Stretches of sound that are not the piece, in seconds.
    pub outside: Vec<(f64, f64)>,
    /// Semitones by which the player's A4 lies above 440 Hz.
    pub tuning: f64,
    /// The player's pulse: seconds taken for each second of the model, by time.
    pub pulse: Vec<PulsePoint>,
    /// Seconds taken for each of the model's, over the whole.
    pub pace: f64,
}

/// A tuning farther off than this, in semitones, may as well be as much off on the other side: a quarter tone less what tunings of single
/// notes stray.
const TWO_WAYS: f64 = 0.3;

/// A first look at a recording, as if tuned in one way.
struct Look {
    tuning: f64,
    track: Track,
    first: Alignment,
}

impl Look {
    fn new(score: &Score, track: &Track, onsets: &[Onset], tuning: f64) -> Self {
        let track = informed::informed(track, score.line, tuning);
        let heard = segments(&track, onsets, tuning);
        let general = general_pulse(score.line, &heard);
        let steps = way(score, &heard, &Pulse::default(), general);
        let first = settle::settle(score, &heard, &steps, &track, tuning);
        Self { tuning, track, first }
    }

    fn rights(&self) -> usize {
        self.first
            .sounded
            .iter()
            .filter(|note| note.was == Was::Right)
            .count()
    }
}

/// Lays a recording against the notes.
#[must_use]
pub fn align(line: &[Expected], track: &Track, onsets: &[Onset]) -> Alignment {
    let tuning = if track.a4 > 0.0 {
        12.0 * (track.a4 / 440.0).log2()
    } else {
        0.0
    };
    if line.is_empty() || track.frames.is_empty() {
        return Alignment {
            tuning,
            pace: 1.0,
            ..Alignment::default()
        };
    }
    let score = Score::new(line);
    // The nearest tuning may be the wrong one: half a semitone too flat is heard as half a semitone too sharp.
    let other = tuning - tuning.signum();
    let looks = [Some(tuning), (tuning.abs() > TWO_WAYS).then_some(other)];
    let looks = looks
        .into_iter()
        .flatten()
        .map(|tuning| Look::new(&score, track, onsets, tuning));
    let Some(Look { tuning, track, first }) =
        looks.reduce(|a, b| if b.rights() > a.rights() { b } else { a })
    else {
        return Alignment::default();
    };
    let track = &track;
    // Once more, with the tuning and the pulse that came out.
    let tuning = tuning + settle::mistuned(line, &first);
    let heard = segments(track, onsets, tuning);
    let pulse = pulse::followed(line, &first);
    let known = Pulse {
        points: pulse
            .points
            .iter()
            .map(|point| (point.secs, point.pace.ln()))
            .collect(),
    };
    let steps = way(&score, &heard, &known, pulse.pace.ln());
    let mut alignment = settle::settle(&score, &heard, &steps, track, tuning);
    rounds::part_where_the_page_parts(line, &mut alignment);
    let pulse = pulse::followed(line, &alignment);
    alignment.pulse = pulse.points;
    alignment.pace = pulse.pace;
    second::too_early(line, &mut alignment);
    second::which_of_two(line, &mut alignment);
    second::first_of_two(line, &mut alignment);
    level::rings_on(line, track, &mut alignment);
    second::times_of_missing(line, &mut alignment);
    partials::heard_apart(line, track, &mut alignment);
    level::in_their_time(line, track, &mut alignment);
    second::too_short_to_tell(line, &mut alignment);
    second::times_of_missing(line, &mut alignment);
    level::not_silent(line, track, &mut alignment);
    alignment
}

/// A first guess at the pulse: the sounding part of the take against the length of the piece, within bounds; logarithm.
fn general_pulse(line: &[Expected], heard: &[segments::Segment]) -> f64 {
    let sounding: Vec<&segments::Segment> = heard.iter().filter(|segment| segment.sounds()).collect();
    let (Some(first), Some(last)) = (sounding.first(), sounding.last()) else {
        return 0.0;
    };
    let model = between(line, 0, line.len() - 1) + line.last().map_or(0.0, |note| note.length_secs);
    let took = last.to - first.from;
    if model <= 0.0 || took <= 0.0 {
        return 0.0;
    }
    (took / model).ln().clamp(-0.9, 0.9) * 0.6
}
