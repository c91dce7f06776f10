//! How does the bar move? Beats, groups and strong places of a metre, on a grid fine enough for sixteenths and triplets.

use notation::{Metre, MetreSymbol, Quarters};

/// Twenty-fourths of a quarter note: exact for sixteenths (6) and eighth-note triplets (8).
pub(super) type Ticks = i32;

/// A quarter note.
pub(super) const QUARTER: Ticks = 24;

/// What a beat is.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum BeatKind {
    /// A quarter note.
    Quarter,
    /// A half note.
    Half,
    /// A dotted quarter.
    Dotted,
}

impl BeatKind {
    pub(super) const fn length(self) -> Ticks {
        match self {
            Self::Quarter => 24,
            Self::Half => 48,
            Self::Dotted => 36,
        }
    }
}

/// A metre in which pieces are composed.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Measure {
    /// Upper number.
    pub beats: u16,
    /// Lower number.
    pub beat_type: u16,
    kinds: Vec<BeatKind>,
    /// Beats, by index, at which a group begins.
    groups: Vec<usize>,
}

/// The metres that are composed in.
const KNOWN: [(u16, u16); 14] = [
    (2, 4),
    (3, 4),
    (4, 4),
    (6, 8),
    (2, 2),
    (3, 8),
    (9, 8),
    (12, 8),
    (5, 4),
    (7, 4),
    (3, 2),
    (4, 2),
    (5, 8),
    (7, 8),
];

impl Measure {
    /// A metre; `None` if it is none of those composed in.
    #[must_use]
    pub fn new(beats: u16, beat_type: u16) -> Option<Self> {
        use BeatKind::{Dotted, Half, Quarter};
        let (kinds, groups) = match (beats, beat_type) {
            (2, 4) => (vec![Quarter; 2], vec![0]),
            (3, 4) => (vec![Quarter; 3], vec![0]),
            (4, 4) => (vec![Quarter; 4], vec![0, 2]),
            (5, 4) => (vec![Quarter; 5], vec![0, 3]),
            (7, 4) => (vec![Quarter; 7], vec![0, 2, 4]),
            (2, 2) => (vec![Half; 2], vec![0]),
            (3, 2) => (vec![Half; 3], vec![0]),
            (4, 2) => (vec![Half; 4], vec![0, 2]),
            (3, 8) => (vec![Dotted], vec![0]),
            (6, 8) => (vec![Dotted; 2], vec![0]),
            (9, 8) => (vec![Dotted; 3], vec![0]),
            (12, 8) => (vec![Dotted; 4], vec![0, 2]),
            (5, 8) => (vec![Dotted, Quarter], vec![0]),
            (7, 8) => (vec![Quarter, Quarter, Dotted], vec![0]),
            _ => return None,
        };
        Some(Self {
            beats,
            beat_type,
            kinds,
            groups,
        })
    }

    /// The metre as printed: `6/8`, also `C` and `¢`.
    #[must_use]
    pub fn parse(text: &str) -> Option<Self> {
        match text.trim() {
            "C" => return Self::new(4, 4),
            "¢" => return Self::new(2, 2),
            _ => {}
        }
        let (beats, beat_type) = text.trim().split_once('/')?;
        Self::new(beats.trim().parse().ok()?, beat_type.trim().parse().ok()?)
    }

    /// All of them, as printed, commonest first.
    #[must_use]
    pub fn known() -> Vec<String> {
        KNOWN
            .iter()
            .map(|(beats, beat_type)| format!("{beats}/{beat_type}"))
            .collect()
    }

    /// `6/8`.
    #[must_use]
    pub fn name(&self) -> String {
        format!("{}/{}", self.beats, self.beat_type)
    }

    /// As it is written.
    #[must_use]
    pub fn metre(&self) -> Metre {
        let mut metre = Metre::new(self.beats, self.beat_type);
        if (self.beats, self.beat_type) == (2, 2) {
            metre.symbol = MetreSymbol::Cut;
        }
        metre
    }

    /// True where the beat has three parts.
    #[must_use]
    pub fn compound(&self) -> bool {
        self.kinds.iter().all(|kind| *kind == BeatKind::Dotted)
    }

    /// True where beats are of two lengths.
    pub(super) fn uneven(&self) -> bool {
        self.kinds.iter().any(|kind| Some(kind) != self.kinds.first())
    }

    pub(super) fn kinds(&self) -> &[BeatKind] {
        &self.kinds
    }

    pub(super) fn length(&self) -> Ticks {
        self.kinds.iter().map(|kind| kind.length()).sum()
    }

    /// Where a beat starts.
    pub(super) fn start(&self, beat: usize) -> Ticks {
        self.kinds.iter().take(beat).map(|kind| kind.length()).sum()
    }

    /// Where the second half of the bar's harmony begins: the start of a group or, in a bar without groups, its last beat.
    pub(super) fn middle(&self) -> Ticks {
        let beat = match self.groups.as_slice() {
            [_, .., last] => *last,
            _ => self.kinds.len().saturating_sub(1).max(1),
        };
        self.start(beat)
    }

    /// Whether a value of so many beats may begin at a beat without hiding a stronger one.
    pub(super) fn may_hold(&self, beat: usize, beats: usize) -> bool {
        let end = beat + beats;
        let same = self.kinds.get(beat..end.min(self.kinds.len()));
        let whole = same.is_some_and(|kinds| kinds.len() == beats && kinds.windows(2).all(|k| k[0] == k[1]));
        whole
            && (beats == 1
                || self.groups.contains(&beat)
                || !self.groups.iter().any(|group| (beat + 1..end).contains(group)))
            // The third of three beats is not tied to what follows, and the second of four stays alone.
            && (beats != 2 || self.group_of(beat).is_none_or(|(from, size)| size != 4 || (beat - from).is_multiple_of(2)))
    }

    /// First beat and size of the group that a beat lies in.
    fn group_of(&self, beat: usize) -> Option<(usize, usize)> {
        let at = self.groups.iter().rposition(|group| *group <= beat)?;
        let from = *self.groups.get(at)?;
        let end = self.groups.get(at + 1).copied().unwrap_or(self.kinds.len());
        Some((from, end - from))
    }

    /// How strong a place is: 4 downbeat, 3 group, 2 beat, 1 half or third of a beat, 0 between.
    pub(super) fn strength(&self, at: Ticks) -> u8 {
        if at == 0 {
            return 4;
        }
        let mut start = 0;
        for (beat, kind) in self.kinds.iter().enumerate() {
            if at == start {
                return if self.groups.contains(&beat) { 3 } else { 2 };
            }
            let end = start + kind.length();
            if at < end {
                let part = match kind {
                    BeatKind::Quarter | BeatKind::Dotted => 12,
                    BeatKind::Half => 24,
                };
                return u8::from((at - start) % part == 0);
            }
            start = end;
        }
        0
    }

    /// The beat that a place lies in: where it starts and ends.
    pub(super) fn beat_at(&self, at: Ticks) -> (Ticks, Ticks) {
        let mut start = 0;
        for kind in &self.kinds {
            let end = start + kind.length();
            if at < end {
                return (start, end);
            }
            start = end;
        }
        (at, start.max(at))
    }
}

/// Ticks as quarter notes.
pub(super) fn quarters(ticks: Ticks) -> Quarters {
    Quarters::new(i64::from(ticks), i64::from(QUARTER))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bars_are_as_long_as_their_metre_and_downbeats_strongest() {
        for name in Measure::known() {
            let measure = Measure::parse(&name).expect("known");
            assert_eq!(
                Some(quarters(measure.length())),
                measure.metre().length(),
                "{name}"
            );
            assert_eq!(measure.strength(0), 4);
            assert!((1..measure.length()).all(|at| measure.strength(at) < 4));
        }
    }

    #[test]
    fn long_values_keep_the_middle_of_the_bar_clear() {
        let four = Measure::new(4, 4).expect("4/4");
        assert_eq!(
            (0..3).map(|beat| four.may_hold(beat, 2)).collect::<Vec<_>>(),
            [true, false, true]
        );
        let three = Measure::new(3, 4).expect("3/4");
        assert!(three.may_hold(0, 2) && three.may_hold(1, 2) && three.may_hold(0, 3));
        assert!(!three.may_hold(2, 2));
        let seven = Measure::new(7, 8).expect("7/8");
        assert!(seven.may_hold(0, 2) && !seven.may_hold(1, 2));
    }
}
