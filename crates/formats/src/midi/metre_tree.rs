//! How does a bar divide into beats, and which divisions must the eye find? The tree of a metre.

use super::quantise::is_compound;
use notation::{Quarters, Rational};

/// A stretch of a bar that notation keeps visible: the bar, its beats, their halves.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Node {
    pub start: Quarters,
    pub length: Quarters,
    kind: Kind,
}

#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Kind {
    /// A bar of so many beats of so many units.
    Beats { beats: u8, compound: bool },
    /// Halved and halved again.
    Binary,
    /// A compound beat: three units.
    Ternary,
}

/// Nothing shorter is divided.
const SMALLEST: Quarters = Quarters::ONE;

impl Node {
    /// A bar of a metre.
    pub(super) fn bar(beats: u8, beat_type: u16) -> Self {
        let length = Rational::new(i64::from(beats) * 4, i64::from(beat_type));
        let compound = is_compound(beats, beat_type) || (matches!(beats, 6 | 9 | 12) && beat_type == 4);
        let kind = match (beats, compound) {
            (1, _) => Kind::Binary,
            (3, _) if beat_type >= 8 => Kind::Ternary,
            _ => Kind::Beats {
                beats: if compound { beats / 3 } else { beats },
                compound,
            },
        };
        Self {
            start: Quarters::ZERO,
            length,
            kind,
        }
    }

    pub(super) fn end(&self) -> Quarters {
        self.start + self.length
    }

    /// True if its parts are compound beats, whose middle a note must not hide.
    pub(super) fn of_compound_beats(&self) -> bool {
        matches!(self.kind, Kind::Beats { compound: true, .. })
    }

    pub(super) fn is_ternary_beat(&self) -> bool {
        self.kind == Kind::Ternary
    }

    /// Two halves, three units, or the beats of a bar; none for what is too short to divide.
    pub(super) fn children(&self) -> Vec<Self> {
        match self.kind {
            Kind::Binary => {
                if self.length * Rational::whole(128) <= SMALLEST {
                    return Vec::new();
                }
                self.split(&[1, 1], 2, |_| Kind::Binary)
            }
            Kind::Ternary => self.split(&[1, 1, 1], 3, |_| Kind::Binary),
            Kind::Beats { beats, compound } => {
                let groups = groups(beats);
                self.split(&groups, i64::from(beats), |beats| match (beats, compound) {
                    (1, true) => Kind::Ternary,
                    (1, false) => Kind::Binary,
                    _ => Kind::Beats { beats, compound },
                })
            }
        }
    }

    fn split(&self, groups: &[u8], of: i64, kind: impl Fn(u8) -> Kind) -> Vec<Self> {
        let mut start = self.start;
        let unit = self.length / Rational::whole(of);
        let mut children = Vec::with_capacity(groups.len());
        for beats in groups {
            let length = unit * Rational::whole(i64::from(*beats));
            children.push(Self {
                start,
                length,
                kind: kind(*beats),
            });
            start += length;
        }
        children
    }
}

/// How beats group in a bar. Source: common practice: four as two and two, five as three and two, seven as two, two and
/// three; a file can't say otherwise.
fn groups(beats: u8) -> Vec<u8> {
    match beats {
        2 => vec![1, 1],
        3 => vec![1, 1, 1],
        4 => vec![2, 2],
        5 => vec![3, 2],
        7 => vec![2, 2, 3],
        8 => vec![4, 4],
        n if n % 2 == 1 => {
            let mut groups = vec![2; usize::from(n / 2 - 1)];
            groups.push(3);
            groups
        }
        n => vec![2; usize::from(n / 2)],
    }
}
