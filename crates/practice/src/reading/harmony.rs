//! Which harmony lies under each bar? A plain skeleton that nobody sees: it tells which notes are at home where.

use super::chance::Chance;
use super::form::{Cadence, Phrase};
use super::key::Tone;

/// A chord on a degree of the scale.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Chord {
    /// Degree of its root, the tonic being 0.
    pub(super) root: i32,
    /// With its seventh (the dominant).
    pub(super) seventh: bool,
    /// Its third is raised: the dominant in minor, the dominant of the dominant.
    pub(super) raised: bool,
}

pub(super) const TONIC: Chord = Chord::plain(0);

impl Chord {
    const fn plain(root: i32) -> Self {
        Self {
            root,
            seventh: false,
            raised: false,
        }
    }

    /// True for the dominant of the key.
    pub(super) const fn dominant(self) -> bool {
        self.root == 4
    }

    /// Whether a note belongs to it.
    pub(super) fn has(self, tone: &Tone) -> bool {
        match (tone.degree - self.root).rem_euclid(7) {
            0 | 4 => !tone.raised,
            2 => tone.raised == self.raised,
            6 => self.seventh && !tone.raised,
            _ => false,
        }
    }
}

/// The chords of a key.
#[derive(Clone, Copy, Debug)]
pub(super) struct Chords {
    pub(super) minor: bool,
    /// The dominant of the dominant may come before a half close.
    pub(super) chromatic: bool,
}

impl Chords {
    fn dominant(self) -> Chord {
        Chord {
            root: 4,
            seventh: true,
            raised: self.minor,
        }
    }

    /// The dominant as a goal: without its seventh.
    fn goal(self) -> Chord {
        Chord {
            seventh: false,
            ..self.dominant()
        }
    }

    /// What leads to a dominant.
    fn before_dominant(self, chance: &mut Chance, close: Cadence) -> Chord {
        let of_dominant = Chord {
            root: 1,
            seventh: false,
            raised: true,
        };
        match chance.below(10) {
            // In minor its fifth would be diminished.
            0..=2 if self.chromatic && !self.minor && close == Cadence::Half => of_dominant,
            0..=4 if !self.minor => Chord::plain(1),
            5..=6 if close == Cadence::Half => Chord::plain(0),
            _ => Chord::plain(3),
        }
    }

    /// What may follow a chord inside a phrase. Source: usual progressions of functional harmony (common practice).
    fn after(self, chord: Chord, chance: &mut Chance) -> Chord {
        let shares: &[(i32, f64)] = match (chord.root, self.minor) {
            (0, false) => &[(0, 1.0), (3, 3.0), (4, 3.0), (5, 1.5), (1, 1.0)],
            (0, true) => &[(0, 1.0), (3, 3.0), (4, 3.0), (5, 1.5)],
            (1, _) => &[(4, 4.0)],
            (2, _) => &[(5, 2.0), (3, 2.0)],
            (3, false) => &[(0, 3.0), (4, 3.0), (1, 1.0)],
            (3, true) => &[(0, 3.0), (4, 3.0)],
            (4, _) => &[(0, 4.0), (5, 1.0)],
            (5, false) => &[(3, 2.0), (1, 2.0)],
            (5, true) => &[(3, 3.0), (2, 1.0)],
            _ => &[(0, 1.0), (2, 2.0)],
        };
        let weights: Vec<f64> = shares.iter().map(|(_, share)| *share).collect();
        let root = chance
            .weighted(&weights)
            .and_then(|at| shares.get(at))
            .map_or(0, |(root, _)| *root);
        if root == 4 {
            self.dominant()
        } else {
            Chord::plain(root)
        }
    }

    fn first(self, phrase: &Phrase, chance: &mut Chance) -> Chord {
        if !phrase.away {
            return TONIC;
        }
        let roots: &[i32] = if self.minor { &[2, 2, 5, 3] } else { &[4, 3, 5] };
        match chance.pick(roots) {
            Some(4) => self.dominant(),
            root => Chord::plain(root.unwrap_or(0)),
        }
    }

    /// The chords of a phrase: two halves for each bar. `opening` are those of the phrase whose beginning returns.
    pub(super) fn phrase(
        self,
        phrase: &Phrase,
        opening: &[[Chord; 2]],
        chance: &mut Chance,
    ) -> Vec<[Chord; 2]> {
        let mut bars: Vec<[Chord; 2]> = opening
            .iter()
            .take(phrase.bars.saturating_sub(1))
            .copied()
            .collect();
        while bars.len() + 2 < phrase.bars {
            let chord = match bars.last() {
                Some([_, before]) => self.after(*before, chance),
                None => self.first(phrase, chance),
            };
            bars.push([chord, chord]);
        }
        if bars.len() + 1 < phrase.bars {
            let before = match (bars.is_empty(), phrase.cadence) {
                (true, _) => self.first(phrase, chance),
                (false, close) => self.before_dominant(chance, close),
            };
            let second = match phrase.cadence {
                Cadence::Full => self.dominant(),
                Cadence::Half => before,
            };
            bars.push([before, second]);
        }
        let last = match phrase.cadence {
            Cadence::Full => TONIC,
            Cadence::Half => self.goal(),
        };
        bars.push([last, last]);
        bars
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reading::form;

    #[test]
    fn phrases_close_where_they_should() {
        let chords = Chords {
            minor: true,
            chromatic: false,
        };
        for seed in 0..50 {
            let mut chance = Chance::new(seed);
            for phrase in form::phrases(16, &mut chance) {
                let bars = chords.phrase(&phrase, &[], &mut chance);
                assert_eq!(bars.len(), phrase.bars);
                let last = bars.last().map(|bar| bar[0].root);
                let close = if phrase.cadence == Cadence::Half { 4 } else { 0 };
                assert_eq!(last, Some(close));
            }
        }
    }
}
