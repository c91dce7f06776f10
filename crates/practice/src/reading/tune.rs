//! How do form, harmony, rhythm and line become a tune? Phrase by phrase; what returns is taken over, what is new is searched.

use super::chance::Chance;
use super::figure::Figures;
use super::form::{self, Cadence, Phrase};
use super::harmony::{Chord, Chords};
use super::key::{Key, Tone, tones};
use super::line::{Rules, Search, Slot};
use super::measure::{Measure, Ticks};
use super::rhythm::{BarRhythm, Material, Palette};
use notation::Pitch;

/// What is to be composed, down to the last choice.
#[derive(Clone, Debug)]
pub(super) struct Sketch {
    pub(super) key: Key,
    pub(super) measure: Measure,
    pub(super) bars: usize,
    pub(super) pickup: bool,
    /// What the rhythm draws from.
    pub(super) palette: Palette,
    /// What it must hold.
    pub(super) must: Figures,
    pub(super) low: Pitch,
    pub(super) high: Pitch,
    /// Notes that the player can't take.
    pub(super) avoid: Vec<Pitch>,
    /// Single notes raised before a dominant.
    pub(super) chromatic: bool,
    pub(super) rules: Rules,
}

/// A note of the tune.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Note {
    /// Ticks from the first full bar's start; negative in the pickup.
    pub(super) onset: Ticks,
    pub(super) length: Ticks,
    pub(super) pitch: Pitch,
    pub(super) diatonic: i32,
    /// Which phrase.
    pub(super) phrase: usize,
    /// Letter, pattern and place in it: what is alike is articulated alike. `None` in pickups and closes.
    pub(super) motif: Option<(u8, usize, usize)>,
}

/// A tune.
#[derive(Clone, Debug)]
pub(super) struct Tune {
    pub(super) notes: Vec<Note>,
    pub(super) phrases: Vec<Phrase>,
    /// Length of the pickup; 0 without.
    pub(super) pickup: Ticks,
    /// Index of the highest note.
    pub(super) top: Option<usize>,
}

/// A bar's place in a phrase with its rhythm.
struct Laid {
    slots: Vec<Slot>,
    motifs: Vec<Option<(u8, usize, usize)>>,
}

struct Composer<'a> {
    sketch: &'a Sketch,
    search: Search<'a>,
    pickup: BarRhythm,
    phrases: Vec<Phrase>,
    chords: Vec<Vec<[Chord; 2]>>,
    laid: Vec<Laid>,
    /// First full bar of each phrase.
    starts: Vec<usize>,
    /// Lines found, as indices into the tones.
    lines: Vec<Vec<usize>>,
}

/// Composes a tune; `None` where the rules leave no line (another try may find one).
pub(super) fn compose(sketch: &Sketch, chance: &mut Chance) -> Option<Tune> {
    let mut notes = tones(sketch.key, sketch.low, sketch.high, sketch.chromatic);
    notes.retain(|tone| !sketch.avoid.iter().any(|pitch| pitch.key_number() == tone.number));
    if notes.len() < 4 {
        return None;
    }
    let mut composer = Composer::lay_out(sketch, &notes, chance);
    let top = composer.climax(chance)?;
    for phrase in 0..composer.phrases.len() {
        let line = composer.phrase_line(phrase, chance)?;
        composer.lines.push(line);
    }
    let tune = composer.tune(top);
    (!wanders(&tune) && !runs_on(&tune)).then_some(tune)
}

impl<'a> Composer<'a> {
    fn lay_out(sketch: &'a Sketch, notes: &'a [Tone], chance: &mut Chance) -> Self {
        let phrases = form::phrases(sketch.bars, chance);
        let pickup = if sketch.pickup {
            sketch.palette.pickup(&sketch.measure, chance)
        } else {
            Vec::new()
        };
        let chords_of = Chords {
            minor: sketch.key.minor,
            chromatic: sketch.chromatic,
        };
        let mut composer = Self {
            sketch,
            search: Search::new(notes, sketch.rules),
            pickup,
            chords: Vec::new(),
            laid: Vec::new(),
            starts: Vec::new(),
            lines: Vec::new(),
            phrases: phrases.clone(),
        };
        let mut materials: Vec<(u8, Material)> = Vec::new();
        let mut bar = 0;
        for (index, phrase) in phrases.iter().enumerate() {
            let kept = phrase.returns.map_or(0, |_| kept_bars(phrase));
            let opening = phrase
                .returns
                .and_then(|first| composer.chords.get(first))
                .map_or(&[][..], |bars| bars.get(..kept).unwrap_or(&[]));
            let chords = chords_of.phrase(phrase, opening, chance);
            let material = materials
                .iter()
                .find(|(letter, _)| *letter == phrase.letter)
                .map(|(_, material)| material.clone());
            let material = material.unwrap_or_else(|| {
                let first = materials.first().map(|(_, material)| material);
                let must = if first.is_none() {
                    sketch.must
                } else {
                    Figures::PLAIN
                };
                let new = sketch
                    .palette
                    .material(&sketch.measure, phrase, must, first, chance);
                materials.push((phrase.letter, new.clone()));
                new
            });
            let last = index + 1 == phrases.len();
            let laid = composer.lay_phrase(phrase, bar, &chords, &material, last, chance);
            composer.starts.push(bar);
            composer.chords.push(chords);
            composer.laid.push(laid);
            bar += phrase.bars;
        }
        composer
    }

    fn pickup_length(&self) -> Ticks {
        self.pickup.iter().map(|length| length.abs()).sum()
    }

    fn lay_phrase(
        &self,
        phrase: &Phrase,
        first_bar: usize,
        chords: &[[Chord; 2]],
        material: &Material,
        last: bool,
        chance: &mut Chance,
    ) -> Laid {
        let measure = &self.sketch.measure;
        let length = measure.length();
        let mut laid = Laid {
            slots: Vec::new(),
            motifs: Vec::new(),
        };
        let start = ticks(first_bar) * length;
        let mut put = |rhythm: &[Ticks], bar: usize, at: Ticks, pickup: bool, motif: Option<(u8, usize)>| {
            let mut onset = at;
            for length_here in rhythm {
                if *length_here > 0 {
                    let in_bar = onset.rem_euclid(length);
                    let half = usize::from(in_bar >= measure.middle());
                    let chord = if pickup {
                        chords.first().map(|bar| bar[0])
                    } else {
                        chords.get(bar - first_bar).map(|bar| bar[half])
                    };
                    laid.motifs
                        .push(motif.map(|(letter, pattern)| (letter, pattern, laid.slots.len())));
                    laid.slots.push(Slot {
                        bar,
                        onset,
                        length: *length_here,
                        strength: measure.strength(in_bar),
                        chord: chord.unwrap_or(super::harmony::TONIC),
                        pickup,
                        curve: 0.0,
                        choices: Vec::new(),
                    });
                }
                onset += length_here.abs();
            }
        };
        put(&self.pickup, first_bar, start - self.pickup_length(), true, None);
        let body = phrase.bars.saturating_sub(1);
        for index in 0..body {
            let which = material
                .order
                .get(index)
                .or(material.order.last())
                .copied()
                .unwrap_or(0);
            let none = BarRhythm::new();
            let pattern = material.patterns.get(which).unwrap_or(&none);
            let bar = first_bar + index;
            put(
                pattern,
                bar,
                ticks(bar) * length,
                false,
                Some((phrase.letter, which)),
            );
        }
        let close = self
            .sketch
            .palette
            .close(measure, length - self.pickup_length(), last, chance);
        let bar = first_bar + body;
        put(&close, bar, ticks(bar) * length, false, None);
        // The place in the pattern is counted from the bar's first note.
        let mut count = (usize::MAX, 0);
        for (slot, motif) in laid.slots.iter().zip(&mut laid.motifs) {
            if let Some((_, _, place)) = motif {
                count = if count.0 == slot.bar {
                    (slot.bar, count.1 + 1)
                } else {
                    (slot.bar, 0)
                };
                *place = count.1;
            }
        }
        laid
    }

    /// Chooses the one high point, and which notes may stand where; gives the climax (phrase and slot).
    fn climax(&mut self, chance: &mut Chance) -> Option<(usize, usize)> {
        let total = ticks(self.sketch.bars) * self.sketch.measure.length();
        let tones = self.search.tones;
        let highest = tones.last()?.diatonic;
        let mut offered: Vec<(usize, usize, usize)> = Vec::new();
        let mut shares = Vec::new();
        for (at, phrase) in self.phrases.iter().enumerate() {
            let returned = self.phrases.iter().any(|other| other.returns == Some(at));
            let copied = phrase.returns.is_some() || returned;
            let kept = if copied { kept_bars(phrase) } else { 0 };
            let Some(laid) = self.laid.get(at) else { continue };
            // The last notes of a closed phrase are the cadence's own.
            let own = usize::from(phrase.cadence == Cadence::Full) + 1;
            for (index, slot) in laid
                .slots
                .iter()
                .enumerate()
                .take(laid.slots.len().saturating_sub(own))
            {
                let in_phrase = slot.bar - self.starts.get(at).copied().unwrap_or(0);
                if slot.pickup || in_phrase < kept || in_phrase + 1 >= phrase.bars.max(2) {
                    continue;
                }
                let top = tones
                    .iter()
                    .rposition(|tone| slot.chord.has(tone) && !tone.raised && tone.diatonic >= highest - 2);
                let Some(top) = top.filter(|_| slot.strength >= 1 && slot.length >= 12) else {
                    continue;
                };
                // Two thirds through, at a strong place, on a longer note.
                let through = f64::from(slot.onset) / f64::from(total.max(1));
                let place = 1.0 / (1.0 + 30.0 * (through - 0.64) * (through - 0.64));
                let strong = f64::from(slot.strength) * f64::from(slot.length.min(48));
                offered.push((at, index, top));
                shares.push(place * place * strong);
            }
        }
        let chosen = chance.weighted(&shares).and_then(|at| offered.get(at).copied());
        let (phrase, slot, top) = chosen?;
        let top_tone = *tones.get(top)?;
        self.curves(top_tone.diatonic, phrase, slot, chance);
        for (at, laid) in self.laid.iter_mut().enumerate() {
            let slots = laid.slots.len();
            let full = self
                .phrases
                .get(at)
                .is_some_and(|phrase| phrase.cadence == Cadence::Full);
            let last_phrase = at + 1 == self.phrases.len();
            for (index, one) in laid.slots.iter_mut().enumerate() {
                one.choices = if (at, index) == (phrase, slot) {
                    vec![top]
                } else {
                    let ends = index + 1 == slots;
                    let before_end = full && index + 2 == slots;
                    (0..tones.len())
                        .filter(|tone| {
                            let tone = &tones[*tone];
                            let below = tone.diatonic < top_tone.diatonic && tone.number < top_tone.number;
                            let close = !ends || closes(full, last_phrase, tone, one.chord);
                            let leads =
                                !before_end || matches!(tone.degree, 1 | 6) && !plain_leading(tone, tones);
                            below && close && leads
                        })
                        .collect()
                };
            }
        }
        Some((phrase, slot))
    }

    /// Draws the curve of each phrase: up and down again, the whole leading to the climax.
    fn curves(&mut self, top: i32, climax_phrase: usize, climax_slot: usize, chance: &mut Chance) {
        let tones = self.search.tones;
        let low = tones.first().map_or(0, |tone| tone.diatonic);
        let room = f64::from((top - low).max(1));
        let climax_at = self
            .laid
            .get(climax_phrase)
            .and_then(|laid| laid.slots.get(climax_slot))
            .map_or(0, |slot| slot.onset);
        let phrases = self.phrases.clone();
        let mut shapes: Vec<(u8, [f64; 4])> = Vec::new();
        for (at, phrase) in phrases.iter().enumerate() {
            let known = shapes.iter().find(|(letter, _)| *letter == phrase.letter);
            let shape = match known {
                Some((_, shape)) => *shape,
                None => {
                    let drawn = shape(phrase.away, chance);
                    shapes.push((phrase.letter, drawn));
                    drawn
                }
            };
            let [start, peak_at, mut peak, end] = shape;
            let Some(laid) = self.laid.get_mut(at) else {
                continue;
            };
            let from = laid.slots.first().map_or(0, |slot| slot.onset);
            let to = laid
                .slots
                .last()
                .map_or(from + 1, |slot| slot.onset)
                .max(from + 1);
            let span = f64::from(to - from);
            let mut peak_at = peak_at;
            if at == climax_phrase {
                peak = 1.0;
                peak_at = (f64::from(climax_at - from) / span).clamp(0.05, 0.95);
            }
            let end = if phrase.cadence == Cadence::Full {
                end * 0.7
            } else {
                end
            };
            for slot in &mut laid.slots {
                let x = f64::from(slot.onset - from) / span;
                let height = if x <= peak_at {
                    start + (peak - start) * x / peak_at
                } else {
                    peak + (end - peak) * (x - peak_at) / (1.0 - peak_at)
                };
                slot.curve = f64::from(low) + height * room;
            }
        }
    }

    /// The line of a phrase: what returns is kept, a motif may come again on another step, the rest is searched.
    fn phrase_line(&self, at: usize, chance: &mut Chance) -> Option<Vec<usize>> {
        let phrase = self.phrases.get(at)?;
        let laid = self.laid.get(at)?;
        let before = self.lines.last().and_then(|line| line.last().copied());
        if let Some(first) = phrase.returns {
            let kept = kept_bars(phrase);
            // All that returns; without its last note; only its first half.
            for less in 0..3 {
                let slots = self.returning(at, first, kept, less);
                if let Some((_, line)) = self.search.line(&slots, before, chance) {
                    return Some(line);
                }
            }
        }
        let free = self.search.line(&laid.slots, before, chance)?;
        let Some((motif, again)) = self.sequence_bars(at) else {
            return Some(free.1);
        };
        let mut best: Option<(f64, Vec<usize>)> = None;
        for shift in [1, -1, 2, -2, 3, -3] {
            let Some(slots) = self.shifted(at, &free.1, motif, again, shift) else {
                continue;
            };
            if let Some((cost, line)) = self.search.line(&slots, before, chance) {
                // A step away is the usual sequence.
                let cost = cost + 1.2 * f64::from(shift.abs()) + 3.0 * chance.unit();
                if best.as_ref().is_none_or(|(least, _)| cost < *least) {
                    best = Some((cost, line));
                }
            }
        }
        match best {
            Some((cost, line)) if cost < free.0 + 9.0 => Some(line),
            _ => Some(free.1),
        }
    }

    /// The phrase's slots with the beginning of an earlier one put in.
    fn returning(&self, at: usize, first: usize, kept: usize, less: usize) -> Vec<Slot> {
        let (Some(laid), Some(model), Some(line)) =
            (self.laid.get(at), self.laid.get(first), self.lines.get(first))
        else {
            return Vec::new();
        };
        let mut slots = laid.slots.clone();
        let start = self.starts.get(at).copied().unwrap_or(0);
        let keep_bars = if less == 2 {
            kept.div_ceil(2).min(kept - usize::from(kept > 1))
        } else {
            kept
        };
        let mut keep = slots
            .iter()
            .take_while(|slot| slot.pickup || slot.bar - start < keep_bars)
            .count();
        keep = keep.saturating_sub(usize::from(less == 1)).min(model.slots.len());
        for (index, (slot, tone)) in slots.iter_mut().zip(line).enumerate().take(keep) {
            if model.slots.get(index).is_some_and(|of| of.length == slot.length) {
                slot.choices = vec![*tone];
            }
        }
        slots
    }

    /// Two bars of the phrase with one rhythm, of which the second may follow the first on another step.
    fn sequence_bars(&self, at: usize) -> Option<(usize, usize)> {
        let laid = self.laid.get(at)?;
        let start = *self.starts.get(at)?;
        let pattern = |bar: usize| {
            laid.slots
                .iter()
                .zip(&laid.motifs)
                .find(|(slot, _)| slot.bar == start + bar && !slot.pickup)
                .and_then(|(_, motif)| motif.map(|(_, pattern, _)| pattern))
        };
        let first = pattern(0)?;
        let body = self.phrases.get(at)?.bars.saturating_sub(1);
        (1..body)
            .find(|bar| pattern(*bar) == Some(first))
            .map(|bar| (start, start + bar))
    }

    /// The slots with the motif kept and put on another step in the later bar.
    fn shifted(
        &self,
        at: usize,
        line: &[usize],
        motif: usize,
        again: usize,
        shift: i32,
    ) -> Option<Vec<Slot>> {
        let laid = self.laid.get(at)?;
        let tones = self.search.tones;
        let mut slots = laid.slots.clone();
        let of_bar = |bar: usize| {
            laid.slots
                .iter()
                .enumerate()
                .filter(move |(_, slot)| slot.bar == bar && !slot.pickup)
                .map(|(index, _)| index)
        };
        for (from, to) in of_bar(motif).zip(of_bar(again)) {
            let tone = *line.get(from)?;
            let wanted = tones.get(tone)?.diatonic + shift;
            let here: Vec<usize> = slots
                .get(to)?
                .choices
                .iter()
                .copied()
                .filter(|choice| tones.get(*choice).is_some_and(|tone| tone.diatonic == wanted))
                .collect();
            if here.is_empty() {
                return None;
            }
            slots.get_mut(from)?.choices = vec![tone];
            slots.get_mut(to)?.choices = here;
        }
        Some(slots)
    }

    fn tune(&self, top: (usize, usize)) -> Tune {
        let mut notes = Vec::new();
        let mut highest = None;
        for (phrase, (laid, line)) in self.laid.iter().zip(&self.lines).enumerate() {
            for (index, (slot, tone)) in laid.slots.iter().zip(line).enumerate() {
                let Some(tone) = self.search.tones.get(*tone) else {
                    continue;
                };
                if (phrase, index) == top {
                    highest = Some(notes.len());
                }
                notes.push(Note {
                    onset: slot.onset,
                    length: slot.length,
                    pitch: tone.pitch,
                    diatonic: tone.diatonic,
                    phrase,
                    motif: laid.motifs.get(index).copied().flatten(),
                });
            }
        }
        Tune {
            notes,
            phrases: self.phrases.clone(),
            pickup: self.pickup_length(),
            top: highest,
        }
    }
}

/// How many bars of a phrase return with it: the first half of what stands before the close.
fn kept_bars(phrase: &Phrase) -> usize {
    phrase.bars.saturating_sub(1).div_ceil(2)
}

/// Whether a phrase may end on a note: the tonic (at an inner close also the third); at a half close any note of the dominant.
fn closes(full: bool, last_phrase: bool, tone: &Tone, chord: Chord) -> bool {
    match (full, last_phrase) {
        (true, true) => tone.degree == 0,
        (true, false) => matches!(tone.degree, 0 | 2) && !tone.raised,
        (false, _) => chord.has(tone),
    }
}

/// The seventh of a minor scale without its sharp.
fn plain_leading(tone: &Tone, tones: &[Tone]) -> bool {
    tone.degree == 6 && !tone.raised && tones.iter().any(|other| other.degree == 6 && other.raised)
}

/// Height of a phrase's curve at its start, where its peak lies, how high that is, and the end; 0 is the lowest note, 1 the top.
fn shape(away: bool, chance: &mut Chance) -> [f64; 4] {
    let shapes: &[[f64; 4]] = if away {
        &[
            [0.5, 0.45, 0.85, 0.5],
            [0.8, 0.1, 0.85, 0.35],
            [0.35, 0.8, 0.85, 0.7],
        ]
    } else {
        &[
            [0.3, 0.6, 0.75, 0.4],
            [0.35, 0.7, 0.7, 0.5],
            [0.6, 0.3, 0.75, 0.3],
            [0.25, 0.5, 0.6, 0.35],
        ]
    };
    chance.pick(shapes).unwrap_or([0.3, 0.6, 0.75, 0.4])
}

/// Lines that rock between two notes, or stand on one, are not worth reading.
fn wanders(tune: &Tune) -> bool {
    let heights: Vec<i32> = tune.notes.iter().map(|note| note.diatonic).collect();
    let rocks = heights
        .windows(5)
        .any(|five| five[0] == five[2] && five[2] == five[4] && five[1] == five[3] && five[0] != five[1]);
    let stands = heights
        .windows(4)
        .any(|four| four.iter().all(|height| *height == four[0]));
    rocks || stands
}

/// The most steps one after another in even notes, and in any: beyond a phrase of them a line is a five-finger exercise, which is
/// not read note by note, and which many a tune shares. Judgement: two bars of even eighths, and half as much again.
const EVEN_STEPS: usize = 15;
const STEPS: usize = 23;
/// The compass, in steps, within which thirds among the steps make no difference: a hexachord.
const HEXACHORD: i32 = 5;

/// Scales up and down without an end, or even notes to and fro within a hexachord, in which there is nothing to find.
fn runs_on(tune: &Tune) -> bool {
    let (mut even, mut any) = (0, 0);
    let scales = tune.notes.windows(2).any(|pair| {
        let step = (pair[1].diatonic - pair[0].diatonic).abs() == 1;
        any = if step { any + 1 } else { 0 };
        even = if step && pair[0].length == pair[1].length {
            even + 1
        } else {
            0
        };
        even > EVEN_STEPS || any > STEPS
    });
    scales || tune.notes.windows(EVEN_STEPS + 1).any(goes_to_and_fro)
}

/// Whether these notes are all of one length, within a hexachord, and move by no more than thirds.
fn goes_to_and_fro(notes: &[Note]) -> bool {
    let heights = || notes.iter().map(|note| note.diatonic);
    let compass = heights().max().unwrap_or(0) - heights().min().unwrap_or(0);
    let even = notes.windows(2).all(|pair| pair[0].length == pair[1].length);
    let close = notes
        .windows(2)
        .all(|pair| (1..=2).contains(&(pair[1].diatonic - pair[0].diatonic).abs()));
    compass <= HEXACHORD && even && close
}

fn ticks(number: usize) -> Ticks {
    Ticks::try_from(number).unwrap_or(Ticks::MAX / 1024)
}
