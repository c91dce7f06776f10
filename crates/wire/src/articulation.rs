//! Question 11 as JSON.

use crate::at::{At, Evidence, InBar, Places};
use notation::{Id, Place};
use schemars::JsonSchema;
use serde::Serialize;
use survey::articulation::{ArticulationAnswer, MarkCount};

/// A mark, how often and where.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Mark {
    /// The trade's word.
    pub mark: String,
    /// `articulation` or `technical` (bowings, fingerings, harmonics).
    pub kind: String,
    /// How often.
    pub count: usize,
    /// Labels of the bars, each once.
    pub bars: Vec<String>,
    /// The same bars counted from 0.
    pub bar_indices: Vec<u32>,
    /// What it means on this instrument; empty if there is nothing to say.
    pub means: String,
}

/// What the articulation question found beside the marks.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct ArticulationMore {
    /// Words that say how to play.
    pub words: Vec<Words>,
    /// Bars where marks of different sort stand against each other.
    pub contrasts: Vec<Contrast>,
    /// Slurs drawn.
    pub slurs: usize,
    /// Notes slurred to, without an attack of their own.
    pub slurred_notes: usize,
    /// Notes attacked.
    pub separate_notes: usize,
    /// Slurs that reach over a bar line: where each starts.
    pub slurs_over_bar_lines: Vec<At>,
    /// How groups of equal notes are slurred and tongued, the commonest first.
    pub patterns: Vec<Pattern>,
    /// Long runs of separate notes, the longest first.
    pub tongued_runs: Vec<Run>,
    /// Notes pulsed under a slur.
    pub portato: Vec<At>,
    /// Breath marks.
    pub breath_marks: Vec<At>,
    /// Caesuras.
    pub caesuras: Vec<At>,
    /// What it means for the player.
    pub means: String,
    /// Where to look.
    pub evidence: Vec<Evidence>,
}

/// Words and their meaning.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Words {
    /// As printed.
    pub text: String,
    /// What they mean.
    pub meaning: String,
    /// Where.
    #[serde(flatten)]
    pub at: At,
}

/// A bar with marks against each other.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Contrast {
    /// The bar.
    #[serde(flatten)]
    pub bar: InBar,
    /// The marks.
    pub marks: Vec<String>,
    /// In words.
    pub text: String,
}

/// How a group of equal notes is slurred and tongued.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Pattern {
    /// In words.
    pub name: String,
    /// `S` a slur begins, `s` slurred to, `t` separate.
    pub letters: String,
    /// Length of each note in quarter notes.
    pub quarters: f64,
    /// How often.
    pub count: usize,
    /// Labels of the bars, each once.
    pub bars: Vec<String>,
    /// The same bars counted from 0.
    pub bar_indices: Vec<u32>,
}

/// A run of separate notes.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Run {
    /// How many notes.
    pub notes: usize,
    /// Length of the shortest in quarter notes.
    pub shortest_quarters: f64,
    /// The first.
    pub from: At,
    /// The last.
    pub to: At,
}

pub(crate) fn marks(answer: &ArticulationAnswer, places: Places) -> Vec<Mark> {
    let said = |kind: &'static str| {
        move |mark: &MarkCount| Mark {
            mark: mark.mark.clone(),
            kind: kind.to_owned(),
            count: mark.count,
            bars: mark.bars.iter().map(|bar| places.label(*bar)).collect(),
            bar_indices: mark.bars.iter().map(|bar| bar.0).collect(),
            means: mark.means.clone(),
        }
    };
    answer
        .marks
        .iter()
        .map(said("articulation"))
        .chain(answer.technical.iter().map(said("technical")))
        .collect()
}

pub(crate) fn more(answer: &ArticulationAnswer, places: Places) -> ArticulationMore {
    let at = |(place, id): &(Place, Id)| places.at(*place, Some(*id));
    ArticulationMore {
        words: answer
            .words
            .iter()
            .map(|w| Words {
                text: w.text.clone(),
                meaning: w.meaning.clone(),
                at: places.at(w.place, Some(w.element)),
            })
            .collect(),
        contrasts: answer
            .contrasts
            .iter()
            .map(|c| Contrast {
                bar: places.bar(c.bar),
                marks: c.marks.iter().map(|(mark, _)| mark.clone()).collect(),
                text: c.says(),
            })
            .collect(),
        slurs: answer.slurs.count,
        slurred_notes: answer.slurs.slurred,
        separate_notes: answer.slurs.separate,
        slurs_over_bar_lines: answer
            .slurs
            .over_bar_lines
            .iter()
            .map(|(from, _)| at(from))
            .collect(),
        patterns: answer
            .patterns
            .iter()
            .map(|p| Pattern {
                name: p.name.clone(),
                letters: p.letters.clone(),
                quarters: p.value.to_f64(),
                count: p.count,
                bars: p.bars.iter().map(|bar| places.label(*bar)).collect(),
                bar_indices: p.bars.iter().map(|bar| bar.0).collect(),
            })
            .collect(),
        tongued_runs: answer
            .tongued_runs
            .iter()
            .map(|r| Run {
                notes: r.notes,
                shortest_quarters: r.shortest.to_f64(),
                from: at(&r.from),
                to: at(&r.to),
            })
            .collect(),
        portato: answer.portato.iter().map(at).collect(),
        breath_marks: answer.breath_marks.iter().map(at).collect(),
        caesuras: answer.caesuras.iter().map(at).collect(),
        means: answer.means.clone(),
        evidence: places.evidence(&answer.evidence),
    }
}
