//! Which notes does the line take? The best path through all lines that keep the rules, with a little chance in the balance.
//!
//! Rules that are never broken: chord notes at strong places or steps between them; no tritones, sevenths, augmented or
//! diminished steps; the leading note in minor rises; raised notes resolve. What is weighed: leaps are prepared and turn
//! back, the line follows its curve, notes are not repeated for long.
//! Source: handbook rules of melody and strict counterpoint (common practice); the amounts are ours.
//! The search is exact: for each pair of neighbouring notes the cheapest way there is kept (Viterbi's algorithm, second order).

use super::chance::Chance;
use super::harmony::Chord;
use super::key::Tone;
use super::measure::Ticks;

/// What no line may cost: a rule is broken.
const NEVER: f64 = 1e9;
/// A line that costs so much was forced to break a rule.
pub(super) const BROKEN: f64 = 1e6;

/// One note to be found.
#[derive(Clone, Debug)]
pub(super) struct Slot {
    /// Full bar of the piece that it stands in, from 0; a pickup before the first has 0 and stands before it.
    pub(super) bar: usize,
    /// Ticks from the start of the first full bar; negative in the first pickup.
    pub(super) onset: Ticks,
    pub(super) length: Ticks,
    /// See [`super::measure::Measure::strength`].
    pub(super) strength: u8,
    pub(super) chord: Chord,
    /// Belongs to a pickup.
    pub(super) pickup: bool,
    /// Where the curve of the line is here, in staff steps.
    pub(super) curve: f64,
    /// Which tones may stand here, by index.
    pub(super) choices: Vec<usize>,
}

/// How the line moves.
#[derive(Clone, Copy, Debug)]
pub(super) struct Rules {
    /// Widest leap in semitones.
    pub(super) leap: i32,
    /// How strongly steps are preferred to leaps: 1 is usual.
    pub(super) steps: f64,
    /// Eighths of a pair stay on one pitch.
    pub(super) repeated_pairs: bool,
    /// How much chance weighs.
    pub(super) chance: f64,
    /// An accented note that is not in the chord may resolve down.
    pub(super) leaning: bool,
}

/// The notes of a key with what may follow what.
pub(super) struct Search<'a> {
    pub(super) tones: &'a [Tone],
    pub(super) rules: Rules,
    minor: bool,
    /// What going from one tone to another costs, whatever the time; `NEVER` if it is not done.
    moves: Vec<f64>,
}

impl<'a> Search<'a> {
    pub(super) fn new(tones: &'a [Tone], rules: Rules) -> Self {
        let mut moves = Vec::with_capacity(tones.len() * tones.len());
        for from in tones {
            for to in tones {
                moves.push(leaving(from, to, &rules));
            }
        }
        let minor = tones.iter().any(|tone| tone.raised && tone.degree == 6);
        Self {
            tones,
            rules,
            minor,
            moves,
        }
    }

    fn pair(&self, from: usize, to: usize) -> f64 {
        self.moves
            .get(from * self.tones.len() + to)
            .copied()
            .unwrap_or(NEVER)
    }

    fn tone(&self, index: usize) -> &Tone {
        // Every index given out is one of ours.
        &self.tones[index]
    }

    /// The best line through the slots, and what it costs; `None` if there is none. `before` is the note that the line
    /// comes from, over a breath.
    pub(super) fn line(
        &self,
        slots: &[Slot],
        before: Option<usize>,
        chance: &mut Chance,
    ) -> Option<(f64, Vec<usize>)> {
        let first = slots.first()?;
        let entry: Vec<f64> = first
            .choices
            .iter()
            .map(|to| self.node(first, *to, chance) + before.map_or(0.0, |from| self.over_breath(from, *to)))
            .collect();
        let Some(second) = slots.get(1) else {
            let best = cheapest(&entry)?;
            return Some((*entry.get(best)?, vec![*first.choices.get(best)?]));
        };
        // costs[b][c] for the last pair (b, c); back[slot][b][c] the best a before.
        let nodes: Vec<f64> = second
            .choices
            .iter()
            .map(|c| self.node(second, *c, chance))
            .collect();
        let mut costs: Vec<f64> = Vec::with_capacity(first.choices.len() * second.choices.len());
        for (b, entered) in first.choices.iter().zip(&entry) {
            for (c, node) in second.choices.iter().zip(&nodes) {
                let home = first.chord.has(self.tone(*b)) || first.pickup && second.choices.len() == 1;
                let start = if home || first.pickup && self.is_step(*b, *c) {
                    0.0
                } else {
                    NEVER
                };
                costs.push(entered + node + start + self.step(first, second, *b, *c));
            }
        }
        let mut back: Vec<Vec<u8>> = Vec::with_capacity(slots.len());
        for window in slots.windows(3) {
            let [a_slot, b_slot, c_slot] = window else { break };
            let nodes: Vec<f64> = c_slot
                .choices
                .iter()
                .map(|c| self.node(c_slot, *c, chance))
                .collect();
            let (width, next) = (b_slot.choices.len(), c_slot.choices.len());
            let mut new = vec![NEVER; width * next];
            let mut from = vec![0_u8; width * next];
            for (bi, b) in b_slot.choices.iter().enumerate() {
                for (ci, c) in c_slot.choices.iter().enumerate() {
                    let here = self.step(b_slot, c_slot, *b, *c);
                    if here >= NEVER {
                        continue;
                    }
                    let mut best = (NEVER, 0_usize);
                    for (ai, a) in a_slot.choices.iter().enumerate() {
                        let so_far = costs[ai * width + bi];
                        if so_far < best.0 {
                            let cost = so_far + self.through(*a, *b, *c, b_slot, a_slot);
                            if cost < best.0 {
                                best = (cost, ai);
                            }
                        }
                    }
                    new[bi * next + ci] = best.0 + here + nodes[ci];
                    from[bi * next + ci] = u8::try_from(best.1).unwrap_or(0);
                }
            }
            costs = new;
            back.push(from);
        }
        self.trace(slots, &costs, &back)
    }

    fn trace(&self, slots: &[Slot], costs: &[f64], back: &[Vec<u8>]) -> Option<(f64, Vec<usize>)> {
        let best = cheapest(costs)?;
        let cost = *costs.get(best)?;
        if cost >= BROKEN {
            return None;
        }
        let width = slots.last()?.choices.len();
        let (mut b, mut c) = (best / width, best % width);
        let mut line = vec![c, b];
        for from in back.iter().rev() {
            let next = slots.get(slots.len() + 1 - line.len())?.choices.len();
            let a = usize::from(*from.get(b * next + c)?);
            (c, b) = (b, a);
            line.push(a);
        }
        line.reverse();
        let notes: Option<Vec<usize>> = line
            .iter()
            .zip(slots)
            .map(|(choice, slot)| slot.choices.get(*choice).copied())
            .collect();
        Some((cost, notes?))
    }

    /// What a note costs where it stands.
    fn node(&self, slot: &Slot, index: usize, chance: &mut Chance) -> f64 {
        let tone = self.tone(index);
        let off = (f64::from(tone.diatonic) - slot.curve).abs();
        let chord = slot.chord;
        let strong = match slot.strength {
            // At strong places root and third say the harmony more clearly than fifth and seventh.
            3.. if chord.has(tone) => match (tone.degree - chord.root).rem_euclid(7) {
                6 => 0.8,
                4 => 0.2,
                // A half close rests better on the fifth or second than on the leading note.
                2 if chord.dominant() && slot.length >= 36 => 1.2,
                _ => 0.0,
            },
            _ => 0.0,
        };
        0.22 * off + 0.03 * off * off + strong + self.rules.chance * chance.unit()
    }

    fn is_step(&self, from: usize, to: usize) -> bool {
        (self.tone(to).diatonic - self.tone(from).diatonic).abs() == 1
    }

    /// From one note to the next, weighed by the time there is.
    fn step(&self, from_slot: &Slot, to_slot: &Slot, from: usize, to: usize) -> f64 {
        let plain = self.pair(from, to);
        if plain >= NEVER {
            return NEVER;
        }
        let distance = (self.tone(to).diatonic - self.tone(from).diatonic).abs();
        let times = match from_slot.length {
            ..=8 => 3.2,
            9..=18 => 1.5,
            19..=36 => 1.0,
            _ => 0.8,
        };
        let mut cost = plain * times * self.rules.steps;
        if distance >= 2 && from_slot.length <= 8 && to_slot.length <= 8 {
            cost += 3.0;
        }
        if distance == 0 {
            // Repeated: dull over a bar line, tiring in quick notes.
            cost += if to_slot.strength == 4 { 0.7 } else { 0.0 };
        }
        if self.rules.repeated_pairs && from_slot.length == 12 {
            let pair = from_slot.onset.rem_euclid(24) == 0;
            if pair != (distance == 0) {
                return NEVER;
            }
        }
        cost
    }

    /// What the way through a middle note costs: leaps turn back, foreign notes pass by step.
    fn through(&self, a: usize, b: usize, c: usize, slot: &Slot, a_slot: &Slot) -> f64 {
        let (a, b, c) = (self.tone(a), self.tone(b), self.tone(c));
        let (to, on) = (b.diatonic - a.diatonic, c.diatonic - b.diatonic);
        let home = slot.chord.has(b);
        let mut cost = if home { 0.0 } else { self.foreign(to, on, slot) };
        // In minor the plain seventh outside its own chords falls to the plain sixth.
        let plain_seventh = self.minor && b.degree == 6 && !b.raised && !home;
        if plain_seventh && (on != -1 || c.raised) {
            return NEVER;
        }
        if cost >= NEVER {
            return NEVER;
        }
        let same_way = to * on > 0;
        cost += match (to.abs(), on.abs()) {
            // Two thirds, or a third and a fourth, in one direction: a broken chord.
            (2, 2) if same_way && home => 0.7,
            (2, 3) | (3, 2) if same_way && home => 2.2,
            (2.., 2..) if same_way => 9.0,
            // After a leap the line turns back by step or third.
            (3.., 1) if same_way => 2.6,
            (3.., 0) => 1.2,
            (3.., 3..) => 3.5 * self.rules.steps,
            (3.., 2) => 0.8,
            // A leap is prepared by motion the other way.
            (1, 3..) if same_way => 1.3,
            (2, 2) => 0.5,
            (0, 0) => 2.6,
            _ => 0.0,
        };
        // Back and forth.
        if c.diatonic == a.diatonic && to != 0 {
            cost += if home && slot.strength < a_slot.strength {
                0.5
            } else {
                1.1
            };
        }
        // The leading note rises where the dominant stands; running down the scale it may pass.
        if b.degree == 6 && slot.chord.dominant() && on < 0 && c.degree == 5 {
            cost += 4.0;
        }
        if b.degree == 6 && slot.chord.dominant() && to.abs() >= 3 && on != 1 {
            cost += 4.0;
        }
        // So does the seventh of the dominant fall.
        if b.degree == 3 && slot.chord.dominant() && slot.chord.seventh && on > 1 {
            cost += 3.0;
        }
        cost
    }

    /// A note that is not in the chord: passing, neighbouring, or leaning.
    fn foreign(&self, to: i32, on: i32, slot: &Slot) -> f64 {
        if on.abs() != 1 {
            return NEVER;
        }
        let accented = match slot.strength {
            4 => 7.0,
            3 => 4.5,
            2 => 1.6,
            _ => 0.0,
        };
        let long = if slot.length > 24 { 3.0 } else { 0.0 };
        match to.abs() {
            1 if to == on => 0.1 + accented + long,
            1 => 0.6 + accented + long,
            0 if on == -1 && self.rules.leaning => 1.5 + long,
            0 => NEVER,
            _ if self.rules.leaning && on == -1 && to > 0 && to <= 3 && slot.strength >= 2 => 3.0 + long,
            _ => NEVER,
        }
    }

    /// The start of a phrase after the end of another: a breath lies between.
    fn over_breath(&self, from: usize, to: usize) -> f64 {
        let (from, to) = (self.tone(from), self.tone(to));
        let semitones = (to.number - from.number).abs();
        if semitones > self.rules.leap || matches!(semitones, 6 | 10 | 11) {
            return NEVER;
        }
        // An augmented second is none of these lines, not over a breath either.
        if (to.diatonic - from.diatonic).abs() == 1 && semitones > 2 {
            return NEVER;
        }
        // A leading note left hanging at the end of a phrase is answered by the tonic.
        let answered = from.degree != 6 || to.diatonic == from.diatonic + 1;
        let hangs = if answered { 0.0 } else { 2.0 };
        hangs + 0.25 * f64::from((to.diatonic - from.diatonic).abs())
    }
}

fn cheapest(costs: &[f64]) -> Option<usize> {
    let mut best = None;
    for (index, cost) in costs.iter().enumerate() {
        if best.is_none_or(|(least, _)| *cost < least) {
            best = Some((*cost, index));
        }
    }
    best.map(|(_, index)| index)
}

/// What leaving one tone for another costs.
fn leaving(from: &Tone, to: &Tone, rules: &Rules) -> f64 {
    let steps = to.diatonic - from.diatonic;
    let semitones = (to.number - from.number).abs();
    if semitones > rules.leap {
        return NEVER;
    }
    let plain = match (steps.abs(), semitones) {
        (0, 0) => 1.3,
        (1, 1 | 2) => 0.0,
        (2, 3 | 4) => 0.9,
        (3, 5) => 1.7,
        (4, 7) => 2.2,
        (5, 8 | 9) => 3.2,
        (7, 12) => 3.2,
        _ => return NEVER,
    };
    plain + raised_notes(from, to, steps)
}

/// Where raised notes go, and plain sixth and seventh in minor.
fn raised_notes(from: &Tone, to: &Tone, steps: i32) -> f64 {
    // Up a step, or on the same note.
    let resolves = |from: &Tone| from.degree != 5 && steps == 1 || steps == 0;
    if from.raised {
        return match from.degree {
            // The raised sixth only leads to the raised seventh.
            5 if steps == 1 && to.raised => 0.0,
            5 => NEVER,
            6 if resolves(from) => 0.0,
            // Inside the dominant, before it resolves.
            6 if to.degree == 4 && steps == -2 || to.degree == 1 && steps == 2 => 1.5,
            3 if steps == 1 => 0.0,
            3 if steps == 0 => 1.0,
            _ => NEVER,
        };
    }
    if to.raised {
        return match to.degree {
            // The raised sixth comes from below.
            5 if steps == 1 => 0.0,
            5 => NEVER,
            6 if steps.abs() <= 4 => 0.0,
            6 => 2.0,
            3 if steps.abs() <= 2 => 0.3,
            _ => NEVER,
        };
    }
    0.0
}
