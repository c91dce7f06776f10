//! Where do the beats of a bar fall? The grid on which rhythm is read, counted and pencilled.

use super::unit::BeatUnit;
use notation::{BarIndex, Quarters, Rational};

/// One counted beat.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct Beat {
    /// The number that is counted aloud, from 1.
    pub number: u16,
    /// Where it starts, in quarter notes from the start of the full bar.
    pub start: Quarters,
    /// How long it lasts, in quarter notes.
    pub length: Quarters,
    /// Into how many it divides: 2, or 3 for a dotted beat.
    pub division: u8,
    /// 0 for the downbeat, 1 for the start of a group or the middle of the bar, 2 for the others.
    pub accent: u8,
}

impl Beat {
    /// Where it ends.
    #[must_use]
    pub fn end(&self) -> Quarters {
        self.start + self.length
    }
}

/// A group of written beats that the bar falls into first (2+2+3 of 7/8; one group for a plain metre).
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct Group {
    /// Where it starts, in quarter notes from the start of the full bar.
    pub start: Quarters,
    /// How many written beats (the lower number) it holds.
    pub units: u16,
    /// The length of one, in quarter notes.
    pub unit: Quarters,
}

impl Group {
    /// Its length in quarter notes.
    #[must_use]
    pub fn length(&self) -> Quarters {
        self.unit * Rational::whole(i64::from(self.units))
    }
}

/// The grid of one bar. Positions are counted from the start of the *full* bar: a pickup starts at [`Self::lead`].
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct BeatGrid {
    /// The bar.
    pub bar: BarIndex,
    /// The length that the metre asks for, in quarter notes; the actual length without a metre.
    pub full: Quarters,
    /// Where the bar's first moment stands in the full bar: 0 but for pickups and second halves of split bars.
    pub lead: Quarters,
    /// The bar's actual length, in quarter notes.
    pub actual: Quarters,
    /// The beats as they are felt at tempo, over the whole full bar (and beyond it where the bar is longer).
    pub felt: Vec<Beat>,
    /// The beats as they are counted in a slow first reading: the written beat; the eighths of 6/8, the quarters of ¢.
    pub slow: Vec<Beat>,
    /// What the bar falls into before it falls into beats.
    pub groups: Vec<Group>,
    /// False without metre: nothing to count.
    pub counted: bool,
    /// The note of the felt beat (of the shortest one where they are unequal).
    pub unit: Option<BeatUnit>,
}

impl BeatGrid {
    /// The position in the full bar of an offset in the bar.
    #[must_use]
    pub fn position(&self, offset: Quarters) -> Quarters {
        offset + self.lead
    }

    /// The offset in the bar of a position in the full bar.
    #[must_use]
    pub fn offset(&self, position: Quarters) -> Quarters {
        position - self.lead
    }

    /// Where the bar ends, as a position in the full bar.
    #[must_use]
    pub fn end(&self) -> Quarters {
        self.lead + self.actual
    }

    /// The felt beats that fall, wholly or in part, inside the bar.
    #[must_use]
    pub fn beats(&self) -> &[Beat] {
        self.inside(&self.felt)
    }

    /// The felt beat at an offset in the bar, as it is said: 2 on the second beat, 2.5 half way through it. Where no beat is
    /// felt, quarter notes from 1.
    #[must_use]
    pub fn said_beat(&self, offset: Quarters) -> f64 {
        let position = self.position(offset);
        let beat = self.felt.iter().rev().find(|beat| beat.start <= position);
        match beat
            .or(self.felt.first())
            .filter(|beat| beat.length.is_positive())
        {
            Some(beat) => f64::from(beat.number) + ((position - beat.start) / beat.length).to_f64(),
            None => 1.0 + offset.to_f64(),
        }
    }

    /// The slow beats that fall, wholly or in part, inside the bar.
    #[must_use]
    pub fn slow_beats(&self) -> &[Beat] {
        self.inside(&self.slow)
    }

    /// Where the written beats (the lower number of the metre) start, as offsets in the bar, in quarter notes.
    #[must_use]
    pub fn written_beats(&self) -> Vec<Quarters> {
        let mut starts = Vec::new();
        for group in &self.groups {
            for n in 0..group.units {
                let offset = self.offset(group.start + group.unit * Rational::whole(i64::from(n)));
                if !offset.is_negative() && offset < self.actual {
                    starts.push(offset);
                }
            }
        }
        starts
    }

    /// The felt beat that a position in the full bar falls in.
    #[must_use]
    pub fn beat_at(&self, position: Quarters) -> Option<&Beat> {
        let after = self.felt.partition_point(|beat| beat.start <= position);
        after
            .checked_sub(1)
            .and_then(|at| self.felt.get(at))
            .filter(|beat| position < beat.end())
    }

    fn inside<'a>(&self, beats: &'a [Beat]) -> &'a [Beat] {
        let first = beats.partition_point(|beat| beat.end() <= self.lead);
        let last = beats.partition_point(|beat| beat.start < self.end());
        beats.get(first..last.max(first)).unwrap_or(&[])
    }
}

/// Lays beats of given lengths and divisions end to end until a position is reached, counting on past the full bar.
pub(super) fn lay_beats(lengths: &[(Quarters, u8)], groups: &[Group], until: Quarters) -> Vec<Beat> {
    let mut beats: Vec<Beat> = Vec::with_capacity(lengths.len());
    let mut start = Quarters::ZERO;
    let last = lengths.last().copied();
    let mut given = lengths.iter().copied();
    while let Some((length, division)) = given.next().or_else(|| last.filter(|_| start < until)) {
        // A bar hundreds of beats long is not counted on: the numbers would mean nothing.
        if !length.is_positive() || beats.len() >= 400 {
            break;
        }
        let number = u16::try_from(beats.len() + 1).unwrap_or(u16::MAX);
        beats.push(Beat {
            number,
            start,
            length,
            division,
            accent: 2,
        });
        start += length;
    }
    accent(&mut beats, lengths.len(), groups);
    beats
}

fn accent(beats: &mut [Beat], in_bar: usize, groups: &[Group]) {
    let half = (in_bar >= 4 && in_bar.is_multiple_of(2) && groups.len() == 1).then_some(in_bar / 2);
    // Six eighths lean on the first and the fourth.
    let threes = |at: usize| in_bar > 3 && in_bar.is_multiple_of(3) && at.is_multiple_of(3);
    for (at, beat) in beats.iter_mut().enumerate() {
        let group_start = groups
            .binary_search_by(|group| group.start.cmp(&beat.start))
            .is_ok();
        beat.accent = match at {
            0 => 0,
            _ if group_start && groups.len() > 1 => 1,
            _ if groups.len() == 1 && (threes(at) || half == Some(at) && !in_bar.is_multiple_of(3)) => 1,
            _ => 2,
        };
    }
}
