//! Which note values, tuplets, ties and dotted rhythms are used, how often, and where first?

use super::cell::{Cell, CellKind, Cells};
use super::names::name;
use super::tuplet::tuplet_word;
use super::voice::{Item, MainVoice, Sound};
use crate::metre::{BeatGrid, BeatUnit, value_names};
use notation::{BarIndex, NoteValue, Place, Quarters, Rational, TupletRatio};
use std::collections::BTreeMap;

/// One printed note value.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct ValueUse {
    /// In the trade's words: `sixteenth`, `dotted quarter`, `triplet eighth`.
    pub name: String,
    /// The printed value, tuplets aside; `None` where no single note has this length.
    pub unit: Option<BeatUnit>,
    /// Its tuplets, outermost first.
    pub tuplets: Vec<TupletRatio>,
    /// How long it lasts, in quarter notes.
    pub length: Quarters,
    /// Notes of it (rests are not counted).
    pub count: usize,
    /// Where it comes first.
    pub first: Place,
    /// In how many bars it comes.
    pub bars: usize,
}

/// One kind of tuplet.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct TupletUse {
    /// Notes printed, and the number of the same value whose time they take.
    pub ratio: TupletRatio,
    /// The value that is grouped.
    pub value: NoteValue,
    /// In the trade's words: `triplet of eighths`.
    pub name: String,
    /// Groups of it.
    pub count: usize,
    /// How many of them hold a tuplet inside.
    pub nested: usize,
    /// Bars in which it comes, in order.
    pub bars: Vec<BarIndex>,
    /// Where it comes first.
    pub first: Place,
}

/// What a tie reaches over.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub enum TieOver {
    /// Nothing: inside a beat.
    Inside,
    /// The start of a beat.
    Beat,
    /// The bar line.
    BarLine,
}

/// One tie, by the note that it holds on to.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Tie {
    /// Where the second note of the tie stands: the place where nothing is struck.
    pub place: Place,
    /// What it reaches over.
    pub over: TieOver,
}

/// One dotted rhythm: a dotted note and the short one that fills it up.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct DottedUse {
    /// In the trade's words: `dotted eighth–sixteenth`.
    pub name: String,
    /// How often.
    pub count: usize,
    /// Where first.
    pub first: Place,
}

/// The note values in use, shortest first.
pub(super) fn values(voice: &MainVoice, grids: &[BeatGrid]) -> Vec<ValueUse> {
    let mut found: BTreeMap<(Quarters, Vec<TupletRatio>), ValueUse> = BTreeMap::new();
    let mut last_bar: BTreeMap<(Quarters, Vec<TupletRatio>), BarIndex> = BTreeMap::new();
    for (bar, grid) in voice.bars.iter().zip(grids) {
        for item in bar.items.iter().filter(|item| item.sounds()) {
            let (unit, tuplets) = printed(item);
            let key = (item.duration, tuplets.clone());
            let value = found.entry(key.clone()).or_insert_with(|| ValueUse {
                name: value_in_words(unit, &tuplets, item.duration),
                unit,
                tuplets,
                length: item.duration,
                count: 0,
                first: Place {
                    bar: grid.bar,
                    offset: item.offset,
                },
                bars: 0,
            });
            value.count += 1;
            if last_bar.insert(key, grid.bar) != Some(grid.bar) {
                value.bars += 1;
            }
        }
    }
    found.into_values().collect()
}

fn printed(item: &Item) -> (Option<BeatUnit>, Vec<TupletRatio>) {
    match item
        .written
        .as_ref()
        .filter(|written| written.quarters() == item.duration)
    {
        Some(written) => (
            Some(BeatUnit {
                value: written.value,
                dots: written.dots,
            }),
            written.tuplets.clone(),
        ),
        None => (BeatUnit::of_quarters(item.duration), Vec::new()),
    }
}

fn value_in_words(unit: Option<BeatUnit>, tuplets: &[TupletRatio], length: Quarters) -> String {
    let Some(unit) = unit else {
        return format!("{length} of a quarter");
    };
    match tuplets {
        [] => unit.name(),
        [one] => format!("{} {}", tuplet_word(one.actual), unit.name()),
        _ => format!(
            "nested {} {}",
            tuplet_word(tuplets.last().map_or(0, |inner| inner.actual)),
            unit.name()
        ),
    }
}

/// Collects tuplets and dotted rhythms bar by bar.
#[derive(Default)]
pub(super) struct Collected {
    tuplets: BTreeMap<(u16, u16, NoteValue), TupletUse>,
    dotted: BTreeMap<(Quarters, Quarters), DottedUse>,
}

impl Collected {
    pub(super) fn add(&mut self, bar: &Cells, grid: &BeatGrid) {
        for group in &bar.groups {
            let place = Place {
                bar: grid.bar,
                offset: grid.offset(group.start),
            };
            let key = (group.ratio.actual, group.ratio.normal, group.value);
            let found = self.tuplets.entry(key).or_insert_with(|| TupletUse {
                ratio: group.ratio,
                value: group.value,
                name: format!(
                    "{} of {}",
                    tuplet_word(group.ratio.actual),
                    value_names(group.value)
                ),
                count: 0,
                nested: 0,
                bars: Vec::new(),
                first: place,
            });
            found.count += 1;
            found.nested += usize::from(group.nested);
            if found.bars.last() != Some(&grid.bar) {
                found.bars.push(grid.bar);
            }
        }
        for pair in bar.cells.windows(2) {
            if let [long, short] = pair
                && is_dotted_pair(long, short)
            {
                let place = Place {
                    bar: grid.bar,
                    offset: grid.offset(long.start),
                };
                let found = self
                    .dotted
                    .entry((long.length, short.length))
                    .or_insert_with(|| DottedUse {
                        name: name(bar, pair, &[]),
                        count: 0,
                        first: place,
                    });
                found.count += 1;
            }
        }
    }

    /// Tuplets and dotted rhythms, the most frequent first.
    pub(super) fn finish(self) -> (Vec<TupletUse>, Vec<DottedUse>) {
        let mut tuplets: Vec<TupletUse> = self.tuplets.into_values().collect();
        tuplets.sort_by_key(|used| (std::cmp::Reverse(used.count), used.first));
        let mut dotted: Vec<DottedUse> = self.dotted.into_values().collect();
        dotted.sort_by_key(|used| (std::cmp::Reverse(used.count), used.first));
        (tuplets, dotted)
    }
}

/// A dotted note and the one that completes it: 3 to 1, or 7 to 1 with two dots.
fn is_dotted_pair(long: &Cell, short: &Cell) -> bool {
    let dots = long.unit.map_or(0, |unit| unit.dots);
    let ratio = match dots {
        1 => 3,
        2 => 7,
        _ => return false,
    };
    let plain = long.group.is_none() && short.group.is_none();
    plain
        && long.kind == CellKind::Note
        && short.kind == CellKind::Note
        && long.length == short.length * Rational::whole(ratio)
}

/// The ties of the voice, by what they reach over.
pub(super) fn ties(voice: &MainVoice, grids: &[BeatGrid]) -> Vec<Tie> {
    let mut ties = Vec::new();
    for (bar, grid) in voice.bars.iter().zip(grids) {
        for item in bar.items.iter().filter(|item| item.sound == Sound::Held) {
            let position = grid.position(item.offset);
            let over = if item.offset.is_zero() {
                TieOver::BarLine
            } else if grid.beat_at(position).is_some_and(|beat| beat.start == position) {
                TieOver::Beat
            } else {
                TieOver::Inside
            };
            ties.push(Tie {
                place: Place {
                    bar: grid.bar,
                    offset: item.offset,
                },
                over,
            });
        }
    }
    ties
}
