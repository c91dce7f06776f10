//! What do this teacher's marks mean? Which she wants, by which sign and pencil, how many on a page, in whose words.

mod read;
#[cfg(test)]
mod tests;

use crate::Matter;
use notation::{Pencil, PencilMark, PencilMeaning, PencilSign, Pencils};
use std::collections::BTreeMap;
use std::fmt;

/// A teacher's legend. [`Legend::default`] is sparse: graphite, at most [`Legend::USUAL_MOST`] marks a page.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Legend {
    /// Whose it is; may be empty.
    pub teacher: String,
    /// What stands over the block of signs when it is printed.
    pub title: String,
    /// How many marks at most on a page.
    pub most: Most,
    /// Her coloured pencils.
    pub pencils: Pencils,
    rules: BTreeMap<Matter, Rule>,
}

/// How many marks a page bears.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Most {
    /// At most so many; with 0 only marks that a person set.
    At(u32),
    /// All that there are.
    All,
}

/// What she does about one matter.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Rule {
    /// Whether she wants it marked.
    pub wanted: bool,
    /// By which sign.
    pub sign: PencilSign,
    /// With which pencil.
    pub pencil: Pencil,
    /// What it means, for the legend's block.
    pub words: String,
}

/// What is wrong with a legend file.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct LegendError {
    /// The line, from 1.
    pub line: usize,
    /// What is wrong, a clause.
    pub what: String,
    /// What to write instead, a clause.
    pub advice: String,
}

impl fmt::Display for LegendError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "line {}: {} — {}", self.line, self.what, self.advice)
    }
}

impl std::error::Error for LegendError {}

impl Default for Legend {
    fn default() -> Self {
        Self {
            teacher: String::new(),
            title: "What the pencil says".to_owned(),
            most: Most::At(Self::USUAL_MOST),
            pencils: Pencils::default(),
            rules: Matter::ALL
                .into_iter()
                .map(|matter| (matter, Rule::usual(matter)))
                .collect(),
        }
    }
}

impl Rule {
    fn usual(matter: Matter) -> Self {
        Self {
            // Ornaments are written out where somebody asks for it.
            wanted: matter != Matter::Ornaments,
            sign: matter.signs().first().copied().unwrap_or(PencilSign::Words),
            pencil: Pencil::Graphite,
            words: matter.words().to_owned(),
        }
    }
}

impl Most {
    /// The number, or `None` for all.
    #[must_use]
    pub const fn number(self) -> Option<u32> {
        match self {
            Self::At(most) => Some(most),
            Self::All => None,
        }
    }
}

impl Legend {
    /// How many marks a page bears unless a teacher says otherwise. Ours: more than eight, and the eye reads none of them.
    pub const USUAL_MOST: u32 = 8;

    /// Reads a legend file (`demo/legends/fenwick.toml` shows all that it can say). What is left out is as usual.
    ///
    /// # Errors
    /// The first thing that can't be understood or can't be, with its line and what to write instead. Repeats and hard spots
    /// never have the same sign.
    pub fn parse(text: &str) -> Result<Self, LegendError> {
        read::legend(text)
    }

    /// The same legend, with a matter that is asked for whatever the file says.
    #[must_use]
    pub fn with(mut self, matter: Matter) -> Self {
        self.rules
            .entry(matter)
            .or_insert_with(|| Rule::usual(matter))
            .wanted = true;
        self
    }

    /// What she does about a matter.
    #[must_use]
    pub fn rule(&self, matter: Matter) -> &Rule {
        // Every matter has a rule from the start.
        self.rules.get(&matter).unwrap_or(&NO_RULE)
    }

    /// The lines of the block that says what the marks given mean, under its heading: each sign once, coloured
    /// pencils last; empty without marks.
    #[must_use]
    pub fn entries(&self, marks: &[&PencilMark]) -> Vec<PencilMeaning> {
        let mut lines: Vec<PencilMeaning> = Vec::new();
        for matter in Matter::ALL {
            let rule = self.rule(matter);
            let used = |mark: &&&PencilMark| {
                mark.sign == rule.sign && mark.pencil == rule.pencil && mark.matter == matter.name()
            };
            if !marks.iter().any(|mark| used(&mark)) {
                continue;
            }
            let same = lines
                .iter_mut()
                .find(|line| line.sign == Some(rule.sign) && line.pencil == rule.pencil);
            match same {
                // One sign for several matters is one line.
                Some(line) if !line.words.contains(&rule.words) => {
                    line.words.push_str(&format!("; {}", rule.words))
                }
                Some(_) => {}
                None => lines.push(PencilMeaning {
                    sign: Some(rule.sign),
                    pencil: rule.pencil,
                    words: rule.words.clone(),
                }),
            }
        }
        for pencil in [Pencil::First, Pencil::Second] {
            let meaning = self
                .pencils
                .of(pencil)
                .filter(|coloured| !coloured.meaning.is_empty());
            if let Some(coloured) = meaning.filter(|_| marks.iter().any(|mark| mark.pencil == pencil)) {
                lines.push(PencilMeaning {
                    sign: None,
                    pencil,
                    words: format!("{}: {}", coloured.name, coloured.meaning),
                });
            }
        }
        if !lines.is_empty() && !self.title.is_empty() {
            let heading = PencilMeaning {
                sign: None,
                pencil: Pencil::Graphite,
                words: self.title.clone(),
            };
            lines.insert(0, heading);
        }
        lines
    }
}

static NO_RULE: Rule = Rule {
    wanted: false,
    sign: PencilSign::Words,
    pencil: Pencil::Graphite,
    words: String::new(),
};
