//! What goes on the printed sheet? One or two pages to put on the stand before the first note: a plain value, most
//! important things first, with slots for engraved excerpts that the caller fills.
//!
//! It never asks the engraver: [`PrepSheet::slots`] says which bars are wanted with which marks, and [`Excerpts`] brings
//! the pictures back. How much fits is found by trying: [`PrepSheet::at`] gives the sheet with less on it.

mod answers;
mod cautions;
mod excerpts;
mod fit;
mod glossary;
mod html;
mod inline;
mod practice;
mod print;
mod slot;

pub(crate) use answers::proves_key;
pub(crate) use excerpts::alt;
pub use fit::LEVELS;
pub use html::prep_html;
pub(crate) use inline::inline;
pub(crate) use practice::alike;
pub use print::prep_typst;
pub(crate) use slot::STAFF_MM;
pub use slot::{Excerpt, Excerpts, Slot};

use crate::compose::Composed;
use crate::model::{Picture, Tick};

/// The sheet as a value.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct PrepSheet {
    /// The piece's name.
    pub title: String,
    /// Part, composer, length: the line under the title, item by item.
    pub facts: Vec<String>,
    /// For whom, and the date as it was given; empty items are left out.
    pub handed: Vec<String>,
    /// Where to look first.
    pub look_first: Short<Bracket>,
    /// The twelve answers, in the order of the questions.
    pub answers: Vec<Answer>,
    /// Where it will go wrong for this player, the worst first; empty without a study.
    pub spots: Short<Bracket>,
    /// The first tempo and the climb.
    pub climb: Option<Climb>,
    /// Fingerings that matter, with pictures.
    pub fingers: Option<Fingers>,
    /// Where to breathe, or how to bow.
    pub breath: Option<Breathing>,
    /// What comes back, and what is only nearly the same.
    pub returns: Option<Returns>,
    /// The words on the page and what they mean.
    pub glossary: Short<Gloss>,
    /// Cautions at the foot.
    pub cautions: Vec<String>,
    /// The excerpts wanted, in the order in which they stand on the sheet.
    pub slots: Vec<Slot>,
    /// How much was left out to fit, from 0 (nothing).
    pub level: usize,
}

/// A list of which the last may be left out; what is left out is counted and said.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Short<T> {
    /// What is shown.
    pub items: Vec<T>,
    /// How many more there are.
    pub more: usize,
}

/// One of the twelve answers.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Answer {
    /// The question's name (`key`, `road_map`).
    pub id: &'static str,
    /// The question as a heading.
    pub name: &'static str,
    /// The answer.
    pub says: String,
    /// What stands behind it, one or two.
    pub details: Vec<Detail>,
    /// The excerpt that shows it, by the slot's id.
    pub slot: Option<String>,
}

/// One statement with the bars to look at.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Detail {
    /// What kind of statement (`proof`, `count`).
    pub label: String,
    /// The statement.
    pub text: String,
    /// Labels of its bars, runs joined.
    pub bars: Vec<String>,
}

/// Bars to practise or to look at first.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Bracket {
    /// Its rank, from 1.
    pub rank: usize,
    /// The bars: `bars 12–14`.
    pub bars: String,
    /// The downbeat that it goes into (`into bar 15`); may be empty.
    pub into: String,
    /// Why, the strongest first.
    pub reasons: Vec<String>,
    /// What to do about it.
    pub doing: String,
    /// Where it comes again; may be empty.
    pub also: String,
    /// The excerpt that shows it, by the slot's id.
    pub slot: Option<String>,
}

/// The first tempo and the way to the goal.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Climb {
    /// The answer: `Read it first at ♩ = 50–60, then climb to ♩ = 72.`
    pub says: String,
    /// Why, and by which scheme.
    pub details: Vec<Detail>,
    /// Tempi to tick off.
    pub rungs: Short<Tick>,
    /// What to do on the way.
    pub advice: String,
}

/// Fingerings that matter.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Fingers {
    /// In one sentence.
    pub says: String,
    /// Note by note.
    pub notes: Short<Fingered>,
    /// What else the hands should know.
    pub details: Vec<Detail>,
}

/// One note's fingering.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Fingered {
    /// The note.
    pub note: String,
    /// The fingering in words, and why.
    pub text: String,
    /// Labels of its bars.
    pub bars: Vec<String>,
    /// The usual one beside the proposed one.
    pub pictures: Vec<Picture>,
}

/// Where to breathe, or how to bow.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Breathing {
    /// The heading: `Breathe here`, `Bow it like this`.
    pub name: String,
    /// In one sentence.
    pub says: String,
    /// The signs with their places.
    pub signs: Short<Detail>,
}

/// What comes back.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Returns {
    /// In one sentence.
    pub says: String,
    /// The form in letters; may be empty.
    pub form: String,
    /// Bars that are other bars again, or nearly.
    pub bars: Short<Detail>,
}

/// A word on the page.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Gloss {
    /// The word as printed.
    pub term: String,
    /// What it means.
    pub meaning: String,
    /// Labels of its bars.
    pub bars: Vec<String>,
    /// Whether it is a dynamic sign in letters (`mf`).
    pub dynamic: bool,
}

/// What only the person who prints it knows.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Handed {
    /// The player's name, as given; may be empty.
    pub player: String,
    /// The date, as given; may be empty.
    pub date: String,
}

/// The sheet of a surveyed part, with everything on it ([`PrepSheet::at`] takes away what doesn't fit).
///
/// Asks for a whole survey: questions that were not asked stand unanswered.
#[must_use]
pub fn prep_sheet(what: &Composed, handed: &Handed) -> PrepSheet {
    let sheet = crate::compose::compose(what);
    let mut prep = PrepSheet {
        title: sheet.title.clone(),
        facts: facts(&sheet.facts),
        handed: handed_words(handed),
        look_first: practice::look_first(what).into(),
        answers: answers::answers(what, &sheet.sections),
        spots: practice::spots(what).into(),
        climb: practice::climb(&sheet.study),
        fingers: practice::fingers(what, &sheet.study),
        breath: practice::breath(&sheet.study),
        returns: practice::returns(&sheet.study),
        glossary: glossary::glossary(what).into(),
        cautions: cautions::cautions(what),
        slots: Vec::new(),
        level: 0,
    };
    excerpts::place(&mut prep, what);
    prep.at(0)
}

/// The count of notes says nothing on paper.
fn facts(facts: &[String]) -> Vec<String> {
    let counted = |fact: &&String| !(fact.ends_with(" notes") || fact.ends_with(" note"));
    facts.iter().filter(counted).cloned().collect()
}

pub(crate) fn handed_words(handed: &Handed) -> Vec<String> {
    let given = [handed.player.trim(), handed.date.trim()];
    given
        .into_iter()
        .filter(|text| !text.is_empty())
        .map(str::to_owned)
        .collect()
}

impl<T> Default for Short<T> {
    fn default() -> Self {
        Self {
            items: Vec::new(),
            more: 0,
        }
    }
}

impl<T> From<Vec<T>> for Short<T> {
    fn from(items: Vec<T>) -> Self {
        Self { items, more: 0 }
    }
}

impl<T> Short<T> {
    /// Leaves out what is more than so many; a single one more stays, since saying that it is left out takes as much room.
    fn cut(&mut self, most: usize) {
        let over = self.items.len().saturating_sub(most);
        if over == 1 && self.more == 0 && most > 1 {
            return;
        }
        self.items.truncate(most);
        self.more += over;
    }

    /// True if there is nothing to show.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.items.is_empty()
    }
}
