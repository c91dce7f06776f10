//! How strong is each moment of a bar? Bar, half bar, beat, and what beats divide into: by it values are spelled and beamed.

use notation::{Metre, Quarters, Rational};

/// The strong moments of a full bar.
#[derive(Clone, PartialEq, Debug)]
pub(crate) struct Pulse {
    /// Its length in quarter notes.
    pub full: Quarters,
    /// Where halves or groups begin, the start of the bar left out.
    pub halves: Vec<Quarters>,
    /// Where beats begin, and the end.
    pub beats: Vec<Quarters>,
    /// Beats divide in three.
    pub compound: bool,
}

/// The strength of a downbeat; larger numbers are weaker.
pub(crate) const DOWNBEAT: u8 = 0;
const HALF: u8 = 1;
const BEAT: u8 = 2;
/// Weaker than anything printed.
const NOWHERE: u8 = 12;
/// More beats than this are not told apart: no metre that is played has them.
const MOST_BEATS: i64 = 64;

impl Pulse {
    /// The pulse of a metre; without one a bar of so many quarter notes in quarters.
    pub fn of(metre: Option<&Metre>, length: Quarters) -> Self {
        let Some((metre, full)) = metre.and_then(|metre| Some((metre, metre.length()?))) else {
            return Self::even(length, Rational::ONE, false);
        };
        match metre.simple() {
            Some((beats, unit)) if metre.parts.iter().all(|part| part.groups.len() == 1) => {
                Self::plain(full, beats, unit)
            }
            _ => Self::added(metre, full),
        }
    }

    /// The pulse of a metre whose bars are seen to fall into groups of so many written beats.
    pub fn grouped(metre: Option<&Metre>, groups: &[u16], length: Quarters) -> Self {
        match metre {
            Some(metre) if groups.len() > 1 && metre.parts.len() == 1 => {
                let mut shown = metre.clone();
                if let Some(part) = shown
                    .parts
                    .first_mut()
                    .filter(|part| part.beats() == groups.iter().sum::<u16>())
                {
                    part.groups = groups.to_vec();
                }
                Self::of(Some(&shown), length)
            }
            _ => Self::of(metre, length),
        }
    }

    fn plain(full: Quarters, beats: u16, unit: u16) -> Self {
        let unit_length = Rational::new(4, i64::from(unit.max(1)));
        let compound = beats >= 3 && beats.is_multiple_of(3) && (unit >= 8 || beats > 3);
        let beat = if compound {
            unit_length * Rational::whole(3)
        } else {
            unit_length
        };
        let mut pulse = Self::even(full, beat, compound);
        let count = pulse.beats.len().saturating_sub(1);
        if count == 4 {
            pulse.halves = vec![full / Rational::whole(2)];
        }
        if !compound && unit >= 8 && count >= 4 {
            // Beats of an eighth are too short to beam by: 4/8 falls in two.
            pulse.halves = vec![full / Rational::whole(2)];
            if count % 2 != 0 {
                pulse.halves.clear();
            }
        }
        pulse
    }

    fn even(full: Quarters, beat: Quarters, compound: bool) -> Self {
        let mut beats = Vec::new();
        let mut at = Quarters::ZERO;
        let mut count = 0;
        while at < full && beat.is_positive() && count < MOST_BEATS {
            beats.push(at);
            at += beat;
            count += 1;
        }
        beats.push(full);
        Self {
            full,
            halves: Vec::new(),
            beats,
            compound,
        }
    }

    /// 3+2/8, 2/4+3/8: each group is a beat of its own.
    fn added(metre: &Metre, full: Quarters) -> Self {
        let mut beats = vec![Quarters::ZERO];
        let mut halves = Vec::new();
        let mut at = Quarters::ZERO;
        for part in &metre.parts {
            let unit = Rational::new(4, i64::from(part.beat_type.max(1)));
            for group in part.groups.iter().take(32) {
                let end = at + unit * Rational::whole(i64::from(*group));
                if part.beat_type < 8 {
                    // Quarters are beats, however they are grouped.
                    let mut inner = at + unit;
                    while inner < end && beats.len() < 64 {
                        beats.push(inner);
                        inner += unit;
                    }
                }
                at = end;
                beats.push(at);
                halves.push(at);
            }
        }
        halves.pop();
        beats.retain(|beat| *beat < full);
        beats.push(full);
        Self {
            full,
            halves,
            beats,
            compound: false,
        }
    }

    /// How strong a moment is: 0 the downbeat, 1 a half or group, 2 a beat, from 3 on its divisions.
    pub fn strength(&self, position: Quarters) -> u8 {
        let position = if self.full.is_positive() {
            position.modulo(self.full)
        } else {
            position
        };
        if position.is_zero() {
            return DOWNBEAT;
        }
        if self.halves.contains(&position) {
            return HALF;
        }
        let after = self.beats.partition_point(|beat| *beat <= position);
        let start = self
            .beats
            .get(after.saturating_sub(1))
            .copied()
            .unwrap_or_default();
        let inside = position - start;
        if inside.is_zero() {
            return BEAT;
        }
        let end = self.beats.get(after).copied().unwrap_or(self.full);
        let mut unit = end - start;
        let mut level = BEAT;
        // Three eighths of an uneven metre divide in three as well.
        let three = self.compound || is_dotted(unit);
        while level < NOWHERE {
            unit = if level == BEAT && three {
                unit / Rational::whole(3)
            } else {
                unit / Rational::whole(2)
            };
            level += 1;
            if (inside / unit).is_whole() {
                return level;
            }
        }
        NOWHERE
    }

    /// The beat that a position falls in: its start and end.
    pub fn beat_at(&self, position: Quarters) -> (Quarters, Quarters) {
        let after = self.beats.partition_point(|beat| *beat <= position);
        let start = self
            .beats
            .get(after.saturating_sub(1))
            .copied()
            .unwrap_or_default();
        (start, self.beats.get(after).copied().unwrap_or(self.full))
    }

    /// The length of its first beat.
    pub fn beat(&self) -> Quarters {
        let (start, end) = self.beat_at(Quarters::ZERO);
        end - start
    }

    /// How many beats.
    pub fn count(&self) -> usize {
        self.beats.len().saturating_sub(1)
    }
}

/// True for three times a plain note value.
fn is_dotted(length: Quarters) -> bool {
    length.num() == 3 && length.den().count_ones() == 1
}

#[cfg(test)]
mod tests {
    use super::*;

    fn strengths(metre: &Metre, eighths: i64) -> Vec<u8> {
        let pulse = Pulse::of(Some(metre), Quarters::ZERO);
        (0..eighths)
            .map(|n| pulse.strength(Rational::new(n, 2)))
            .collect()
    }

    #[test]
    fn moments_are_as_strong_as_musicians_feel_them() {
        assert_eq!(strengths(&Metre::new(4, 4), 8), [0, 3, 2, 3, 1, 3, 2, 3]);
        assert_eq!(strengths(&Metre::new(3, 4), 6), [0, 3, 2, 3, 2, 3]);
        assert_eq!(strengths(&Metre::new(6, 8), 6), [0, 3, 3, 2, 3, 3]);
        assert_eq!(strengths(&Metre::new(3, 8), 3), [0, 3, 3]);
        assert_eq!(strengths(&Metre::new(2, 2), 8), [0, 4, 3, 4, 2, 4, 3, 4]);
        let mut seven = Metre::new(0, 8);
        seven.parts[0].groups = vec![2, 2, 3];
        assert_eq!(strengths(&seven, 7), [0, 3, 1, 3, 1, 3, 3]);
    }
}
