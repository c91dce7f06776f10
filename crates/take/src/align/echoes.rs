//! Which notes too many only ring on? What is far softer than the notes, or than the tone before it.
//!
//! The limits are our own, looked at on takes with a known truth (`reference/check_take.py --dev`): of 259 notes too many that were played
//! none lay more than 8 decibels under the tone before it.

use super::pulse::median;
use super::{Alignment, Sounded, Was};

/// So many decibels under the notes nothing is a note too many …
const ECHO_DB: f64 = 16.0;
/// … nor so many under the tone before it, …
const UNDER_DB: f64 = 9.0;
/// … or so many if it has its pitch, …
const SAME_UNDER_DB: f64 = 4.0;
/// … to so many semitones, …
const SAME: f64 = 0.6;
/// … and that ended no more than so many seconds before.
const RINGS_SECS: f64 = 1.2;

/// Takes back notes too many that only ring on in the room.
pub(super) fn without(alignment: &mut Alignment) {
    let right = alignment.sounded.iter().filter(|note| note.was == Was::Right);
    let Some(usual) = median(&mut right.filter_map(|note| note.level_db).collect::<Vec<_>>()) else {
        return;
    };
    let mut index = 0;
    let mut gone = Vec::new();
    let mut before: Option<Sounded> = None;
    alignment.sounded.retain(|note| {
        let soft = note.level_db.is_some_and(|level| level < usual - ECHO_DB);
        let rings = before.as_ref().is_some_and(|before| rings_on(before, note));
        let echo = note.was == Was::Extra && (soft || rings);
        if echo {
            gone.push(index);
        } else if note.level_db.is_some() {
            before = Some(note.clone());
        }
        index += 1;
        !echo
    });
    for jump in &mut alignment.jumps {
        jump.sounded -= gone.iter().filter(|at| **at < jump.sounded).count();
    }
}

/// Whether a tone is so soft beside the one before it that it is that one, ringing on.
fn rings_on(before: &Sounded, note: &Sounded) -> bool {
    let levels = before.level_db.zip(note.level_db);
    let under = levels.map_or(0.0, |(before, note)| before - note);
    let keys = before.key.zip(note.key);
    let same = keys.is_some_and(|(before, note)| (before - note).abs() < SAME);
    note.onset_secs - before.end_secs < RINGS_SECS && under > if same { SAME_UNDER_DB } else { UNDER_DB }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The second tone, so many decibels under the first, of another pitch by so many semitones, so many seconds after it.
    fn second(under: f64, step: f64, after: f64) -> usize {
        let note = |was, from: f64, key, level| Sounded {
            was,
            expected: 0,
            onset_secs: from,
            end_secs: from + 0.4,
            key: Some(key),
            wavers: 0.0,
            level_db: Some(level),
            sure: 1.0,
        };
        let mut alignment = Alignment {
            sounded: vec![
                note(Was::Right, 1.0, 60.0, -20.0),
                note(Was::Extra, 1.4 + after, 60.0 + step, -20.0 - under),
            ],
            ..Alignment::default()
        };
        without(&mut alignment);
        alignment.sounded.len()
    }

    #[test]
    fn what_is_much_softer_than_the_tone_before_rings_on() {
        assert_eq!(second(10.0, 2.0, 0.0), 1);
        assert_eq!(second(8.0, 2.0, 0.0), 2);
        assert_eq!(second(10.0, 2.0, 1.5), 2, "long after it");
    }

    #[test]
    fn what_has_the_pitch_before_it_needs_less() {
        assert_eq!(second(5.0, 0.1, 0.0), 1);
        assert_eq!(second(3.0, 0.1, 0.0), 2);
    }
}
