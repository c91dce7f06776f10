//! Which bars are other bars over again, as JSON? Look-alikes, passages, figures, the form in letters.

use super::Said;
use crate::at::AtBeat;
use load::alike::{Figure, Form, LookAlike, Passage};
use schemars::JsonSchema;
use serde::Serialize;

/// A bar that is an earlier one.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct LookAlikeSaid {
    /// The later bar's printed label.
    pub bar: String,
    /// That bar counted from 0.
    pub bar_index: u32,
    /// Label of the earlier bar that it is.
    pub like_bar: String,
    /// That bar counted from 0.
    pub like_bar_index: u32,
    /// `same`, `octave`, `shifted-by-step`, `shifted-by-key` or `nearly`.
    pub how: String,
    /// In words: `is bar 5 a third lower`.
    pub says: String,
    /// What differs, clauses; empty if nothing does.
    pub differences: Vec<String>,
}

/// What the look-alikes come to.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct LookAlikesMore {
    /// Bars that are new to the eye: not the same, shifted or an octave of an earlier one.
    pub new_bars: usize,
    /// Bars with notes in them.
    pub bars_with_notes: usize,
    /// The form.
    pub form: FormSaid,
    /// Runs of at least two bars that are an earlier run, bar by bar, in the same way.
    pub passages: Vec<PassageSaid>,
    /// Figures of a beat or two that come at least three times, on whatever pitch.
    pub figures: Vec<FigureSaid>,
    /// In a sentence.
    pub summary: String,
}

/// The form in letters.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct FormSaid {
    /// `A A′ B A`.
    pub letters: String,
    /// True if the sections stand on the page (double bars, repeats, rehearsal marks), false if they are counted off.
    pub printed: bool,
    /// The sections, in order.
    pub sections: Vec<SectionSaid>,
}

/// A section.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct SectionSaid {
    /// `A`, `B` …, with a prime where it is an earlier one changed.
    pub letter: String,
    /// Label of its first bar.
    pub from_bar: String,
    /// That bar counted from 0.
    pub from_bar_index: u32,
    /// Label of its last bar.
    pub to_bar: String,
    /// That bar counted from 0.
    pub to_bar_index: u32,
}

/// A run of bars that returns.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct PassageSaid {
    /// Label of the first of the later bars.
    pub from_bar: String,
    /// That bar counted from 0.
    pub from_bar_index: u32,
    /// Label of the last of them.
    pub to_bar: String,
    /// That bar counted from 0.
    pub to_bar_index: u32,
    /// Label of the first of the earlier bars.
    pub like_from_bar: String,
    /// That bar counted from 0.
    pub like_from_bar_index: u32,
    /// Label of the last of them.
    pub like_to_bar: String,
    /// That bar counted from 0.
    pub like_to_bar_index: u32,
    /// As in `look_alikes`.
    pub how: String,
}

/// A figure that comes again and again.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct FigureSaid {
    /// Its notes.
    pub notes: usize,
    /// How long it is, in quarter notes.
    pub quarters: f64,
    /// How often it comes.
    pub times: usize,
    /// On how many different pitches it starts.
    pub starts: usize,
    /// Where it comes, in order.
    pub places: Vec<AtBeat>,
}

pub(super) fn look_alikes(said: Said) -> Vec<LookAlikeSaid> {
    let one = |alike: &LookAlike| {
        let like_bar = said.places.label(alike.like);
        LookAlikeSaid {
            bar: said.places.label(alike.bar),
            bar_index: alike.bar.0,
            how: alike.how.id().to_owned(),
            says: alike.how.words(&like_bar, "bar"),
            like_bar,
            like_bar_index: alike.like.0,
            differences: alike.differences.clone(),
        }
    };
    said.study.alike.look_alikes.iter().map(one).collect()
}

pub(super) fn more(said: Said) -> LookAlikesMore {
    let answer = &said.study.alike;
    LookAlikesMore {
        new_bars: answer.new_bars,
        bars_with_notes: answer.bars_with_notes,
        form: form(&answer.form, said),
        passages: answer.passages.iter().map(|run| passage(run, said)).collect(),
        figures: answer.figures.iter().map(|one| figure(one, said)).collect(),
        summary: answer.summary.clone(),
    }
}

fn form(form: &Form, said: Said) -> FormSaid {
    let places = said.places;
    FormSaid {
        letters: form.letters(),
        printed: form.printed,
        sections: form
            .sections
            .iter()
            .map(|section| SectionSaid {
                letter: section.letter.clone(),
                from_bar: places.label(section.bars.0),
                from_bar_index: section.bars.0.0,
                to_bar: places.label(section.bars.1),
                to_bar_index: section.bars.1.0,
            })
            .collect(),
    }
}

fn passage(run: &Passage, said: Said) -> PassageSaid {
    let label = |bar| said.places.label(bar);
    PassageSaid {
        from_bar: label(run.bars.0),
        from_bar_index: run.bars.0.0,
        to_bar: label(run.bars.1),
        to_bar_index: run.bars.1.0,
        like_from_bar: label(run.like.0),
        like_from_bar_index: run.like.0.0,
        like_to_bar: label(run.like.1),
        like_to_bar_index: run.like.1.0,
        how: run.how.id().to_owned(),
    }
}

fn figure(figure: &Figure, said: Said) -> FigureSaid {
    FigureSaid {
        notes: figure.notes,
        quarters: figure.length.to_f64(),
        times: figure.places.len(),
        starts: figure.starts,
        places: figure.places.iter().map(|place| said.at(*place, None)).collect(),
    }
}
