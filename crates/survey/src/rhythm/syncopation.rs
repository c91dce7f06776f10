//! How syncopated is each bar? By a published measure, and a second one beside it.
//!
//! Source: Longuet-Higgins & Lee 1984, Music Perception 1, 424-441, as implemented in SynPy (Song, Pearce & Harte,
//! SMC 2015). The bar is split by the metre until each node is one note or silence; a rest or tie at a stronger
//! place than the note before it adds the difference of their weights. The last note of the bar before is carried
//! in, so that a tie over the bar line counts.
//! Ours, said as differences: SynPy's −1 for "no such pair" is `None`; a bar without any note scores nothing (a
//! silent bar is not syncopated); tuplets, which SynPy cannot do, split what they fill by their own
//! number; nothing stands before a pickup or after a short bar, not even silence.
//!
//! Source: weighted note-to-beat distance, Gómez, Melvin, Rappaport & Toussaint 2005, as implemented in SynPy.

use super::tuplet::{TupletGroup, groups};
use super::voice::{MainVoice, Sound, VoiceBar};
use crate::metre::BeatGrid;
use notation::{BarIndex, Quarters, Rational};

/// The syncopation of one bar.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct BarSyncopation {
    /// The bar.
    pub bar: BarIndex,
    /// Longuet-Higgins & Lee: the sum over its pairs; `None` where no rest or tie stands at least as strong as the
    /// note before it.
    pub score: Option<u32>,
    /// The same sum over the pairs in which the note stands directly before the rest or tie, as the paper words it
    /// (from memory); the published code, and `score`, go back further to the next weaker note, into the bar before
    /// if need be, and so find a point of syncopation in a plain bar after an upbeat.
    pub strict: u32,
    /// Weighted note-to-beat distance, summed over the notes of the bar: always finite, where the exact sum of many unlike tuplets
    /// would not fit.
    pub note_to_beat: f64,
}

/// Deepest split below the bar: 64ths inside tuplets are well above it; hostile input stops here.
const DEEPEST: i32 = 12;

/// A stretch of the bar that is one note or silence.
#[derive(Clone, Copy)]
struct Terminal {
    weight: i32,
    note: bool,
}

/// Scores every bar.
pub(super) fn syncopation(voice: &MainVoice, grids: &[BeatGrid]) -> Vec<BarSyncopation> {
    let mut scores = Vec::with_capacity(grids.len());
    // The weight of the last note of the bar before.
    let mut carried: Option<i32> = None;
    for (bar, grid) in voice.bars.iter().zip(grids) {
        if !grid.counted {
            carried = None;
            continue;
        }
        let onsets = onsets(bar, grid);
        let terminals = terminals(&onsets, bar, grid);
        let sounds = !onsets.is_empty() || holds(bar);
        let score = if sounds { score(carried, &terminals) } else { None };
        let strict = if sounds { strict(carried, &terminals) } else { 0 };
        carried = terminals
            .iter()
            .rev()
            .find(|terminal| terminal.note)
            .map(|terminal| terminal.weight);
        scores.push(BarSyncopation {
            bar: grid.bar,
            score,
            strict,
            note_to_beat: note_to_beat(bar, grid),
        });
    }
    scores
}

fn holds(bar: &VoiceBar) -> bool {
    bar.items.first().is_some_and(|item| item.sound == Sound::Held)
}

/// Positions in the full bar where notes are struck.
fn onsets(bar: &VoiceBar, grid: &BeatGrid) -> Vec<Quarters> {
    bar.items
        .iter()
        .filter(|item| item.sound == Sound::Note)
        .map(|item| grid.position(item.offset))
        .collect()
}

fn terminals(onsets: &[Quarters], bar: &VoiceBar, grid: &BeatGrid) -> Vec<Terminal> {
    let starts_beat = |offset: Quarters| {
        let position = grid.position(offset);
        grid.beat_at(position).is_some_and(|beat| beat.start == position)
    };
    let mut tuplets = groups(&bar.items, starts_beat);
    for group in &mut tuplets {
        group.start = grid.position(group.start);
    }
    let tree = Tree {
        tuplets,
        from: grid.lead,
        to: grid.end(),
    };
    let mut found = Vec::with_capacity(onsets.len() * 2);
    let full = Node {
        start: Quarters::ZERO,
        length: grid.full,
        weight: 0,
        depth: 0,
    };
    full.split(onsets, &Level::Bar(grid), &tree, &mut found);
    found
}

/// What is the same for all nodes of a bar.
struct Tree {
    /// Tuplet groups, by their positions in the full bar.
    tuplets: Vec<TupletGroup>,
    /// The part of the full bar that is written: before a pickup and after a short bar there is no silence.
    from: Quarters,
    to: Quarters,
}

/// What a node is split by.
enum Level<'a> {
    /// The whole bar, into the metre's groups.
    Bar(&'a BeatGrid),
    /// So many written beats.
    Units(u16),
    /// Inside a written beat.
    Inside,
}

struct Node {
    start: Quarters,
    length: Quarters,
    weight: i32,
    depth: i32,
}

impl Node {
    fn split(&self, onsets: &[Quarters], level: &Level, tree: &Tree, found: &mut Vec<Terminal>) {
        let end = self.start + self.length;
        let terminal = |note: bool| Terminal {
            weight: self.weight,
            note,
        };
        let written = self.start >= tree.from && end <= tree.to;
        match onsets {
            [] if end <= tree.from || self.start >= tree.to => return,
            [] if written || self.depth >= DEEPEST => return found.push(terminal(false)),
            [only] if *only == self.start => return found.push(terminal(true)),
            [_, ..] if self.depth >= DEEPEST => return found.push(terminal(true)),
            _ => {}
        }
        let children = self.children(level, onsets, tree);
        let mut rest = onsets;
        for (at, (start, length, below)) in children.iter().enumerate() {
            let inside = rest.partition_point(|onset| *onset < *start + *length);
            let (here, after) = rest.split_at(inside);
            rest = after;
            let weight = if at == 0 { self.weight } else { -(self.depth + 1) };
            let child = Self {
                start: *start,
                length: *length,
                weight,
                depth: self.depth + 1,
            };
            child.split(here, below, tree, found);
        }
    }

    fn children<'a>(
        &self,
        level: &Level<'a>,
        onsets: &[Quarters],
        tree: &Tree,
    ) -> Vec<(Quarters, Quarters, Level<'a>)> {
        // A tuplet that fills the node splits it by its own number, whatever the metre would.
        let at = tree.tuplets.partition_point(|group| group.start < self.start);
        let fills = tree
            .tuplets
            .get(at)
            .filter(|group| group.start == self.start && group.length == self.length);
        if let Some(group) = fills.filter(|group| group.ratio.actual > 1) {
            return self.equal(i64::from(group.ratio.actual.min(64)));
        }
        match level {
            Level::Bar(grid) if grid.groups.len() > 1 => grid
                .groups
                .iter()
                .map(|group| (group.start, group.length(), Level::Units(group.units)))
                .collect(),
            Level::Bar(grid) => match grid.groups.first() {
                Some(group) if group.units > 1 => self.units(group.units),
                _ => self.equal(self.divisor(onsets)),
            },
            Level::Units(units) if *units > 1 => self.units(*units),
            Level::Units(_) | Level::Inside => self.equal(self.divisor(onsets)),
        }
    }

    /// Written beats fall into halves, else thirds, else singly.
    fn units<'a>(&self, units: u16) -> Vec<(Quarters, Quarters, Level<'a>)> {
        // 15/8 is five dotted beats, not three of five eighths.
        let parts = match units {
            n if n % 2 == 0 || n > 256 => 2,
            n if n % 3 == 0 && n > 9 => n / 3,
            n if n % 3 == 0 => 3,
            n => n,
        };
        let length = self.length / Rational::whole(i64::from(parts));
        (0..parts)
            .map(|at| {
                (
                    self.start + length * Rational::whole(i64::from(at)),
                    length,
                    Level::Units(units / parts),
                )
            })
            .collect()
    }

    fn equal<'a>(&self, parts: i64) -> Vec<(Quarters, Quarters, Level<'a>)> {
        let length = self.length / Rational::whole(parts);
        (0..parts)
            .map(|at| (self.start + length * Rational::whole(at), length, Level::Inside))
            .collect()
    }

    /// By how many a stretch inside a written beat is split: 2, or the tuplet's number where notes stand on it.
    fn divisor(&self, onsets: &[Quarters]) -> i64 {
        let mut odd = 1;
        let mut on_half = false;
        for onset in onsets {
            let inside = (*onset - self.start) / self.length;
            on_half |= inside == Rational::new(1, 2);
            let mut part = inside.den().max(1);
            while part % 2 == 0 {
                part /= 2;
            }
            odd = odd.max(part);
        }
        match odd {
            1 => 2,
            _ if on_half => 2,
            n if n % 3 == 0 => 3,
            n => n.min(31),
        }
    }
}

fn score(carried: Option<i32>, terminals: &[Terminal]) -> Option<u32> {
    // The nearest note before that is no stronger: weights kept in rising order, nearest last.
    let mut before: Vec<i32> = carried.into_iter().collect();
    let mut sum: Option<u32> = None;
    for terminal in terminals {
        if terminal.note {
            while before.last().is_some_and(|weight| *weight >= terminal.weight) {
                before.pop();
            }
            before.push(terminal.weight);
            continue;
        }
        let upto = before.partition_point(|weight| *weight <= terminal.weight);
        if let Some(weight) = upto.checked_sub(1).and_then(|at| before.get(at)) {
            let difference = u32::try_from(terminal.weight - weight).unwrap_or(0);
            sum = Some(sum.unwrap_or(0) + difference);
        }
    }
    sum
}

/// Pairs of neighbours only.
fn strict(carried: Option<i32>, terminals: &[Terminal]) -> u32 {
    let mut before = carried;
    let mut sum = 0;
    for terminal in terminals {
        if terminal.note {
            before = Some(terminal.weight);
        } else if let Some(weight) = before {
            sum += u32::try_from(terminal.weight - weight).unwrap_or(0);
        }
    }
    sum
}

fn note_to_beat(bar: &VoiceBar, grid: &BeatGrid) -> f64 {
    let mut sum = 0.0;
    for (at, item) in bar
        .items
        .iter()
        .enumerate()
        .filter(|(_, item)| item.sound == Sound::Note)
    {
        let position = grid.position(item.offset);
        let Some(beat) = grid.beat_at(position).filter(|beat| beat.start < position) else {
            continue;
        };
        let held = bar
            .items
            .iter()
            .skip(at + 1)
            .take_while(|next| next.sound == Sound::Held);
        let end = grid.position(held.fold(item.end(), |_, next| next.end()));
        let near = (position - beat.start).min(beat.end() - position) / beat.length;
        let syncopated = end > beat.end() && end <= beat.end() + beat.length;
        sum += if syncopated { 2.0 } else { 1.0 } / near.to_f64();
    }
    sum
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Context;
    use notation::sketch;
    use proptest::prelude::*;

    fn scores(text: &str) -> Vec<Option<u32>> {
        let piece = sketch(text).unwrap();
        let ctx = Context::new(&piece, 0).unwrap();
        let metre = crate::metre::answer(&ctx, &crate::tempo::marked(&ctx));
        syncopation(&metre.voice, &metre.grids)
            .iter()
            .map(|bar| bar.score)
            .collect()
    }

    /// Source: SynPy, LHL.py, the example in the source: `[1,0,0,1,0,1,1,0]` in 2/4 scores 2.
    #[test]
    fn the_example_of_the_published_code() {
        assert_eq!(scores("metre:2/4 C5/e. C5/e C5/s C5/e |"), [Some(2)]);
    }

    /// Source: Longuet-Higgins & Lee 1984, the rule worked by hand in 4/4 (weights 0 −3 −2 −3 −1 −3 −2 −3).
    #[test]
    fn worked_by_the_rule() {
        assert_eq!(scores("metre:4/4 C5/q C5/q C5/q C5/q |"), [None]);
        assert_eq!(scores("metre:4/4 C5/e C5/q C5/q C5/q C5/e |"), [Some(4)]);
        let over = scores("metre:4/4 C5/q C5/q C5/q C5/e C5/e~ | C5/h C5/h |");
        assert_eq!(over, [None, Some(3)]);
    }

    /// Source: the same rule in 3/4 (weights 0 −2 −1 −2 −1 −2) and 6/8 (0 −2 −2 −1 −2 −2).
    #[test]
    fn metres_of_all_kinds() {
        assert_eq!(scores("metre:3/4 C5/q. C5/q C5/e |"), [Some(1)]);
        assert_eq!(scores("metre:3/4 C5/e C5/q C5/q C5/e |"), [Some(2)]);
        assert_eq!(scores("metre:6/8 C5/e C5/q C5/q C5/e |"), [Some(0)]);
        assert_eq!(scores("metre:6/8 C5/q C5/q C5/q |"), [Some(1)]);
        assert_eq!(scores("metre:6/8 C5/q. C5/q. |"), [None]);
        assert_eq!(scores("metre:2+2+3/8 C5/q. C5/h |"), [Some(1)]);
        assert_eq!(scores("metre:3+2/4 C5/h C5/h C5/q |"), [Some(1)]);
        assert_eq!(scores("metre:12/8 C5/q. C5/h. C5/q. |"), [Some(1)]);
    }

    #[test]
    fn silence_and_tuplets() {
        assert_eq!(scores("metre:4/4 C5/q C5/q C5/q C5/q | R |"), [None, None]);
        assert_eq!(scores("metre:2/4 C5/e:3 C5/e:3 C5/e:3 C5/q |"), [None]);
        assert_eq!(scores("metre:2/4 C5/q:3 C5/q:3 C5/q:3 |"), [None]);
        assert_eq!(scores("metre:6/8 C5/e:2:3 C5/e:2:3 C5/q. |"), [None]);
        // Halves of a split bar and a pickup are not silent beyond their ends.
        assert_eq!(
            scores("metre:4/4 C5/w | C5/q C5/q | C5/q C5/q | C5/w |"),
            [None; 4]
        );
        assert_eq!(scores("metre:4/4 G4/e | C5/w | C5/h. C5/e |")[0], None);
        assert_eq!(scores("metre:1/4 C5/s:5 C5/s:5 C5/s:5 C5/s:5 C5/s:5 |"), [None]);
    }

    /// A plain bar after an upbeat scores by the published code, not by the paper's neighbours.
    #[test]
    fn neighbours_only() {
        let piece =
            sketch("metre:4/4 C5/q C5/q C5/q. C5/e | C5/h C5/q. C5/e | C5/e C5/q C5/e C5/h |").unwrap();
        let ctx = Context::new(&piece, 0).unwrap();
        let metre = crate::metre::answer(&ctx, &crate::tempo::marked(&ctx));
        let found: Vec<(Option<u32>, u32)> = syncopation(&metre.voice, &metre.grids)
            .iter()
            .map(|bar| (bar.score, bar.strict))
            .collect();
        assert_eq!(found, [(Some(0), 0), (Some(1), 0), (Some(1), 1)]);
    }

    /// Source: Gómez et al. 2005 by the definition: on the beat 0; off it 1/T, doubled when held over the next beat.
    #[test]
    fn note_to_beat_distance() {
        let distance = |text: &str| {
            let piece = sketch(text).unwrap();
            let ctx = Context::new(&piece, 0).unwrap();
            let metre = crate::metre::answer(&ctx, &crate::tempo::marked(&ctx));
            syncopation(&metre.voice, &metre.grids)[0].note_to_beat
        };
        let is = |text: &str, asked: f64| assert!((distance(text) - asked).abs() < 1e-12, "{text}");
        is("metre:4/4 C5/q C5/q C5/q C5/q |", 0.0);
        is("metre:4/4 C5/e C5/e C5/q C5/h |", 2.0);
        is("metre:4/4 C5/e C5/q C5/e C5/h |", 6.0);
    }

    /// The published rule word by word on a bar of steps: split by the metre's numbers until a node is one note
    /// followed by nothing, or nothing; weights by depth. Slow twin of [`terminals`] and [`score`].
    fn twin(steps: &[bool], splits: &[usize], weight: i32, depth: usize, out: &mut Vec<(bool, i32)>) {
        let struck = steps.iter().filter(|step| **step).count();
        if struck == 0 || struck == 1 && steps[0] {
            return out.push((struck == 1, weight));
        }
        let below = -i32::try_from(depth + 1).unwrap();
        for (at, part) in steps.chunks(steps.len() / splits[depth]).enumerate() {
            twin(part, splits, if at == 0 { weight } else { below }, depth + 1, out);
        }
    }

    fn twin_score(carried: Option<i32>, nodes: &[(bool, i32)]) -> Option<u32> {
        let all: Vec<(bool, i32)> = carried
            .map(|weight| (true, weight))
            .into_iter()
            .chain(nodes.iter().copied())
            .collect();
        let pairs: Vec<u32> = (0..all.len())
            .filter(|at| !all[*at].0)
            .filter_map(|at| {
                all[..at]
                    .iter()
                    .rev()
                    .find(|node| node.0 && node.1 <= all[at].1)
                    .map(|node| all[at].1 - node.1)
            })
            .map(|difference| u32::try_from(difference).unwrap())
            .collect();
        (!pairs.is_empty()).then(|| pairs.iter().sum())
    }

    proptest! {
        /// Source: Longuet-Higgins & Lee 1984 as implemented in SynPy: two bars of sixteenth steps, notes held to the
        /// next one, against the rule word by word.
        #[test]
        fn agrees_with_the_rule_word_by_word(steps in proptest::collection::vec(any::<bool>(), 32), which in 0usize..4) {
            let (metre, length, splits): (&str, usize, &[usize]) =
                [("4/4", 16, &[2, 2, 2, 2][..]), ("3/4", 12, &[3, 2, 2]), ("6/8", 12, &[2, 3, 2]), ("2/4", 8, &[2, 2, 2])][which];
            let mut text = format!("metre:{metre} ");
            for bar in steps.chunks(16).map(|bar| &bar[..length]) {
                let first = bar.iter().position(|step| *step).unwrap_or(length);
                text.push_str(&"r/s ".repeat(first));
                for (at, step) in bar.iter().enumerate().skip(first) {
                    if *step {
                        let held = bar[at + 1..].iter().take_while(|step| !**step).count();
                        let tie = |n: usize| if n < held { "~" } else { "" };
                        (0..=held).for_each(|n| text.push_str(&format!("C5/s{} ", tie(n))));
                    }
                }
                text.push_str("| ");
            }
            let mut carried = None;
            let mut wanted = Vec::new();
            for bar in steps.chunks(16).map(|bar| &bar[..length]) {
                let mut nodes = Vec::new();
                twin(bar, splits, 0, 0, &mut nodes);
                let sounds = bar.contains(&true);
                wanted.push(if sounds { twin_score(carried, &nodes) } else { None });
                carried = nodes.iter().rev().find(|node| node.0).map(|node| node.1);
            }
            prop_assert_eq!(scores(&text), wanted, "{}", text);
        }

        /// Halving every value and the metre's beat leaves the score alone.
        #[test]
        fn notation_does_not_matter(lengths in proptest::collection::vec(1usize..=4, 1..12)) {
            const EIGHTHS: [&str; 4] = ["e", "q", "q.", "h"];
            const SIXTEENTHS: [&str; 4] = ["s", "e", "e.", "q"];
            let fill = |names: [&str; 4]| {
                let mut left = 8;
                let mut notes = String::new();
                for length in &lengths {
                    let length = (*length).min(left);
                    if length == 0 { break; }
                    notes.push_str(&format!("C5/{} ", names[length - 1]));
                    left -= length;
                }
                for _ in 0..left { notes.push_str(&format!("r/{} ", names[0])); }
                notes
            };
            let slow = scores(&format!("metre:4/4 {} |", fill(EIGHTHS)));
            let fast = scores(&format!("metre:4/8 {} |", fill(SIXTEENTHS)));
            prop_assert_eq!(slow, fast);
        }
    }
}
