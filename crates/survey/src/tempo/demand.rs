//! What does each bar ask of a reader? Notes to a beat, and everything beside the notes that has to be read.

use crate::Context;
use crate::metre::{BeatGrid, MetreAnswer};
use crate::rhythm::{RhythmAnswer, Struck, struck};
use notation::{BarIndex, Pitch, Place, Quarters, SpanKind};

/// A leap of a fifth or more has to be aimed at. Common practice.
const LEAP_SEMITONES: i64 = 7;
/// A bar is typical of the piece if at least a fifth of the sounding bars are like it. Ours.
const COMMON_SHARE: usize = 5;

/// The demand of one bar.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct BarDemand {
    /// The bar.
    pub bar: BarIndex,
    /// Most notes in any one reading beat of the bar.
    pub notes_in_beat: u32,
    /// Most notes started by the tongue (not slurred to) in any one reading beat.
    pub tongued_in_beat: u32,
    /// Notes in the bar.
    pub notes: u32,
    /// Printed accidentals.
    pub accidentals: u32,
    /// Leaps of a fifth or more.
    pub leaps: u32,
    /// Rests on beats, changes of division, and syncopation (Longuet-Higgins & Lee).
    pub rhythm: u32,
    /// Reading items for each reading beat, on average: notes and accidentals whole, leaps and rhythm by half.
    pub mean_items: f64,
    /// The same, but no less than the notes of the fullest beat: what the bar's tempo has to leave room for.
    pub items_per_beat: f64,
}

/// What the piece as a whole asks.
#[derive(Clone, PartialEq, Debug, Default)]
pub(super) struct Demand {
    pub(super) bars: Vec<BarDemand>,
    /// Most notes to a reading beat that at least a fifth of the bars reach.
    pub(super) common_notes: u32,
    /// The same for tongued notes.
    pub(super) common_tongued: u32,
    /// The shortest printed length that at least a fifth of the bars hold, in quarter notes.
    pub(super) common_length: Option<Quarters>,
}

impl Demand {
    /// The bar with the most reading items to a beat; the first of several.
    pub(super) fn hardest(&self) -> Option<&BarDemand> {
        let by = |bar: &BarDemand| (bar.items_per_beat, bar.mean_items);
        self.bars.iter().rev().max_by(|a, b| {
            let (a, b) = (by(a), by(b));
            a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1))
        })
    }
}

/// Measures every bar that sounds, on a reading beat of so many quarter notes.
pub(super) fn demand(ctx: &Context, metre: &MetreAnswer, rhythm: &RhythmAnswer, beat: Quarters) -> Demand {
    let notes = struck(&metre.voice, &metre.grids);
    let tongued = tongued(ctx, &notes);
    let mut bars = Vec::new();
    let mut lengths: Vec<Quarters> = Vec::new();
    let mut next = 0;
    let mut before: Option<Pitch> = None;
    let (mut rests, mut divisions) = (0, 0);
    for grid in &metre.grids {
        let from = next;
        while notes.get(next).is_some_and(|note| note.place.bar == grid.bar) {
            next += 1;
        }
        let rests_here = take_while_in(&mut rests, &rhythm.rests_on_beats, grid.bar, |rest| rest.place);
        let changes_here = take_while_in(&mut divisions, &rhythm.division_changes, grid.bar, |change| {
            change.place
        });
        let (Some(here), Some(tongued)) = (notes.get(from..next), tongued.get(from..next)) else {
            continue;
        };
        if here.is_empty() {
            continue;
        }
        let mut bar = densities(grid, here, tongued, beat);
        for note in here {
            let event = note.event.and_then(|index| ctx.part.events.get(index));
            let Some(event) = event else { continue };
            bar.accidentals += small(
                event
                    .heads()
                    .iter()
                    .filter(|head| head.accidental.is_some())
                    .count(),
            );
            let top = event.top_pitch();
            if let (Some(a), Some(b)) = (before, top) {
                bar.leaps += u32::from(
                    (a.semitones() - b.semitones()).abs() >= notation::Rational::whole(LEAP_SEMITONES),
                );
            }
            before = top.or(before);
        }
        bar.rhythm = small(rests_here + changes_here) + strict_syncopation(rhythm, grid.bar);
        let beats = (grid.actual / beat).to_f64().max(1.0);
        let items = f64::from(bar.notes + bar.accidentals) + 0.5 * f64::from(bar.leaps + bar.rhythm);
        // A crowded beat in an empty bar is read no easier for the rest of the bar.
        bar.mean_items = items / beats;
        bar.items_per_beat = bar.mean_items.max(f64::from(bar.notes_in_beat));
        bars.push(bar);
        // Written lengths: ties don't make a short note easier to place.
        let shortest = metre
            .voice
            .bar(grid.bar)
            .items
            .iter()
            .filter(|item| item.sounds())
            .map(|item| item.duration)
            .min();
        lengths.extend(shortest);
    }
    let common = |values: Vec<u32>| nth_highest(values);
    let mut demand = Demand {
        common_notes: common(bars.iter().map(|bar| bar.notes_in_beat).collect()),
        common_tongued: common(bars.iter().map(|bar| bar.tongued_in_beat).collect()),
        common_length: None,
        bars,
    };
    lengths.sort_unstable();
    demand.common_length = lengths
        .get(lengths.len().saturating_sub(1) / COMMON_SHARE)
        .copied();
    demand
}

fn strict_syncopation(rhythm: &RhythmAnswer, bar: BarIndex) -> u32 {
    let at = rhythm
        .syncopation
        .binary_search_by_key(&bar, |score| score.bar)
        .ok();
    at.and_then(|at| rhythm.syncopation.get(at))
        .map_or(0, |score| score.strict)
}

/// The value that at least a fifth of the bars reach.
fn nth_highest(mut values: Vec<u32>) -> u32 {
    values.sort_unstable_by(|a, b| b.cmp(a));
    let at = values.len().saturating_sub(1) / COMMON_SHARE;
    values.get(at).copied().unwrap_or(0)
}

fn take_while_in<T>(next: &mut usize, list: &[T], bar: BarIndex, place: impl Fn(&T) -> Place) -> usize {
    let from = *next;
    while list.get(*next).is_some_and(|item| place(item).bar <= bar) {
        *next += 1;
    }
    *next - from
}

fn small(n: usize) -> u32 {
    u32::try_from(n).unwrap_or(u32::MAX).min(1 << 20)
}

/// Notes and tongued notes in the fullest reading beat of a bar.
fn densities(grid: &BeatGrid, notes: &[Struck], tongued: &[bool], beat: Quarters) -> BarDemand {
    let mut bar = BarDemand {
        bar: grid.bar,
        notes_in_beat: 0,
        tongued_in_beat: 0,
        notes: small(notes.len()),
        accidentals: 0,
        leaps: 0,
        rhythm: 0,
        mean_items: 0.0,
        items_per_beat: 0.0,
    };
    let mut window = i64::MIN;
    let (mut here, mut with_tongue) = (0, 0);
    for (note, tongued) in notes.iter().zip(tongued) {
        let at = (grid.position(note.place.offset) / beat).floor();
        if at != window {
            (window, here, with_tongue) = (at, 0, 0);
        }
        here += 1;
        with_tongue += u32::from(*tongued);
        bar.notes_in_beat = bar.notes_in_beat.max(here);
        bar.tongued_in_beat = bar.tongued_in_beat.max(with_tongue);
    }
    bar
}

/// For each note whether the tongue starts it: not inside a slur, or the first under it.
fn tongued(ctx: &Context, notes: &[Struck]) -> Vec<bool> {
    let slurs = ctx.part.spans.iter().filter(|span| span.kind == SpanKind::Slur);
    let mut slurs: Vec<(Place, Place)> = slurs
        .filter_map(|span| Some((span.start?.place, span.end?.place)))
        .collect();
    slurs.sort_unstable();
    let mut next = 0;
    let mut covered: Option<Place> = None;
    notes
        .iter()
        .map(|note| {
            while let Some((_, end)) = slurs.get(next).filter(|(start, _)| *start < note.place) {
                covered = covered.max(Some(*end));
                next += 1;
            }
            covered.is_none_or(|end| end < note.place)
        })
        .collect()
}
