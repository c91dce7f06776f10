//! How long is each note written? Key-up times taken for note values; what is a rest, and what only a gap of the touch.
//!
//! Two cases, told apart in each part. Where nine of ten notes end on exact subdivisions, ends are taken at their word.
//! Otherwise they were played, or shortened by a program:
//! - a gap before the next note shorter than a quarter of the way to it belongs to the note (no staccato is invented);
//! - an overlap of less than an eighth of a quarter note is legato, and ends where the next note starts;
//! - any other end goes to the nearest place of its beat's grid, at least one step after the start.
//!
//! common practice for the idea; the numbers are ours.

use super::bars::{Clock, GridBar, bar_of};
use super::quantise::{DIVISIONS, Onsets, beat_of, lead};
use super::take::Note;
use notation::{Quarters, Rational};

/// What was done to the ends of one part's notes.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub(super) struct EndsReport {
    /// Ends were taken as they are.
    pub exact: bool,
    /// Gaps given to the note before.
    pub gaps: u32,
    /// Overlaps cut.
    pub overlaps: u32,
}

/// For each note of a part where it ends, in quarter notes from the start of the piece.
pub(super) fn ends(
    notes: &[Note],
    onsets: &Onsets,
    bars: &[GridBar],
    clock: Clock,
) -> (Vec<Quarters>, EndsReport) {
    let mut starts: Vec<Quarters> = onsets.starts.clone();
    starts.sort_unstable();
    starts.dedup();
    let ends = Ends {
        onsets,
        starts,
        bars,
        clock,
        tick: Rational::ONE / clock.per_quarter,
    };
    let near: Vec<Option<Quarters>> = notes.iter().map(|note| ends.as_stated(note)).collect();
    let stated = near.iter().filter(|end| end.is_some()).count();
    let mut report = EndsReport {
        exact: stated * 10 >= notes.len() * 9,
        ..EndsReport::default()
    };
    let mut written = Vec::with_capacity(notes.len());
    for ((note, start), near) in notes.iter().zip(&onsets.starts).zip(near) {
        let stated = if report.exact {
            near.or_else(|| ends.on_any_grid(note))
        } else {
            None
        };
        let end = match stated {
            Some(end) if end > *start => end,
            _ => ends.as_played(note, *start, &mut report),
        };
        let last = bars.last().map_or(end, GridBar::end);
        written.push(end.min(last).max(*start));
    }
    (written, report)
}

struct Ends<'a> {
    onsets: &'a Onsets,
    starts: Vec<Quarters>,
    bars: &'a [GridBar],
    clock: Clock,
    tick: Rational,
}

impl Ends<'_> {
    /// The end on the written time line, not yet on any grid, and the beat in which it lies.
    fn raw(&self, tick: u64) -> Raw {
        // An end on a bar line belongs to the bar before it.
        let bar = bar_of(self.bars, tick.saturating_sub(1));
        let Some(of) = self.bars.get(bar) else {
            return Raw::default();
        };
        let offset = self.clock.quarters(tick.saturating_sub(of.tick)).min(of.length);
        let length = beat_of(of);
        let beat = ((offset + lead(self.bars, bar)) / length).floor();
        let grid = |(bar, beat): (usize, i64)| {
            let beat = usize::try_from(beat).ok()?;
            self.onsets.grids.get(&(bar, beat)).copied()
        };
        let beside = [self.beat_before(bar, beat), self.beat_after(bar, beat)];
        Raw {
            end: of.start + offset,
            from: of.start + length * Rational::whole(beat) - lead(self.bars, bar),
            length,
            grid: grid((bar, beat)).unwrap_or(1),
            beside: beside.map(|place| place.and_then(grid).unwrap_or(1)),
        }
    }

    /// The first and the last beat of a bar: a bar may begin late in its metre, and end within a beat.
    fn beats(&self, bar: usize) -> Option<(i64, i64)> {
        let of = self.bars.get(bar)?;
        let (length, lead) = (beat_of(of), lead(self.bars, bar));
        let end = Rational::ZERO - (of.length + lead) / length;
        Some(((lead / length).floor(), -end.floor() - 1))
    }

    /// The beat before one, over the bar line too.
    fn beat_before(&self, bar: usize, beat: i64) -> Option<(usize, i64)> {
        if beat > self.beats(bar)?.0 {
            return Some((bar, beat - 1));
        }
        let bar = bar.checked_sub(1)?;
        Some((bar, self.beats(bar)?.1))
    }

    /// The beat after one, over the bar line too: in seven-eight a triplet of a quarter may begin on the last eighth.
    fn beat_after(&self, bar: usize, beat: i64) -> Option<(usize, i64)> {
        if beat < self.beats(bar)?.1 {
            return Some((bar, beat + 1));
        }
        Some((bar + 1, self.beats(bar + 1)?.0))
    }

    /// The end if it lies on a subdivision that a page would show, but for rounding to ticks.
    fn as_stated(&self, note: &Note) -> Option<Quarters> {
        let raw = self.raw(note.off);
        let (end, grid) = (raw.end, raw.grid);
        let close =
            |place: Quarters| (place - end).abs() * Rational::whole(10) <= self.tick * Rational::whole(6);
        let at = self.starts.partition_point(|start| *start < end);
        let near = self
            .starts
            .get(at.saturating_sub(1)..(at + 1).min(self.starts.len()));
        if let Some(start) = near.unwrap_or_default().iter().find(|start| close(**start)) {
            return Some(*start);
        }
        // The grids of the beat and those beside it, and what needs no evidence: halves down to sixteenth parts, thirds of
        // compound beats.
        let [before, after] = raw.beside;
        let shown = [grid, grid * 2, before, after];
        [1, 2, 4, 8, 16, 3, 6, 12]
            .into_iter()
            .filter(|parts| {
                let plain = raw.length / Rational::whole(*parts);
                plain.den() & (plain.den() - 1) == 0
            })
            .chain(shown)
            .map(|parts| raw.nearest(parts))
            .find(|place| close(*place))
    }

    /// The end on the simplest division of its beat, whatever the grid of the notes around it.
    fn on_any_grid(&self, note: &Note) -> Option<Quarters> {
        let raw = self.raw(note.off);
        DIVISIONS
            .iter()
            .map(|(parts, _)| raw.nearest(*parts))
            .find(|place| (*place - raw.end).abs() * Rational::whole(10) <= self.tick * Rational::whole(6))
    }

    /// The end by the rules for played notes.
    fn as_played(&self, note: &Note, start: Quarters, report: &mut EndsReport) -> Quarters {
        let raw = self.raw(note.off);
        let end = raw.end;
        let over = Rational::new(1, 8);
        let first = self
            .starts
            .partition_point(|next| *next <= start || *next < end - over);
        if let Some(next) = self.starts.get(first) {
            let gap = *next - end;
            if gap.is_negative() {
                report.overlaps += 1;
                return *next;
            }
            if gap * Rational::whole(4) < *next - start {
                report.gaps += u32::from(gap.is_positive());
                return *next;
            }
        }
        let parts = raw.grid.max(2);
        let place = raw.nearest(parts);
        if place > start {
            place
        } else {
            start + raw.length / Rational::whole(parts)
        }
    }
}

/// An end before it is put on a grid.
#[derive(Clone, Copy, Debug, Default)]
struct Raw {
    end: Quarters,
    /// Where its beat starts, and how long that is.
    from: Quarters,
    length: Quarters,
    /// Parts into which the notes divide the beat, and the beats before and after.
    grid: i64,
    beside: [i64; 2],
}

impl Raw {
    /// The nearest of so many parts of the beat.
    fn nearest(&self, parts: i64) -> Quarters {
        let step = self.length / Rational::whole(parts);
        self.from + step * Rational::whole(((self.end - self.from) / step + Rational::new(1, 2)).floor())
    }
}
