//! Which bars are other bars over again? Exactly, shifted by step or key, or nearly, with the differences in words.
//!
//! A bar that returns costs little to read, unless it differs in one note: then it is the best trap on the page. Bars are
//! compared by what is read in them (onsets, lengths, pitches), never by their marks, which are named as differences.
//!
//! What is done: every bar with at least two notes is looked up among the earlier ones by its rhythm together with
//! its pitches, with its steps, and with its semitones; where none fits, the earlier bars of the same rhythm are
//! compared note by note. Only so many of these are kept, so that long pieces take linear time. The rules are ours.

mod figures;
mod form;
mod near;
mod shape;

pub use figures::{Figure, figures};
pub use form::{Form, Section};

use notation::{BarIndex, Place};
use shape::Shape;
use std::collections::HashMap;
use survey::Context;

/// How one bar is another.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum How {
    /// The same notes.
    Same,
    /// The same notes so many octaves higher (negative: lower).
    Octaves(i32),
    /// The same shape so many staff places higher, in the same key (a sequence).
    Steps(i32),
    /// The same shape in another key: staff places and semitones higher.
    Key {
        /// Staff places.
        steps: i32,
        /// Semitones.
        semitones: i32,
    },
    /// The same but for a few notes; so many staff places higher on the whole.
    Nearly(i32),
}

impl How {
    /// The name in JSON.
    #[must_use]
    pub const fn id(self) -> &'static str {
        match self {
            Self::Same => "same",
            Self::Octaves(_) => "octave",
            Self::Steps(_) => "shifted-by-step",
            Self::Key { .. } => "shifted-by-key",
            Self::Nearly(_) => "nearly",
        }
    }

    /// In words after the bars' names: `is bar 5 a third lower`.
    #[must_use]
    pub fn words(self, like: &str, bar_word: &str) -> String {
        let bar = format!("{bar_word} {like}");
        match self {
            Self::Same => format!("is {bar} again"),
            Self::Octaves(n) => format!("is {bar} {}", shift_words(n * 7)),
            Self::Steps(n) => format!("is {bar} {}", shift_words(n)),
            Self::Key { steps, .. } => format!("is {bar} {} in another key", shift_words(steps)),
            Self::Nearly(0) => format!("is nearly {bar}"),
            Self::Nearly(n) => format!("is nearly {bar} {}", shift_words(n)),
        }
    }
}

/// A distance in staff places in words: `a third lower`, `two octaves higher`.
#[must_use]
pub fn shift_words(steps: i32) -> String {
    const NUMBERS: [&str; 8] = [
        "at the same pitch",
        "a second",
        "a third",
        "a fourth",
        "a fifth",
        "a sixth",
        "a seventh",
        "an octave",
    ];
    let way = if steps < 0 { "lower" } else { "higher" };
    let distance = steps.unsigned_abs() as usize;
    match distance {
        0 => NUMBERS[0].to_owned(),
        1..=7 => format!("{} {way}", NUMBERS[distance]),
        _ if distance.is_multiple_of(7) => format!("{} octaves {way}", distance / 7),
        8..=13 => format!("an octave and {} {way}", NUMBERS[distance - 7]),
        _ => format!("{} octaves and {} {way}", distance / 7, NUMBERS[distance % 7]),
    }
}

/// One bar that is another one.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct LookAlike {
    /// The later bar.
    pub bar: BarIndex,
    /// The earlier bar that it is.
    pub like: BarIndex,
    /// How.
    pub how: How,
    /// What differs, clauses (`the last note is F♮, not F♯`, `staccato here, not there`); empty if nothing does.
    pub differences: Vec<String>,
}

/// A run of bars that are another run, bar by bar, in the same way.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Passage {
    /// First and last of the later bars.
    pub bars: (BarIndex, BarIndex),
    /// First and last of the earlier ones.
    pub like: (BarIndex, BarIndex),
    /// How.
    pub how: How,
}

/// What returns.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct AlikeAnswer {
    /// Each bar that is an earlier one, in order.
    pub look_alikes: Vec<LookAlike>,
    /// Runs of at least two bars among them.
    pub passages: Vec<Passage>,
    /// Figures of a beat or two that come at least three times.
    pub figures: Vec<Figure>,
    /// Bars with notes in them.
    pub bars_with_notes: usize,
    /// How many of them are new to the eye: not the same, shifted or octave of an earlier one.
    pub new_bars: usize,
    /// The form in letters.
    pub form: Form,
    /// The answer in a sentence.
    pub summary: String,
}

impl AlikeAnswer {
    /// What a bar is, if it is an earlier one.
    #[must_use]
    pub fn of(&self, bar: BarIndex) -> Option<&LookAlike> {
        let at = self
            .look_alikes
            .binary_search_by_key(&bar, |alike| alike.bar)
            .ok()?;
        self.look_alikes.get(at)
    }
}

/// Earlier bars of one rhythm that are compared note by note; more are not looked at (ours).
const MOST_NEAR: usize = 24;

/// Fewest notes of a bar that is told to be another one moved: any two notes are like some other two (ours).
const MOVED: usize = 3;

/// Answers for a part. `bounds` are the places where sections begin (double bars, repeats, rehearsal marks), in order.
#[must_use]
pub fn answer(ctx: &Context, bounds: &[BarIndex]) -> AlikeAnswer {
    let shapes: Vec<Shape> = (0..ctx.piece.bars.len())
        .map(|bar| Shape::of(ctx.part, BarIndex::from_usize(bar)))
        .collect();
    let look_alikes = look_alikes(&shapes);
    let bars_with_notes = shapes.iter().filter(|shape| shape.notes > 0).count();
    let known = look_alikes
        .iter()
        .filter(|alike| !matches!(alike.how, How::Nearly(_)))
        .count();
    let mut answer = AlikeAnswer {
        passages: passages(&look_alikes),
        figures: figures(ctx),
        bars_with_notes,
        new_bars: bars_with_notes.saturating_sub(known),
        form: form::form(&shapes, &look_alikes, bounds),
        look_alikes,
        summary: String::new(),
    };
    answer.summary = summary(&answer);
    answer
}

fn summary(answer: &AlikeAnswer) -> String {
    let bars = |n: usize| format!("{n} bar{}", if n == 1 { "" } else { "s" });
    let returns = answer.bars_with_notes - answer.new_bars;
    let nearly = answer.look_alikes.len().saturating_sub(returns);
    let mut text = if returns == 0 {
        format!(
            "none of the {} comes back unchanged",
            bars(answer.bars_with_notes)
        )
    } else {
        format!(
            "{} of {} are new; {returns} come back, the same or shifted",
            answer.new_bars,
            bars(answer.bars_with_notes)
        )
    };
    if nearly > 0 {
        text.push_str(&format!(
            "; {nearly} nearly: there it is easy to play the wrong one"
        ));
    }
    text
}

/// For each bar the best earlier one.
fn look_alikes(shapes: &[Shape]) -> Vec<LookAlike> {
    let mut exact: HashMap<u64, usize> = HashMap::new();
    let mut by_steps: HashMap<u64, usize> = HashMap::new();
    let mut by_key: HashMap<u64, usize> = HashMap::new();
    let mut by_rhythm: HashMap<u64, Vec<usize>> = HashMap::new();
    let mut found = Vec::new();
    for (bar, shape) in shapes.iter().enumerate().filter(|(_, shape)| shape.notes >= 2) {
        let near = by_rhythm.entry(shape.rhythm).or_default();
        let earlier = exact
            .get(&shape.exact)
            .or_else(|| by_steps.get(&shape.by_steps).filter(|_| shape.notes >= MOVED))
            .or_else(|| by_key.get(&shape.by_key).filter(|_| shape.notes >= MOVED));
        let alike = earlier
            .and_then(|like| {
                shapes
                    .get(*like)
                    .and_then(|other| how(shape, other))
                    .map(|how| (*like, how))
            })
            .or_else(|| near::nearest(shape, near, shapes));
        if let Some((like, how)) = alike
            && let Some(other) = shapes.get(like)
        {
            found.push(LookAlike {
                bar: BarIndex::from_usize(bar),
                like: BarIndex::from_usize(like),
                how,
                differences: near::differences(shape, other, how),
            });
        }
        if !exact.contains_key(&shape.exact) && near.len() < MOST_NEAR {
            near.push(bar);
        }
        exact.entry(shape.exact).or_insert(bar);
        by_steps.entry(shape.by_steps).or_insert(bar);
        by_key.entry(shape.by_key).or_insert(bar);
    }
    found
}

/// How a bar with the same rhythm is another, if it wholly is.
fn how(shape: &Shape, other: &Shape) -> Option<How> {
    let (steps, semitones) = shape.shift_from(other)?;
    Some(match (steps, semitones) {
        (Some(0), Some(0)) => How::Same,
        // The same staff places, but an accidental differs.
        (Some(0), None) => How::Nearly(0),
        (Some(steps), Some(semitones)) if steps % 7 == 0 && semitones * 7 == steps * 12 => {
            How::Octaves(steps / 7)
        }
        // Every note moved by as many semitones: the same scale degrees of another key.
        (Some(steps), Some(semitones)) => How::Key { steps, semitones },
        (Some(steps), None) => How::Steps(steps),
        (None, _) => return None,
    })
}

/// Neighbouring look-alikes that stand to neighbouring bars in the same way.
fn passages(look_alikes: &[LookAlike]) -> Vec<Passage> {
    let mut runs: Vec<Passage> = Vec::new();
    for alike in look_alikes
        .iter()
        .filter(|alike| !matches!(alike.how, How::Nearly(_)))
    {
        match runs.last_mut() {
            Some(run)
                if run.bars.1.next() == alike.bar
                    && run.like.1.next() == alike.like
                    && run.how == alike.how =>
            {
                run.bars.1 = alike.bar;
                run.like.1 = alike.like;
            }
            _ => runs.push(Passage {
                bars: (alike.bar, alike.bar),
                like: (alike.like, alike.like),
                how: alike.how,
            }),
        }
    }
    runs.retain(|run| run.bars.0 != run.bars.1);
    runs
}

/// Where a note of a bar stands, in words: `the first note`, `the last note`, `note 3`.
fn note_words(index: usize, notes: usize) -> String {
    match index {
        0 => "the first note".to_owned(),
        n if n + 1 == notes => "the last note".to_owned(),
        n => format!("note {}", n + 1),
    }
}

/// The place of the first event of a bar.
fn start(bar: BarIndex) -> Place {
    Place::start_of(bar)
}

#[cfg(test)]
mod tests;
