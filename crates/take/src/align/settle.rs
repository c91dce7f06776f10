//! What does the way say of each note? Stretches put together to notes, missing ones named, jumps told from slips, pitch measured.

use super::echoes;
use super::pulse::median;
use super::segments::Segment;
use super::way::{Doing, Score, Step};
use super::{Alignment, Jump, JumpKind, Sounded, Was};
use crate::Track;
use crate::expected::Expected;
use crate::numbers::{count, real};

/// A note too many that is shorter than this is none, in seconds: noises of keys and tongue.
const SHORTEST_EXTRA: f64 = 0.075;
/// A note whose pitch comes clear later than its attack began so much before, in seconds.
const LATE_PITCH: f64 = 0.115;
/// Where two tones sound at once no pitch can be followed: a gap so short (seconds) and so little softer than the note (decibels)
/// belongs to the note.
const CLASH: f64 = 0.09;
const CLASH_DB: f64 = 7.0;
/// An octave off is believed of notes from this length on, in seconds.
const OVERBLOWN_SECS: f64 = 0.3;
/// And only if the note itself has less belief than this: a tone whose second partial is the loudest is taken for its octave, but
/// keeps some.
const POSSIBLE: f64 = 0.04;
/// An attack is plain from here on.
const PLAIN: f64 = 0.3;
/// A leap on over no more notes than this is notes left out, not a jump.
const LEFT_OUT: usize = 4;
/// A pitch nearer than this is the note's, in semitones.
const SAME: f64 = 0.6;

/// Stretches from one note's beginning to its end.
struct Group {
    step: Step,
    first: usize,
    last: usize,
}

/// The notes of a way.
pub(super) fn settle(
    score: &Score,
    segments: &[Segment],
    steps: &[Step],
    track: &Track,
    tuning: f64,
) -> Alignment {
    let mut alignment = Alignment {
        tuning,
        pace: 1.0,
        ..Alignment::default()
    };
    let mut at: Option<usize> = None;
    let mut groups = groups(steps);
    begin_with_attacks(&mut groups, segments);
    for group in groups {
        let Some(heard) = segments.get(group.first..=group.last) else {
            continue;
        };
        let (Some(begins), Some(ends)) = (heard.first(), heard.last()) else {
            continue;
        };
        match group.step.doing {
            Doing::Rests => {}
            Doing::Outside => {
                if heard.iter().any(Segment::sounds) {
                    alignment.outside.push((begins.from, ends.to));
                }
            }
            Doing::Extra => {
                let noise = heard.iter().all(|segment| segment.alone || !segment.sounds());
                if ends.to - begins.from >= SHORTEST_EXTRA && !noise {
                    let note = sounded(Was::Extra, group.step.note, None, heard, track, tuning);
                    alignment.sounded.push(note);
                }
            }
            Doing::Holds | Doing::Wrong => {
                let note = group.step.note;
                goes_from(score, at, &group.step, begins.from, &mut alignment);
                at = Some(note);
                let overblown = score
                    .line
                    .get(note)
                    .is_some_and(|note| overblown(heard, note.key, track, tuning));
                let elsewhere = score
                    .line
                    .get(note)
                    .is_some_and(|note| steady_elsewhere(heard, note.key, track, tuning));
                let was = if group.step.doing == Doing::Wrong || overblown || elsewhere {
                    Was::Wrong
                } else {
                    Was::Right
                };
                let key = score.line.get(note).map(|note| note.key);
                let (first, second) = heard.split_at(goes_on_at(was, heard).unwrap_or(heard.len()));
                alignment
                    .sounded
                    .push(sounded(was, note, key, first, track, tuning));
                if !second.is_empty() {
                    let extra = sounded(Was::Extra, note, None, second, track, tuning);
                    alignment.sounded.push(extra);
                }
            }
        }
    }
    echoes::without(&mut alignment);
    alignment
}

/// The first and last moment of a tone, in seconds, are not looked at.
const SETTLES: f64 = 0.03;

/// Whether a note sounds an octave off from beginning to end, so long that the ear is hardly wrong, and without the partials that its
/// octave has not.
fn overblown(heard: &[Segment], key: f64, track: &Track, tuning: f64) -> bool {
    let (Some(first), Some(last)) = (heard.first(), heard.last()) else {
        return false;
    };
    let its_own = || {
        let (from, to) = (first.from + SETTLES, last.to - SETTLES);
        track.partials.odd_stand(key + tuning, from, to)
    };
    let whole: f64 = heard.iter().map(Segment::secs).sum();
    whole >= OVERBLOWN_SECS
        && weighted(heard, |segment| segment.octave_off(key)) > 0.85
        && weighted(heard, |segment| segment.possible(key)) < POSSIBLE
        && !its_own()
}

/// A wrong note that goes on into another pitch, not its octave, is two tones if they lie so many semitones apart …
const TWO_TONES: f64 = 0.75;
/// … and the first lasts so many seconds: where a tone rings on into the next, shorter pitches of none of the two are heard.
const FIRST_TONE: f64 = 0.1;

/// Where a wrong note goes on into another pitch that lasts as long as a note too many must: the first stretch of that.
fn goes_on_at(was: Was, heard: &[Segment]) -> Option<usize> {
    if was != Was::Wrong {
        return None;
    }
    let sounding = |heard: &[Segment]| -> f64 {
        let sounding = heard.iter().filter(|segment| segment.sounds());
        sounding.map(Segment::secs).sum()
    };
    let longest = |heard: &[Segment]| {
        let sounding = heard.iter().filter(|segment| segment.sounds());
        sounding
            .max_by(|a, b| a.secs().total_cmp(&b.secs()))
            .and_then(Segment::key)
    };
    (1..heard.len()).find(|at| {
        let (first, second) = heard.split_at(*at);
        let apart = longest(first)
            .zip(longest(second))
            .map(|(first, second)| (first - second).abs())
            .is_some_and(|apart| apart >= TWO_TONES && (apart - 12.0).abs() > SAME);
        let begins = second
            .first()
            .is_some_and(|begins| begins.sounds() && !begins.fades && begins.key() == longest(second));
        apart && begins && sounding(first) >= FIRST_TONE && sounding(second) >= SHORTEST_EXTRA
    })
}

/// A pitch is steady that keeps within so many semitones for so many seconds, the last of a tone.
const STEADY: f64 = 0.15;
const STEADY_SECS: f64 = 0.04;
/// It is another note's from so many semitones on, and up to so many: a step, not an octave that the ear takes for the note.
const ELSEWHERE: (f64, f64) = (0.7, 4.0);

/// Whether a tone that came out of the one before settles on another pitch than the note's.
fn steady_elsewhere(heard: &[Segment], key: f64, track: &Track, tuning: f64) -> bool {
    let Some(longest) = heard
        .iter()
        .filter(|segment| segment.sounds() && !segment.fades)
        .max_by(|a, b| a.secs().total_cmp(&b.secs()))
    else {
        return false;
    };
    if weighted(heard, |segment| segment.fits(key)) > 0.1 {
        return false;
    }
    let frames = track.frames.get(longest.first..longest.last).unwrap_or(&[]);
    // The last frames of a tone let go are not its own.
    let inner = frames.get(frames.len() / 2..frames.len() * 9 / 10).unwrap_or(&[]);
    let keys: Option<Vec<f64>> = inner.iter().map(|frame| Some(frame.key? - tuning)).collect();
    let Some(mut keys) = keys.filter(|keys| real(keys.len()) * track.hop_secs >= STEADY_SECS) else {
        return false;
    };
    let Some(middle) = median(&mut keys) else {
        return false;
    };
    let steady = keys.iter().all(|key| (key - middle).abs() < STEADY);
    let away = (middle - key).abs();
    steady && away > ELSEWHERE.0 && away < ELSEWHERE.1
}

/// Stretches put together; a lapse inside a note belongs to it.
fn groups(steps: &[Step]) -> Vec<Group> {
    let mut groups: Vec<Group> = Vec::new();
    // The last group that is no silence.
    let mut sounding: Option<usize> = None;
    for (index, step) in steps.iter().enumerate() {
        let same = sounding.and_then(|n| groups.get_mut(n)).filter(|group| {
            !step.new
                && group.step.doing == step.doing
                && group.step.note == step.note
                && step.doing != Doing::Rests
        });
        if let Some(group) = same {
            group.last = index;
            continue;
        }
        let silent = groups
            .last_mut()
            .filter(|group| step.doing == Doing::Rests && group.step.doing == Doing::Rests);
        if let Some(group) = silent {
            group.last = index;
            continue;
        }
        groups.push(Group {
            step: *step,
            first: index,
            last: index,
        });
        if step.doing != Doing::Rests {
            sounding = Some(groups.len() - 1);
        }
    }
    groups
}

/// Lets notes whose pitch came clear late begin with the attack before it: one that stands inside the note before (which rings on),
/// or a short noise that passes for a note too many.
fn begin_with_attacks(groups: &mut [Group], segments: &[Segment]) {
    for n in 1..groups.len() {
        let Some([before, group]) = groups.get_mut(n - 1..=n) else {
            continue;
        };
        if !group.step.new
            || !matches!(group.step.doing, Doing::Holds | Doing::Wrong)
            || before.last + 1 != group.first
        {
            continue;
        }
        let Some(first) = segments.get(group.first) else {
            continue;
        };
        let clash = before.step.doing == Doing::Rests
            && segments.get(before.first).is_some_and(|gap| {
                !gap.rings && first.from - gap.from < CLASH && gap.level > first.level - CLASH_DB
            });
        if clash {
            group.first = before.first;
            continue;
        }
        let noise = before.step.doing == Doing::Extra
            && segments
                .get(before.first)
                .is_some_and(|noise| first.from - noise.from < SHORTEST_EXTRA && noise.onset >= PLAIN);
        if noise {
            group.first = before.first;
            // Nothing is left of it.
            before.step.doing = Doing::Rests;
            continue;
        }
        if first.onset >= PLAIN || !matches!(before.step.doing, Doing::Holds | Doing::Wrong | Doing::Extra) {
            continue;
        }
        let inside = (before.first + 1..=before.last).filter(|at| {
            segments
                .get(*at)
                .is_some_and(|segment| first.from - segment.from < LATE_PITCH && segment.onset >= PLAIN)
        });
        let onset = |at: &usize| segments.get(*at).map_or(0.0, |segment| segment.onset);
        if let Some(at) = inside.max_by(|a, b| onset(a).total_cmp(&onset(b)).then(b.cmp(a))) {
            group.first = at;
            before.last = at - 1;
        }
    }
}

/// Notes left out and jumps between two notes that were played.
fn goes_from(score: &Score, at: Option<usize>, step: &Step, now: f64, alignment: &mut Alignment) {
    let Some(from) = at else { return };
    let to = step.note;
    if to == from + 1 {
        return;
    }
    let by_page = score
        .page_next
        .get(from)
        .is_some_and(|nexts| nexts.iter().any(|next| usize::try_from(*next) == Ok(to)));
    let mut add = |kind| {
        alignment.jumps.push(Jump {
            at_secs: now,
            from,
            to,
            sounded: alignment.sounded.len(),
            kind,
        });
    };
    if by_page {
        add(JumpKind::Page);
    } else if to <= from {
        add(JumpKind::Back);
    } else if to - from > LEFT_OUT + 1 && !(step.unparted && alike(score, from, to - 1)) {
        add(JumpKind::On);
    } else {
        for missing in from + 1..to {
            let unparted = score
                .line
                .get(missing)
                .zip(score.line.get(missing - 1))
                .is_some_and(|(note, before)| (note.key - before.key).abs() < 0.5);
            let sounds_on = unparted && step.unparted;
            alignment.sounded.push(Sounded {
                was: if sounds_on { Was::Unparted } else { Was::Missing },
                expected: missing,
                onset_secs: now,
                end_secs: now,
                key: None,
                wavers: 0.0,
                level_db: None,
                sure: 0.7,
            });
        }
    }
}

/// Whether all notes from one to another are of one pitch.
fn alike(score: &Score, from: usize, to: usize) -> bool {
    score.line.get(from..=to).is_some_and(|notes| {
        notes
            .windows(2)
            .all(|two| matches!(two, [a, b] if (a.key - b.key).abs() < 0.5))
    })
}

/// One note out of its stretches.
fn sounded(
    was: Was,
    expected: usize,
    key: Option<f64>,
    heard: &[Segment],
    track: &Track,
    tuning: f64,
) -> Sounded {
    let onset = heard.first().map_or(0.0, |segment| segment.from);
    let end = heard
        .iter()
        .rev()
        .find(|segment| segment.sounds())
        .or(heard.last())
        .map_or(onset, |segment| segment.to);
    let first = heard.first().map_or(0, |segment| segment.first);
    let last = heard.last().map_or(first, |segment| segment.last);
    let frames = track.frames.get(first..last).unwrap_or(&[]);
    let pitch = pitch(frames, key.filter(|_| was == Was::Right), tuning);
    let loud = median(
        &mut frames
            .iter()
            .map(|frame| f64::from(frame.level_db))
            .collect::<Vec<_>>(),
    );
    let fits = key.map_or(1.0, |key| weighted(heard, |segment| segment.fits(key)));
    let voiced = weighted(heard, |segment| segment.voiced);
    Sounded {
        was,
        expected,
        onset_secs: onset,
        end_secs: end,
        key: pitch.map(|(key, _)| key),
        wavers: pitch.map_or(0.0, |(_, wavers)| wavers),
        level_db: loud,
        sure: if was == Was::Right {
            fits * voiced.max(0.5)
        } else {
            voiced
        },
    }
}

fn weighted(heard: &[Segment], value: impl Fn(&Segment) -> f64) -> f64 {
    let whole: f64 = heard.iter().map(Segment::secs).sum();
    let sum: f64 = heard.iter().map(|segment| value(segment) * segment.secs()).sum();
    if whole > 0.0 { sum / whole } else { 0.0 }
}

/// The middle of the pitch over a note's steady part and how far it wavers there; near `near` only, where that is known. The
/// beginning and the end are left out as far as the note is long enough: there it settles and fades.
fn pitch(frames: &[crate::Frame], near: Option<f64>, tuning: f64) -> Option<(f64, f64)> {
    let length = real(frames.len());
    let inside = |from: f64, to: f64| {
        frames
            .get(count(length * from)..count(length * to))
            .unwrap_or(frames)
    };
    let steady = if frames.len() >= 12 {
        inside(0.25, 0.85)
    } else {
        frames
    };
    let of = |frames: &[crate::Frame]| -> Vec<f64> {
        let keys = frames.iter().filter_map(|frame| Some(frame.key? - tuning));
        keys.filter(|key| near.is_none_or(|near| (key - near).abs() < SAME))
            .collect()
    };
    let mut keys = of(steady);
    if keys.is_empty() {
        keys = of(frames);
    }
    let middle = median(&mut keys)?;
    let tenth = keys.len() / 10;
    let span = keys
        .get(keys.len() - 1 - tenth)
        .zip(keys.get(tenth))
        .map_or(0.0, |(high, low)| (high - low) / 2.0);
    Some((middle, span))
}

/// Semitones by which the right notes lie beside the page, in the middle: what the estimate of the tuning left.
pub(super) fn mistuned(line: &[Expected], alignment: &Alignment) -> f64 {
    let mut away: Vec<f64> = alignment
        .sounded
        .iter()
        .filter(|note| note.was == Was::Right && note.end_secs - note.onset_secs > 0.08)
        .filter_map(|note| Some(note.key? - line.get(note.expected)?.key))
        .collect();
    if away.len() < 3 {
        return 0.0;
    }
    median(&mut away).unwrap_or(0.0).clamp(-0.6, 0.6)
}
