//! What happened in the take, as a teacher would say it? Notes, bars, restarts, time, tuning, dynamics, and what to work on.

mod bars;
mod dynamics;
mod intonation;
mod timing;
mod touch;
mod words;
mod work;

#[cfg(test)]
mod tests;

pub use bars::{HeardBar, Reached};
pub use dynamics::{DynamicHeard, Followed};
pub use intonation::Intonation;
pub use timing::Hesitation;
pub use touch::{Touch, TouchHeard};
pub use work::{Drill, WorkOn};

use crate::align::{Alignment, JumpKind, Was, median};
use crate::expected::Expected;
use crate::numbers::{real, whole};
use notation::{BarIndex, Id, Part, Piece, Pitch, Place, Quarters, Step};
use performance::play::{BarBeats, Performance, Role};
use std::collections::BTreeMap;

/// How it is to be looked at.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub struct HeardOptions<'a> {
    /// The beats as they are felt, by bar.
    pub beats: &'a [BarBeats],
    /// Cents against pure intervals over the key's tonic, not equal ones.
    pub just: bool,
}

/// One note, in order of time.
#[derive(Clone, PartialEq, Debug)]
pub struct HeardNote {
    /// Which of the expected notes; of an extra note the one after which it came.
    pub expected: usize,
    /// What was made of it.
    pub was: Was,
    /// Where it stands on the page.
    pub place: Place,
    /// The felt beat as it is counted aloud, from 1.
    pub beat: f64,
    /// The element of the page.
    pub event: Id,
    /// As written for the player.
    pub written: Option<Pitch>,
    /// What was heard, as it would be written for the player.
    pub heard: Option<Pitch>,
    /// When it began (or was due), in seconds.
    pub onset_secs: f64,
    /// When it ended.
    pub end_secs: f64,
    /// Cents beside the page; of right notes only.
    pub cents: Option<f64>,
    /// Seconds by which it came later than the player's own pulse has it; earlier is below 0.
    pub late_secs: Option<f64>,
    /// How long the felt beat is there, in seconds as played.
    pub beat_secs: f64,
    /// Its level in decibels below full scale.
    pub level_db: Option<f64>,
    /// It is played once more later on: that time counts for the bar.
    pub again: bool,
    /// How sure it is, from 0 to 1.
    pub sure: f64,
}

/// Going back.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Restart {
    /// When it went on, in seconds.
    pub at_secs: f64,
    /// The last note played before.
    pub from: Place,
    /// The note with which it went on.
    pub to: Place,
    /// Whether it was back, on, or another way through the repeats.
    pub kind: JumpKind,
}

/// The same wrong note in the same place, more than once.
#[derive(Clone, PartialEq, Debug)]
pub struct Learned {
    /// Where.
    pub place: Place,
    /// What is written.
    pub written: Option<Pitch>,
    /// What was played.
    pub heard: Pitch,
    /// How often.
    pub times: usize,
}

/// The tempo of the whole.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub struct TempoHeard {
    /// The felt beat, in quarter notes; 0 without any.
    pub beat: Quarters,
    /// Felt beats a minute, in the middle of the bars.
    pub bpm: Option<f64>,
    /// The same in the model: as written, where it is.
    pub model_bpm: Option<f64>,
    /// Half of the bars lie within so many beats a minute of it.
    pub within: f64,
    /// By how many hundredths it is faster at the end than at the beginning.
    pub gains: f64,
}

/// What was counted.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub struct Counts {
    /// Written notes reached: heard, mistaken or missed, each place once.
    pub notes: usize,
    /// At their pitch, the last time they were played.
    pub right: usize,
    /// Another pitch.
    pub wrong: usize,
    /// Not heard.
    pub missing: usize,
    /// Notes too many.
    pub extra: usize,
    /// Times it went back.
    pub restarts: usize,
    /// Waits.
    pub hesitations: usize,
    /// Bars in which something was not in time.
    pub rhythm_bars: usize,
    /// Bars reached.
    pub bars: usize,
    /// Bars clean at one go.
    pub clean_bars: usize,
}

/// What happened.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Heard {
    /// Notes in order of time.
    pub notes: Vec<HeardNote>,
    /// Bars in the order played.
    pub bars: Vec<HeardBar>,
    /// Where the player did not go on.
    pub restarts: Vec<Restart>,
    /// Waits where the music has none.
    pub hesitations: Vec<Hesitation>,
    /// Tuning by written note, from low to high.
    pub intonation: Vec<Intonation>,
    /// Wrong notes played the same way more than once.
    pub learned: Vec<Learned>,
    /// Changes of dynamics.
    pub dynamics: Vec<DynamicHeard>,
    /// Staccato and slurs.
    pub touches: Vec<TouchHeard>,
    /// The tempo of the whole.
    pub tempo: TempoHeard,
    /// What was counted.
    pub counts: Counts,
    /// The three things to work on.
    pub work: Vec<WorkOn>,
    /// All of it in a teacher's words.
    pub summary: Vec<String>,
    /// Hertz of the player's A4.
    pub a4: f64,
    /// How much of what sounded could be told, from 0 to 1.
    pub sure: f64,
}

impl Heard {
    /// Whether enough of the piece was heard to say anything of the playing.
    #[must_use]
    pub fn tells(&self) -> bool {
        self.counts.bars > 0 && self.sure >= words::NOT_THIS_PIECE
    }
}

/// What happened in a take.
#[must_use]
pub fn heard(
    piece: &Piece,
    part: usize,
    performance: &Performance,
    line: &[Expected],
    alignment: &Alignment,
    options: &HeardOptions,
) -> Heard {
    let timing = timing::timing(line, alignment);
    let notes = notes(
        piece.parts.get(part),
        performance,
        line,
        alignment,
        &timing.late,
        options,
    );
    let bars = bars::bars(
        performance,
        line,
        alignment,
        &notes,
        &timing.hesitations,
        options.beats,
    );
    let place = |expected: usize| line.get(expected).map(|note| note.place).unwrap_or_default();
    let mut heard = Heard {
        restarts: alignment
            .jumps
            .iter()
            .filter(|jump| leaves_its_note(line, jump.from, jump.to))
            .map(|jump| Restart {
                at_secs: jump.at_secs,
                from: place(jump.from),
                to: place(jump.to),
                kind: jump.kind,
            })
            .collect(),
        intonation: intonation::by_note(&notes, line),
        learned: learned(&notes),
        dynamics: dynamics::dynamics(&notes, line),
        touches: touch::touches(&notes, line),
        tempo: tempo(performance, &bars),
        counts: counts(&bars, &notes, line, alignment, timing.hesitations.len()),
        a4: 440.0 * (alignment.tuning / 12.0).exp2(),
        sure: sure(&notes, alignment),
        hesitations: timing.hesitations,
        notes,
        bars,
        ..Heard::default()
    };
    if heard.tells() {
        heard.work = work::work(piece, line, &heard);
    }
    heard.summary = words::summary(piece, line, &heard);
    heard
}

/// A trill with more or fewer beats than the model's is no jump: within one note of the page nobody goes back.
fn leaves_its_note(line: &[Expected], from: usize, to: usize) -> bool {
    match (line.get(from), line.get(to)) {
        (Some(from), Some(to)) => {
            from.event != to.event || from.role == Role::Written && to.role == Role::Written
        }
        _ => true,
    }
}

fn notes(
    part: Option<&Part>,
    performance: &Performance,
    line: &[Expected],
    alignment: &Alignment,
    late: &[Option<f64>],
    options: &HeardOptions,
) -> Vec<HeardNote> {
    let mut last: BTreeMap<usize, usize> = BTreeMap::new();
    for (index, note) in alignment.sounded.iter().enumerate() {
        if note.was != Was::Extra {
            last.insert(note.expected, index);
        }
    }
    let beat_secs = |expected: &Expected| {
        let beat = bars::beat(options.beats, expected.place.bar);
        let speed = performance.clock.speed(expected.onset).to_f64().max(1.0);
        beat.to_f64() * 60.0 / speed * alignment.pace
    };
    let sounded = alignment.sounded.iter().enumerate();
    sounded
        .filter_map(|(index, note)| {
            let expected = line.get(note.expected)?;
            let extra = note.was == Was::Extra;
            let key = note.key;
            let cents = key
                .filter(|_| note.was == Was::Right)
                .map(|key| intonation::cents(expected, key, performance, options.just));
            Some(HeardNote {
                expected: note.expected,
                was: note.was,
                place: expected.place,
                beat: bars::counted(options.beats, expected.place.bar, expected.place.offset),
                event: expected.event,
                written: expected.written.filter(|_| !extra),
                heard: key.and_then(|key| as_written(part, expected, key)),
                onset_secs: note.onset_secs,
                end_secs: note.end_secs,
                cents,
                late_secs: late.get(index).copied().flatten(),
                beat_secs: beat_secs(expected),
                level_db: note.level_db,
                again: !extra && last.get(&note.expected) != Some(&index),
                sure: note.sure,
            })
        })
        .collect()
}

/// A pitch that was heard at a note, as it would be written for its player: the note's own spelling where it is the note, else by
/// the signature's side (flats or sharps).
fn as_written(part: Option<&Part>, expected: &Expected, key: f64) -> Option<Pitch> {
    let written = expected.written?;
    let away = whole(key - expected.key);
    if away == 0 {
        return Some(written);
    }
    let number = written.semitones().floor() + away;
    let fifths = part
        .and_then(|part| part.key_at(1, expected.place))
        .and_then(|key| key.fifths)
        .unwrap_or(0);
    spelled(number, fifths)
}

/// A key number spelled as a signature has it: its own notes, else the nearest on the line of fifths.
fn spelled(number: i64, fifths: i8) -> Option<Pitch> {
    // The line of fifths from five flats of the signature's major to six sharps holds each pitch class once.
    let centre = i32::from(fifths) + 2;
    let class = i32::try_from(number.rem_euclid(12)).ok()?;
    let on_line = (centre - 6..centre + 6).find(|place| (place * 7).rem_euclid(12) == class)?;
    let step = Step::ALL
        .into_iter()
        .find(|step| (on_line - step.fifths()).rem_euclid(7) == 0)?;
    let alter = i8::try_from((on_line - step.fifths()) / 7).ok()?;
    let octaves = (-1..=10).map(|octave| Pitch::new(step, alter, octave));
    octaves
        .into_iter()
        .find(|pitch| pitch.semitones().floor() == number)
}

fn learned(notes: &[HeardNote]) -> Vec<Learned> {
    let mut found: BTreeMap<(Place, Id, Pitch), Learned> = BTreeMap::new();
    for note in notes
        .iter()
        .filter(|note| note.was == Was::Wrong && note.sure >= 0.5)
    {
        let Some(heard) = note.heard else { continue };
        found
            .entry((note.place, note.event, heard))
            .or_insert_with(|| Learned {
                place: note.place,
                written: note.written,
                heard,
                times: 0,
            })
            .times += 1;
    }
    found.into_values().filter(|learned| learned.times >= 2).collect()
}

fn tempo(performance: &Performance, bars: &[HeardBar]) -> TempoHeard {
    let Some(beat) = most(bars.iter().filter(|bar| bar.tempo.is_some()).map(|bar| bar.beat)) else {
        return TempoHeard::default();
    };
    let tempi: Vec<f64> = bars
        .iter()
        .filter(|bar| bar.beat == beat)
        .filter_map(|bar| bar.tempo)
        .collect();
    let Some(bpm) = median(&mut tempi.clone()) else {
        return TempoHeard::default();
    };
    let within = median(&mut tempi.iter().map(|one| (one - bpm).abs()).collect::<Vec<_>>()).unwrap_or(0.0);
    let mut models: Vec<f64> = bars
        .iter()
        .zip(&performance.slots)
        .filter(|(bar, _)| bar.tempo.is_some() && bar.beat == beat)
        .map(|(_, slot)| performance.clock.speed(slot.start).to_f64() / beat.to_f64().max(1e-9))
        .collect();
    let model_bpm = median(&mut models);
    // A quarter of the bars at either end, each against the model.
    let relative: Vec<f64> = bars
        .iter()
        .zip(&performance.slots)
        .filter_map(|(bar, slot)| {
            Some(bar.tempo? * bar.beat.to_f64() / performance.clock.speed(slot.start).to_f64().max(1.0))
        })
        .collect();
    let quarter = (relative.len() / 4).max(1);
    let begin = median(&mut relative.iter().take(quarter).copied().collect::<Vec<_>>());
    let end = median(&mut relative.iter().rev().take(quarter).copied().collect::<Vec<_>>());
    let gains = match (begin, end) {
        (Some(begin), Some(end)) if relative.len() >= 6 && begin > 0.0 => (end / begin - 1.0) * 100.0,
        _ => 0.0,
    };
    TempoHeard {
        beat,
        bpm: Some(bpm),
        model_bpm,
        within,
        gains,
    }
}

/// What comes most often.
fn most<T: Ord + Copy>(values: impl Iterator<Item = T>) -> Option<T> {
    let mut count: BTreeMap<T, usize> = BTreeMap::new();
    values.for_each(|value| *count.entry(value).or_default() += 1);
    count
        .into_iter()
        .max_by_key(|(_, count)| *count)
        .map(|(value, _)| value)
}

fn counts(
    bars: &[HeardBar],
    notes: &[HeardNote],
    line: &[Expected],
    alignment: &Alignment,
    hesitations: usize,
) -> Counts {
    let sum = |value: fn(&HeardBar) -> usize| bars.iter().map(value).sum::<usize>();
    let reached = || bars.iter().filter(|bar| bar.reached != Reached::Not);
    let (right, wrong, missing) = (sum(|bar| bar.right), sum(|bar| bar.wrong), sum(|bar| bar.missing));
    let unparted = notes
        .iter()
        .filter(|note| note.was == Was::Unparted && !note.again)
        .count();
    Counts {
        notes: right + wrong + missing + unparted,
        right: right + unparted,
        wrong,
        missing,
        extra: sum(|bar| bar.extra),
        restarts: alignment
            .jumps
            .iter()
            .filter(|jump| jump.kind == JumpKind::Back && leaves_its_note(line, jump.from, jump.to))
            .count(),
        hesitations,
        rhythm_bars: reached().filter(|bar| bar.rhythm_missed()).count(),
        bars: reached().count(),
        clean_bars: reached().filter(|bar| bar.clean()).count(),
    }
}

/// The share of the sounding time that could be laid to notes, each as far as it is sure.
fn sure(notes: &[HeardNote], alignment: &Alignment) -> f64 {
    let secs = |from: f64, to: f64| (to - from).max(0.0);
    let told: f64 = notes
        .iter()
        .map(|note| note.sure * secs(note.onset_secs, note.end_secs))
        .sum();
    let all: f64 = notes
        .iter()
        .map(|note| secs(note.onset_secs, note.end_secs))
        .sum();
    let outside: f64 = alignment.outside.iter().map(|(from, to)| secs(*from, *to)).sum();
    if all + outside > 0.0 {
        told / (all + outside)
    } else {
        0.0
    }
}

/// The bars of the page from the first to the last that were reached.
pub(crate) fn reached(heard: &Heard) -> Option<(BarIndex, BarIndex)> {
    let bars = || {
        heard
            .bars
            .iter()
            .filter(|bar| bar.reached != Reached::Not)
            .map(|bar| bar.bar)
    };
    Some((bars().min()?, bars().max()?))
}

/// Whether a note counts as written out on the page.
pub(crate) fn is_written(line: &[Expected], note: &HeardNote) -> bool {
    line.get(note.expected)
        .is_some_and(|expected| expected.role == Role::Written)
}

/// A number for words: a whole one.
pub(crate) fn round(value: f64) -> i64 {
    whole(value)
}

/// A share in hundredths, for words.
pub(crate) fn hundredths(part: usize, of: usize) -> i64 {
    if of == 0 {
        0
    } else {
        whole(100.0 * real(part) / real(of))
    }
}
