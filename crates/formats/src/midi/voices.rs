//! Which notes are one chord, and which are in another voice? Notes of a part sorted into voices that never overlap.

use notation::Quarters;
use std::cmp::Reverse;

/// More voices than a staff can show.
const MOST_VOICES: usize = 8;

/// Notes of one voice that start and end together.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Chord {
    pub start: Quarters,
    pub end: Quarters,
    /// Indexes into the part's notes, lowest key first.
    pub notes: Vec<usize>,
    pub voice: usize,
}

/// A note to be sorted in: start, end, key.
pub(super) type Timed = (Quarters, Quarters, u8);

/// Sorts notes into chords and voices, the highest first; the first voice that is free takes the next chord.
/// Says how many notes were shortened because too many sounded together.
pub(super) fn voices(notes: &[Timed]) -> (Vec<Chord>, u32) {
    let mut order: Vec<usize> = (0..notes.len()).collect();
    let key = |index: &usize| {
        let (start, end, key) = notes.get(*index).copied().unwrap_or_default();
        (start, Reverse(key), Reverse(end))
    };
    order.sort_by_key(key);
    let mut chords: Vec<Chord> = Vec::with_capacity(notes.len());
    let mut shortened = 0;
    // The last chord of each voice.
    let mut last: Vec<usize> = Vec::new();
    let mut from = 0;
    for index in order {
        let Some(&(start, end, _)) = notes.get(index) else {
            continue;
        };
        if chords.get(from).is_none_or(|chord| chord.start != start) {
            from = chords.len();
        }
        let together = chords.get_mut(from..).unwrap_or_default().iter_mut();
        if let Some(chord) = together.into_iter().find(|chord| chord.end == end) {
            chord.notes.insert(0, index);
            continue;
        }
        let ends = |voice: &usize| chords.get(*voice).map_or(Quarters::ZERO, |chord| chord.end);
        let free = last.iter().position(|voice| ends(voice) <= start);
        let voice = match free {
            Some(voice) => voice,
            None if last.len() < MOST_VOICES => {
                last.push(0);
                last.len() - 1
            }
            None => {
                shortened += 1;
                let soonest = (0..last.len()).min_by_key(|voice| last.get(*voice).map(ends));
                let voice = soonest.unwrap_or(0);
                let chord = last.get(voice).and_then(|chord| chords.get_mut(*chord));
                match chord {
                    Some(chord) if chord.start < start => chord.end = start,
                    Some(chord) => {
                        chord.notes.insert(0, index);
                        continue;
                    }
                    None => continue,
                }
                voice
            }
        };
        if let Some(last) = last.get_mut(voice) {
            *last = chords.len();
        }
        chords.push(Chord {
            start,
            end,
            notes: vec![index],
            voice,
        });
    }
    (chords, shortened)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sorted(notes: &[(i64, i64, u8)]) -> Vec<(usize, Vec<u8>)> {
        let q = Quarters::whole;
        let notes: Vec<Timed> = notes.iter().map(|(a, b, key)| (q(*a), q(*b), *key)).collect();
        let (chords, _) = voices(&notes);
        chords
            .into_iter()
            .map(|chord| (chord.voice, chord.notes.iter().map(|n| notes[*n].2).collect()))
            .collect()
    }

    #[test]
    fn chords_and_voices() {
        assert_eq!(sorted(&[(0, 1, 60), (1, 2, 62)]), [(0, vec![60]), (0, vec![62])]);
        assert_eq!(sorted(&[(0, 1, 60), (0, 1, 64)]), [(0, vec![60, 64])]);
        assert_eq!(
            sorted(&[(0, 2, 60), (0, 1, 72), (1, 2, 74)]),
            [(0, vec![72]), (1, vec![60]), (0, vec![74])]
        );
    }
}
