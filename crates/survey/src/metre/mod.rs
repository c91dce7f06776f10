//! Question 3, metre: how is time measured, how does it feel at this tempo, and how is it counted?
//!
//! The notation decides the kind; the printed tempo decides what is felt as the beat ([`feel`](self)); beams, held
//! notes and accents decide the groups of uneven metres. Every bar gets a [`BeatGrid`] on which the other questions
//! read: pickups start late on it, second halves of split bars go on where the first stopped.

mod feel;
mod grid;
mod grouping;
mod kind;
mod lengths;
mod unit;
mod words;

pub use feel::{CountIn, Feel};
pub use grid::{Beat, BeatGrid, Group};
pub use grouping::{GroupedBy, Grouping};
pub use kind::{MetreKind, size_word};
pub use lengths::{Pickup, Split, Uneven};
pub use unit::{BeatUnit, value_name, value_names};

use crate::rhythm::voice::MainVoice;
use crate::tempo::Marked;
use crate::{Context, Evidence};
use grouping::{grouping, is_uneven};
use notation::{BarIndex, Finding, Metre, MetreSymbol, Place, Quarters, Rational, Severity};
use std::collections::BTreeMap;
use terms::tempo::ChangeDirection;

/// What the page says about metre.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct MetreAnswer {
    /// Each metre in order, from its bar on.
    pub metres: Vec<MetreStretch>,
    /// The anacrusis: the first bar, if it starts late.
    pub anacrusis: Option<Anacrusis>,
    /// What is counted aloud before playing: one full bar, and the missing beats of a pickup.
    pub count_in: String,
    /// Every late start, the anacrusis and the pickups of later sections.
    pub pickups: Vec<Pickup>,
    /// Short bars that together make one.
    pub splits: Vec<Split>,
    /// Bars that don't add up.
    pub uneven: Vec<Uneven>,
    /// The grid of each bar of the piece.
    pub grids: Vec<BeatGrid>,
    /// The voice that was read: rhythm reads the same.
    pub voice: MainVoice,
    /// The whole answer in one line.
    pub summary: String,
    /// What can be checked by eye.
    pub evidence: Vec<Evidence>,
    /// Bars that don't add up, groupings that are guessed.
    pub findings: Vec<Finding>,
}

/// One metre over the bars in which it holds.
#[derive(Clone, PartialEq, Debug)]
pub struct MetreStretch {
    /// First bar.
    pub from: BarIndex,
    /// Last bar.
    pub to: BarIndex,
    /// As written.
    pub metre: Metre,
    /// The upper number, summed; 0 without metre.
    pub beats: u16,
    /// The lower number (the largest where fractions are added); 0 without metre.
    pub beat_type: u16,
    /// How it is printed: `C`, `¢`, `6/8`, `3+2/8`.
    pub symbol: String,
    /// Simple, compound, asymmetric or without measure.
    pub kind: MetreKind,
    /// Duple, triple, quadruple …, by notation.
    pub size: &'static str,
    /// The groups of an uneven metre, and how they are known.
    pub grouping: Option<Grouping>,
    /// How it is felt: the first from the stretch's first bar, others where the tempo changes it.
    pub feels: Vec<(BarIndex, Feel)>,
    /// How it is counted in a slow first reading.
    pub slow: Feel,
    /// How to count it, sentences.
    pub how_to_count: String,
}

impl MetreStretch {
    /// How it is felt at its beginning.
    #[must_use]
    pub fn feel(&self) -> &Feel {
        self.feels.first().map_or(&self.slow, |(_, feel)| feel)
    }

    /// How many beats are felt in a bar at its beginning.
    #[must_use]
    pub fn beats_felt(&self) -> usize {
        self.feel().beats.len()
    }

    /// True if printed as C or ¢.
    #[must_use]
    pub fn has_sign(&self) -> bool {
        matches!(self.metre.symbol, MetreSymbol::Common | MetreSymbol::Cut)
    }

    fn feel_at(&self, bar: BarIndex) -> &Feel {
        self.feels
            .iter()
            .rev()
            .find(|(from, _)| *from <= bar)
            .map_or(&self.slow, |(_, feel)| feel)
    }
}

/// The pickup at the very beginning.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Anacrusis {
    /// Its bar.
    pub bar: BarIndex,
    /// Its length in quarter notes.
    pub length: Quarters,
    /// Its length in felt beats.
    pub beats: Rational,
    /// What is missing before it, in quarter notes.
    pub missing: Quarters,
    /// The count on which it enters: `4`, `& of 4`.
    pub enters_on: String,
    /// Bars that complete it: the last bar, ends of sections.
    pub complements: Vec<BarIndex>,
}

impl MetreAnswer {
    /// The metre in force in a bar.
    #[must_use]
    pub fn at(&self, bar: BarIndex) -> Option<&MetreStretch> {
        let after = self.metres.partition_point(|stretch| stretch.from <= bar);
        after.checked_sub(1).and_then(|at| self.metres.get(at))
    }

    /// The grid of a bar.
    #[must_use]
    pub fn grid(&self, bar: BarIndex) -> Option<&BeatGrid> {
        self.grids.get(bar.get())
    }
}

/// Answers the question for a part; `marked` is what the page says about speed.
#[must_use]
pub fn answer(ctx: &Context, marked: &Marked) -> MetreAnswer {
    let voice = MainVoice::read(ctx);
    let mut metres = stretches(ctx, &voice, marked);
    let asked = asked_lengths(ctx, &metres);
    let lengths = lengths::judge(ctx, &voice, &asked);
    let grids = grids(ctx, &metres, &asked, &lengths.leads);
    let anacrusis = anacrusis(&lengths, &grids);
    for stretch in &mut metres {
        stretch.how_to_count = words::how_to_count(stretch);
    }
    let mut answer = MetreAnswer {
        count_in: grids
            .first()
            .filter(|grid| grid.counted)
            .map(lengths::count_in)
            .unwrap_or_default(),
        metres,
        anacrusis,
        pickups: lengths.pickups,
        splits: lengths.splits,
        uneven: lengths.uneven,
        grids,
        voice,
        ..MetreAnswer::default()
    };
    answer.summary = words::summary(ctx, &answer);
    answer.evidence = words::evidence(ctx, &answer);
    answer.findings = findings(ctx, &answer);
    answer
}

/// The metres in order, restatements of the same one joined.
fn stretches(ctx: &Context, voice: &MainVoice, marked: &Marked) -> Vec<MetreStretch> {
    let Some(last) = ctx.piece.bars.len().checked_sub(1) else {
        return Vec::new();
    };
    let last = BarIndex::from_usize(last);
    let mut starts: Vec<(BarIndex, Metre)> = Vec::new();
    for change in &ctx.part.metres {
        // A metre set inside a bar holds from the next one.
        let bar = if change.place.offset.is_zero() {
            change.place.bar
        } else {
            change.place.bar.next()
        };
        if bar > last {
            continue;
        }
        if let Some(before) = starts.last_mut().filter(|before| before.0 == bar) {
            before.1 = change.value.clone();
        } else if starts.last().is_none_or(|before| before.1 != change.value) {
            starts.push((bar, change.value.clone()));
        }
    }
    if starts.first().is_none_or(|first| first.0.0 > 0) {
        // Nothing is printed before the first metre: without measure until then.
        starts.insert(
            0,
            (
                BarIndex(0),
                Metre {
                    parts: Vec::new(),
                    symbol: MetreSymbol::Senza,
                },
            ),
        );
    }
    let ends: Vec<BarIndex> = starts
        .iter()
        .skip(1)
        .map(|start| BarIndex(start.0.0.saturating_sub(1)))
        .chain([last])
        .collect();
    let groupings = shared_groupings(ctx, voice, &starts, &ends);
    let stretch = |((from, metre), (to, grouping)): ((BarIndex, Metre), (BarIndex, Option<Grouping>))| {
        let feels = feels(&metre, grouping.as_ref(), from, to, marked);
        // 8/8 that falls into twos is a simple metre after all.
        let in_twos = |grouping: &Grouping| grouping.groups.iter().all(|group| *group == 2);
        let twos = grouping.as_ref().is_some_and(in_twos);
        let beats_in_twos = grouping.as_ref().map_or(0, |grouping| grouping.groups.len());
        MetreStretch {
            from,
            to,
            beats: metre
                .parts
                .iter()
                .fold(0, |sum, part| part.beats().saturating_add(sum)),
            beat_type: metre.parts.iter().map(|part| part.beat_type).max().unwrap_or(0),
            symbol: metre.name(),
            kind: if twos {
                MetreKind::Simple
            } else {
                MetreKind::of(&metre)
            },
            size: size_word(if twos {
                beats_in_twos
            } else {
                kind::notated_beats(&metre)
            }),
            slow: feel::slow(&metre, grouping.as_ref()),
            feels,
            grouping,
            how_to_count: String::new(),
            metre,
        }
    };
    starts
        .into_iter()
        .zip(ends.into_iter().zip(groupings))
        .map(stretch)
        .collect()
}

/// The grouping of each stretch; bars of the same metre are read together, however often it comes and goes.
fn shared_groupings(
    ctx: &Context,
    voice: &MainVoice,
    starts: &[(BarIndex, Metre)],
    ends: &[BarIndex],
) -> Vec<Option<Grouping>> {
    let mut known: Vec<(&Metre, Option<Grouping>)> = Vec::new();
    let needs =
        |metre: &Metre| matches!(metre.parts.as_slice(), [part] if is_uneven(part) || part.groups.len() > 1);
    starts
        .iter()
        .map(|(_, metre)| {
            let [part] = metre.parts.as_slice() else {
                return None;
            };
            if !needs(metre) {
                return None;
            }
            if let Some((_, grouping)) = known.iter().find(|(of, _)| *of == metre) {
                return grouping.clone();
            }
            let bars: Vec<BarIndex> = starts
                .iter()
                .zip(ends)
                .filter(|((_, of), _)| of == metre)
                .flat_map(|((from, _), to)| (from.0..=to.0).map(BarIndex))
                .collect();
            let found = grouping(ctx, voice, part, &bars);
            known.push((metre, found.clone()));
            found
        })
        .collect()
}

/// How a metre is felt over a stretch: at its start and wherever a tempo mark changes what is counted.
fn feels(
    metre: &Metre,
    grouping: Option<&Grouping>,
    from: BarIndex,
    to: BarIndex,
    marked: &Marked,
) -> Vec<(BarIndex, Feel)> {
    let end_of_first = Place {
        bar: from,
        offset: Rational::OVERFLOW,
    };
    let first = marked.marks.partition_point(|mark| mark.place.bar <= from);
    // "The same tempo" over a new metre: its own usual beat takes over the speed of the old one.
    let same = marked
        .marks
        .get(..first)
        .unwrap_or(&[])
        .iter()
        .rev()
        .take_while(|mark| mark.place.bar == from)
        .any(|mark| {
            !mark.sets()
                && mark
                    .changes
                    .iter()
                    .any(|change| change.direction == ChangeDirection::Same)
        });
    let mark = if same { None } else { marked.at(end_of_first) };
    let mut feels = vec![(from, feel::felt(metre, grouping, mark))];
    for mark in marked
        .marks
        .iter()
        .skip(first)
        .take_while(|mark| mark.place.bar <= to)
    {
        if !mark.sets() && mark.count_in.is_none() {
            continue;
        }
        let feel = feel::felt(metre, grouping, Some(mark));
        if feels.last().is_some_and(|(_, last)| last.beats != feel.beats) {
            // A new tempo late in a bar is counted from the next one.
            let bar = if mark.place.offset.is_zero() {
                mark.place.bar
            } else {
                mark.place.bar.next()
            };
            // Late in the last bar it counts nothing any more.
            if bar <= to {
                feels.push((bar, feel));
            }
        }
    }
    feels
}

fn asked_lengths(ctx: &Context, metres: &[MetreStretch]) -> Vec<Option<Quarters>> {
    let mut asked = Vec::with_capacity(ctx.piece.bars.len());
    for stretch in metres {
        let length = stretch.metre.length();
        asked.extend((stretch.from.0..=stretch.to.0).map(|_| length));
    }
    asked
}

fn grids(
    ctx: &Context,
    metres: &[MetreStretch],
    asked: &[Option<Quarters>],
    leads: &[Quarters],
) -> Vec<BeatGrid> {
    let mut grids = Vec::with_capacity(ctx.piece.bars.len());
    for stretch in metres {
        for bar in (stretch.from.0..=stretch.to.0).map(BarIndex) {
            let at = bar.get();
            let actual = ctx.piece.bars.get(at).map_or(Quarters::ZERO, |bar| bar.length);
            let Some(full) = asked.get(at).copied().flatten() else {
                grids.push(BeatGrid {
                    bar,
                    full: actual,
                    actual,
                    ..BeatGrid::default()
                });
                continue;
            };
            let lead = leads.get(at).copied().unwrap_or_default();
            let actual = if lengths::is_near(actual, full) {
                full
            } else {
                actual
            };
            grids.push(grid(stretch, bar, full, lead, actual));
        }
    }
    grids
}

fn grid(stretch: &MetreStretch, bar: BarIndex, full: Quarters, lead: Quarters, actual: Quarters) -> BeatGrid {
    let feel = stretch.feel_at(bar);
    let other = stretch
        .grouping
        .as_ref()
        .and_then(|grouping| grouping.other.get(&bar));
    let groups = groups(stretch, other);
    let felt = match (other, feel.count_in, stretch.metre.parts.as_slice()) {
        // The bar shows another grouping than the rest: its unequal beats are its own.
        (Some(own), CountIn::Groups, [part]) => {
            let unit = Rational::new(4, i64::from(part.beat_type));
            own.iter()
                .map(|n| (unit * Rational::whole(i64::from(*n)), if *n == 3 { 3 } else { 2 }))
                .collect()
        }
        _ => feel.beats.clone(),
    };
    let until = lead + actual;
    BeatGrid {
        bar,
        full,
        lead,
        actual,
        felt: grid::lay_beats(&felt, &groups, until),
        slow: grid::lay_beats(&stretch.slow.beats, &groups, until),
        groups,
        counted: true,
        unit: Some(feel.unit),
    }
}

fn groups(stretch: &MetreStretch, other: Option<&Vec<u16>>) -> Vec<Group> {
    let mut groups = Vec::new();
    let mut start = Quarters::ZERO;
    for part in &stretch.metre.parts {
        let unit = Rational::new(4, i64::from(part.beat_type));
        let own = stretch
            .grouping
            .as_ref()
            .map(|grouping| other.unwrap_or(&grouping.groups));
        let whole = vec![part.beats()];
        for units in own.unwrap_or(&whole) {
            let group = Group {
                start,
                units: *units,
                unit,
            };
            start += group.length();
            groups.push(group);
        }
    }
    groups
}

fn anacrusis(lengths: &lengths::Lengths, grids: &[BeatGrid]) -> Option<Anacrusis> {
    let pickup = lengths
        .pickups
        .first()
        .filter(|pickup| pickup.bar == BarIndex(0))?;
    let grid = grids.first()?;
    let beat = grid.beat_at(grid.lead).or(grid.felt.last())?;
    Some(Anacrusis {
        bar: pickup.bar,
        length: pickup.length,
        beats: pickup.length / beat.length,
        missing: grid.full - pickup.length,
        enters_on: words::count_at(grid, grid.lead),
        complements: pickup.complements.clone(),
    })
}

/// So many bars that are off in the same way are said once.
const ALIKE: usize = 5;

/// One finding for each bar that doesn't add up; bars that are off alike, if many, in one.
fn uneven_findings(ctx: &Context, uneven: &[Uneven]) -> Vec<Finding> {
    let mut alike: BTreeMap<(Quarters, Quarters), Vec<&Uneven>> = BTreeMap::new();
    for bar in uneven {
        alike.entry((bar.written, bar.asked)).or_default().push(bar);
    }
    let mut findings = Vec::new();
    for bars in alike.values() {
        let said = if bars.len() > ALIKE { 1 } else { bars.len() };
        for bar in bars.iter().take(said) {
            let (what, advice) = words::uneven(bar, bars.len());
            let severity = if bar.cadenza {
                Severity::Note
            } else {
                Severity::Caution
            };
            let finding = Finding::new(severity, "bar-does-not-add-up", what, advice);
            findings.push(
                finding
                    .in_part(&ctx.part.name)
                    .at_bar(bar.bar, ctx.label(bar.bar)),
            );
        }
    }
    findings.sort_by_key(|finding| finding.bar);
    findings
}

fn findings(ctx: &Context, answer: &MetreAnswer) -> Vec<Finding> {
    let mut findings = uneven_findings(ctx, &answer.uneven);
    for stretch in &answer.metres {
        let Some(grouping) = &stretch.grouping else {
            continue;
        };
        if grouping.by == GroupedBy::Custom {
            let what = format!(
                "nothing on the page shows how {} is grouped; {} is the usual division",
                stretch.symbol,
                grouping.says()
            );
            let finding = Finding::new(
                Severity::Note,
                "grouping-guessed",
                what,
                "listen to a recording or ask the conductor",
            );
            findings.push(
                finding
                    .in_part(&ctx.part.name)
                    .at_bar(stretch.from, ctx.label(stretch.from)),
            );
        }
    }
    findings
}

#[cfg(test)]
mod tests;
