//! What do the partials say? Where a tone rings on into the next, no pitch of the two together can be followed, but the partials of both
//! stand side by side: a note that passed for missing or wrong may be there, one too many may not.
//!
//! The limits are our own, set on 188 takes with a known truth (`reference/check_take.py --dev --takes=200 --seed=5`): there 13 of 13
//! notes wrongly called missing lie over `THERE`, and none of 102 that were.

use super::{Alignment, Sounded, Was, level};
use crate::Track;
use crate::expected::Expected;
use crate::listen::Begins;

/// From here on a note that passed for missing was played: its own partials rise, and stand as high as its neighbours'.
const THERE: Begins = Begins {
    rises: 0.7,
    stands: 0.85,
};
/// The same for one that passed for wrong: another tone was followed in its place, so it takes more.
const THERE_AFTER_ALL: Begins = Begins {
    rises: 0.8,
    stands: 0.9,
};
/// Under both of these a note too many never began.
const NOT_THERE: Begins = Begins {
    rises: 0.45,
    stands: 0.5,
};
/// It is looked for in so many seconds before and after its time …
const BEFORE: f64 = 0.15;
const AFTER: f64 = 0.2;
/// … and no nearer than this after the beginning of the note before.
const NOT_BEFORE: f64 = 0.03;
/// Where something was heard it is looked for so many seconds before and after.
const HEARD_BEFORE: f64 = 0.04;
const HEARD_AFTER: f64 = 0.08;
/// Seconds from look to look.
const EACH: f64 = 0.01;
/// Tones that ended so many seconds before ring no more; those that begin so many after do not reach back.
const RINGS: f64 = 1.0;
const REACHES: f64 = 0.4;
/// Its beginning is the first moment that says so much of what the plainest says.
const FIRST: f64 = 0.85;
/// A note that was played lasts so many seconds at least before the next begins.
const ROOM_SECS: f64 = 0.03;
/// It is heard for so many seconds, if the next begins no sooner.
const LASTS: f64 = 0.1;
/// Pitches nearer than this cannot be told apart by their partials.
const ALIKE: f64 = 0.5;

/// Looks again at what was judged missing, wrong or too many.
pub(super) fn heard_apart(line: &[Expected], track: &Track, alignment: &mut Alignment) {
    let mut never: Vec<usize> = Vec::new();
    for index in 0..alignment.sounded.len() {
        let Some(note) = alignment.sounded.get(index) else {
            continue;
        };
        let Some((secs, begins)) = evidence(line, track, alignment, index) else {
            continue;
        };
        let was = note.was;
        let enough = |than: Begins| begins.rises >= than.rises && begins.stands >= than.stands;
        let there = match was {
            Was::Missing => enough(THERE),
            Was::Wrong => {
                enough(THERE_AFTER_ALL)
                    && rival(line, track, alignment, index)
                        .is_none_or(|rival| rival < begins.rises.min(begins.stands))
            }
            Was::Extra => {
                if begins.rises < NOT_THERE.rises && begins.stands < NOT_THERE.stands {
                    never.push(index);
                }
                false
            }
            Was::Right | Was::Unparted => false,
        };
        if there {
            // In the order of time, wherever its partials were plainest.
            let before = index
                .checked_sub(1)
                .and_then(|before| alignment.sounded.get(before));
            let after = alignment.sounded.iter().skip(index + 1).find(|note| sounds(note));
            let secs = secs.max(before.map_or(0.0, |note| note.onset_secs));
            let until = after.map_or(secs, |note| note.onset_secs);
            let secs = secs.min(until);
            if was == Was::Missing && !has_time(track, secs, until) {
                continue;
            }
            if let Some(note) = alignment.sounded.get_mut(index) {
                if was == Was::Missing {
                    (note.onset_secs, note.end_secs) = (secs, until);
                }
                (note.was, note.key, note.sure) = (Was::Right, None, begins.rises.min(begins.stands) / 2.0);
            }
        }
    }
    for index in never.into_iter().rev() {
        alignment.sounded.remove(index);
        for jump in &mut alignment.jumps {
            if jump.sounded > index {
                jump.sounded -= 1;
            }
        }
    }
}

/// Whether something sounds between a note's beginning and the next: beside a click, or with the attack of the next, partials rise, too.
fn has_time(track: &Track, secs: f64, until: f64) -> bool {
    until - secs >= ROOM_SECS && level::sounds(track, secs, until.min(secs + LASTS))
}

fn sounds(note: &Sounded) -> bool {
    matches!(note.was, Was::Right | Was::Wrong | Was::Extra)
}

/// What is heard of a note in partials of its own, and when; nothing where a neighbour has the same pitch.
fn evidence(line: &[Expected], track: &Track, alignment: &Alignment, index: usize) -> Option<(f64, Begins)> {
    let note = alignment.sounded.get(index)?;
    let written = |note: &Sounded| line.get(note.expected).map(|note| note.key + alignment.tuning);
    let heard = |note: &Sounded| note.key.map(|key| key + alignment.tuning);
    let of = |note: &Sounded| {
        if note.was == Was::Right {
            written(note)
        } else {
            heard(note)
        }
    };
    let before = alignment
        .sounded
        .get(..index)?
        .iter()
        .rev()
        .find(|note| sounds(note));
    let after = alignment
        .sounded
        .get(index + 1..)?
        .iter()
        .find(|note| sounds(note));
    let (key, own) = match note.was {
        Was::Missing => (written(note)?, None),
        Was::Wrong => (written(note)?, heard(note)),
        Was::Extra => (heard(note)?, None),
        Was::Right | Was::Unparted => return None,
    };
    let others: Vec<f64> = before
        .filter(|before| note.onset_secs - before.end_secs < RINGS)
        .and_then(of)
        .into_iter()
        .chain(
            after
                .filter(|after| after.onset_secs - note.onset_secs < REACHES)
                .and_then(of),
        )
        .chain(own)
        .collect();
    if others.iter().any(|other| (other - key).abs() < ALIKE) {
        return None;
    }
    let (from, to) = if note.was == Was::Missing {
        let earliest = before.map_or(0.0, |before| before.onset_secs + NOT_BEFORE);
        let latest = after.map_or(f64::INFINITY, |after| after.onset_secs + HEARD_AFTER);
        (
            (note.onset_secs - BEFORE).max(earliest),
            (note.onset_secs + AFTER).min(latest),
        )
    } else {
        (note.onset_secs - HEARD_BEFORE, note.onset_secs + HEARD_AFTER)
    };
    looked_for(track, key, &others, (from, to))
}

/// How plainly the other pitch that was followed in a wrong note's place begins there.
fn rival(line: &[Expected], track: &Track, alignment: &Alignment, index: usize) -> Option<f64> {
    let note = alignment.sounded.get(index)?;
    let written = |note: &Sounded| line.get(note.expected).map(|note| note.key + alignment.tuning);
    let heard = note.key? + alignment.tuning;
    let others: Vec<f64> = [index.checked_sub(1), Some(index + 1)]
        .into_iter()
        .flatten()
        .filter_map(|n| alignment.sounded.get(n))
        .filter(|note| note.was == Was::Right)
        .chain([note])
        .filter_map(written)
        .collect();
    let span = (note.onset_secs - HEARD_BEFORE, note.onset_secs + HEARD_AFTER);
    looked_for(track, heard, &others, span).map(|(_, begins)| begins.rises.min(begins.stands))
}

/// The plainest beginning of a pitch in a span of time, and the first moment that is nearly as plain.
fn looked_for(track: &Track, key: f64, others: &[f64], (from, to): (f64, f64)) -> Option<(f64, Begins)> {
    let mut looks: Vec<(f64, Begins)> = Vec::new();
    let mut secs = from;
    while secs <= to {
        looks.extend(
            track
                .partials
                .begins(key, others, secs)
                .map(|begins| (secs, begins)),
        );
        secs += EACH;
    }
    let plain = |look: &(f64, Begins)| look.1.rises.min(look.1.stands);
    let most = looks.iter().max_by(|a, b| plain(a).total_cmp(&plain(b)))?.1;
    let first = looks
        .iter()
        .find(|look| plain(look) >= FIRST * most.rises.min(most.stands))?;
    Some((first.0, most))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::align::tests::heard;

    #[test]
    fn a_note_needs_a_time_of_its_own_in_which_something_sounds() {
        let (track, _) = heard(&[(0.5, 1.0, 60.0), (2.0, 2.5, 62.0)]);
        assert!(has_time(&track, 0.5, 2.0), "it sounds, however short of the next");
        assert!(!has_time(&track, 1.2, 2.0), "silence");
        assert!(!has_time(&track, 2.0, 2.0), "it begins with the next");
    }
}
