//! What does a boundary model see? The line as onsets, lengths, gaps, leaps, and where each note stands in its bar.

use crate::Context;
use notation::{BarIndex, LineNote, Place, Quarters};
use std::collections::BTreeMap;

/// The line, ready to be divided.
#[derive(Clone, Debug, Default)]
pub struct Notes {
    pub(super) line: Vec<Seen>,
    iois: Vec<f64>,
    gaps: Vec<f64>,
    /// Sums of the times between onsets, for means over a stretch.
    sums: Vec<f64>,
}

/// One note.
#[derive(Clone, Copy, Debug)]
pub(super) struct Seen {
    pub place: Place,
    pub onset: Quarters,
    pub end: Quarters,
    /// Until the next note begins; the note's own length for the last.
    pub until_next: Quarters,
    /// Where it stands in the full bar, a pickup counted from its end.
    pub phase: Quarters,
    /// The length of the full bar.
    pub bar: Quarters,
    /// One beat as the lower number of the metre has it, three of them in 6/8.
    pub beat: Quarters,
    /// The same as numbers that are quickly compared: equal values have equal numbers.
    pub ids: Ids,
    /// Onset and end in quarter notes, and the bar's length.
    pub at: [f64; 3],
    pub key: i32,
    pub diatonic: i32,
    pub pitch_class: i32,
}

/// Numbers for values of time: where in the bar, where in its half, how long until the next note.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Ids {
    pub phase: u32,
    /// `None` where the bar has no length.
    pub half_phase: Option<u32>,
    pub length: u32,
}

impl Notes {
    /// The notes of a part's line.
    #[must_use]
    pub fn of(ctx: &Context) -> Self {
        let next = ctx.line.iter().skip(1).map(Some).chain([None]);
        let mut grid = Grid::default();
        let mut line: Vec<Seen> = ctx
            .line
            .iter()
            .zip(next)
            .filter_map(|(note, next)| seen(ctx, note, next, &mut grid))
            .collect();
        number(&mut line);
        let iois: Vec<f64> = line.iter().map(|note| note.until_next.to_f64()).collect();
        let mut sums = vec![0.0];
        let mut sum = 0.0;
        for ioi in &iois {
            sum += ioi;
            sums.push(sum);
        }
        let gaps = line.iter().skip(1).zip(&line);
        let gaps = gaps.map(|(note, before)| (note.onset - before.end).to_f64().max(0.0));
        Self {
            gaps: [0.0].into_iter().chain(gaps).collect(),
            line,
            iois,
            sums,
        }
    }

    /// How many.
    #[must_use]
    pub fn len(&self) -> usize {
        self.line.len()
    }

    /// True without notes.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.line.is_empty()
    }

    /// Time from a note to the next onset, in quarter notes; 0 beyond the last.
    #[must_use]
    pub fn ioi(&self, at: usize) -> f64 {
        self.iois.get(at).copied().unwrap_or(0.0)
    }

    /// Rest before a note, in quarter notes.
    #[must_use]
    pub fn gap(&self, at: usize) -> f64 {
        self.gaps.get(at).copied().unwrap_or(0.0)
    }

    /// Semitones from the note before up to this one; 0 for the first.
    #[must_use]
    pub fn leap(&self, at: usize) -> i32 {
        let key = |at: usize| self.line.get(at).map(|note| note.key);
        at.checked_sub(1)
            .and_then(key)
            .zip(key(at))
            .map_or(0, |(before, here)| here - before)
    }

    /// Where a note stands in the full bar, in quarter notes (a pickup is counted back from its bar line).
    #[must_use]
    pub fn phase(&self, at: usize) -> Option<Quarters> {
        self.line.get(at).map(|note| note.phase)
    }

    /// One beat at a note, in quarter notes: the lower number of the metre, three of them in 6/8.
    #[must_use]
    pub fn beat(&self, at: usize) -> Quarters {
        self.line.get(at).map_or(Quarters::ONE, |note| note.beat)
    }

    /// Staff places from a note up to the next; 0 for the last.
    pub(super) fn step(&self, at: usize) -> i32 {
        let diatonic = |at: usize| self.line.get(at).map(|note| note.diatonic);
        diatonic(at)
            .zip(diatonic(at + 1))
            .map_or(0, |(here, next)| next - here)
    }

    /// Mean time between onsets from one note to before another, in quarter notes.
    pub(super) fn mean_ioi(&self, from: usize, to: usize) -> f64 {
        let to = to.min(self.len());
        let sum = |at: usize| self.sums.get(at).copied().unwrap_or(0.0);
        if to > from {
            (sum(to) - sum(from)) / super::count(to - from)
        } else {
            0.0
        }
    }
}

/// Gives equal values of time equal numbers.
fn number(line: &mut [Seen]) {
    let mut known: BTreeMap<Quarters, u32> = BTreeMap::new();
    let mut of = |value: Quarters| {
        let next = u32::try_from(known.len()).unwrap_or(u32::MAX);
        *known.entry(value).or_insert(next)
    };
    for note in line {
        let half = note.bar * Quarters::new(1, 2);
        note.ids = Ids {
            phase: of(note.phase),
            half_phase: half.is_positive().then(|| of(note.phase.modulo(half))),
            length: of(note.until_next),
        };
        note.at = [note.onset, note.end, note.bar].map(Quarters::to_f64);
    }
}

/// Metre and lead of the bar last looked at.
#[derive(Default)]
struct Grid {
    bar: Option<BarIndex>,
    full: Quarters,
    lead: Quarters,
    beat: Quarters,
}

impl Grid {
    fn at(&mut self, ctx: &Context, bar: BarIndex) {
        if self.bar == Some(bar) {
            return;
        }
        self.bar = Some(bar);
        let actual = ctx
            .piece
            .bars
            .get(bar.get())
            .map(|bar| bar.length)
            .unwrap_or_default();
        let part = ctx
            .part
            .metre_at(Place::start_of(bar))
            .and_then(|metre| metre.parts.first())
            .map(|part| (part.beats(), part.beat_type));
        let (beats, unit) = part
            .filter(|(beats, unit)| *beats > 0 && *unit > 0)
            .unwrap_or((0, 4));
        let one = Quarters::new(4, i64::from(unit));
        self.full = if beats > 0 {
            one * Quarters::whole(i64::from(beats))
        } else {
            actual
        };
        self.beat = if unit >= 8 && beats > 3 && beats % 3 == 0 {
            one * Quarters::whole(3)
        } else {
            one
        };
        // A pickup ends with its bar line. Later short bars are read from their start, unless the source calls them halves.
        let counted_back = bar.get() == 0 || ctx.piece.bars.get(bar.get()).is_some_and(|bar| bar.implicit);
        self.lead = if counted_back && actual < self.full {
            self.full - actual
        } else {
            Quarters::ZERO
        };
    }
}

fn seen(ctx: &Context, note: &LineNote, next: Option<&LineNote>, grid: &mut Grid) -> Option<Seen> {
    let place = ctx.event(note)?.place;
    grid.at(ctx, place.bar);
    let until_next = next.map_or(note.duration, |next| next.onset - note.onset);
    Some(Seen {
        place,
        onset: note.onset,
        end: note.onset + note.duration,
        until_next,
        phase: if grid.full.is_positive() {
            (place.offset + grid.lead).modulo(grid.full)
        } else {
            Quarters::ZERO
        },
        bar: grid.full,
        beat: grid.beat,
        ids: Ids::default(),
        at: [0.0; 3],
        // Whatever nonsense a file says, differences stay within bounds.
        key: note.pitch.key_number().clamp(-256, 512),
        diatonic: note.pitch.diatonic(),
        pitch_class: note.pitch.key_number().rem_euclid(12),
    })
}
