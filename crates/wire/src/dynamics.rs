//! Question 8 as JSON.

use crate::at::{At, Evidence, InBar, Places};
use schemars::JsonSchema;
use serde::Serialize;
use survey::dynamics::DynamicsAnswer;

/// A dynamic mark.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Dynamic {
    /// The mark, compound ones as one (`poco f`).
    pub mark: String,
    /// As printed.
    pub text: String,
    /// `level`, `accent`, `sudden` or `relative`.
    pub kind: String,
    /// What it means.
    pub means: String,
    /// Printed in words rather than letters.
    pub in_words: bool,
    /// Where.
    #[serde(flatten)]
    pub at: At,
}

/// What the dynamics question found beside the marks.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct DynamicsMore {
    /// The loudest level and where it first stands.
    pub loudest: Option<MarkAt>,
    /// The softest level and where it first stands.
    pub softest: Option<MarkAt>,
    /// The levels used, from the softest, with how often each is printed.
    pub levels: Vec<LevelCount>,
    /// Hairpins in order.
    pub hairpins: Vec<Hairpin>,
    /// Words that change the loudness over time.
    pub words: Vec<Gradual>,
    /// Sudden changes.
    pub sudden: Vec<Sudden>,
    /// Bars that carry a hairpin or a part of one.
    pub hairpin_bars: Vec<InBar>,
    /// How many those are.
    pub hairpin_bar_count: usize,
    /// True if the first note comes before any level.
    pub starts_without: bool,
    /// What it means for the player.
    pub means: String,
    /// Where to look.
    pub evidence: Vec<Evidence>,
}

/// A mark and where it stands.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct MarkAt {
    /// The mark.
    pub mark: String,
    /// Where.
    #[serde(flatten)]
    pub at: At,
}

/// How often a level is printed.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct LevelCount {
    /// The level.
    pub mark: String,
    /// How often.
    pub count: usize,
}

/// A hairpin.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Hairpin {
    /// `crescendo` or `diminuendo`.
    pub kind: String,
    /// From or to nothing.
    pub niente: bool,
    /// Where it starts; null if the source never says.
    pub from: Option<At>,
    /// Where it ends; null if the source never says.
    pub to: Option<At>,
    /// How long it is, in quarter notes.
    pub quarters: Option<f64>,
    /// The level it starts from.
    pub from_mark: Option<String>,
    /// The mark it leads to.
    pub leads_to: Option<String>,
}

/// A word that changes the loudness over time.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Gradual {
    /// As printed.
    pub text: String,
    /// What it means.
    pub meaning: String,
    /// Where.
    #[serde(flatten)]
    pub at: At,
    /// Where the dashes behind it end.
    pub until: Option<At>,
}

/// A sudden change.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Sudden {
    /// The mark before.
    pub from: String,
    /// The mark that changes.
    pub to: String,
    /// In words.
    pub text: String,
    /// Where.
    #[serde(flatten)]
    pub at: At,
}

pub(crate) fn marks(answer: &DynamicsAnswer, places: Places) -> Vec<Dynamic> {
    answer
        .marks
        .iter()
        .map(|m| Dynamic {
            mark: m.mark.clone(),
            text: m.text.clone(),
            kind: format!("{:?}", m.kind).to_lowercase(),
            means: m.means.clone(),
            in_words: m.in_words,
            at: places.at(m.place, Some(m.element)),
        })
        .collect()
}

pub(crate) fn more(answer: &DynamicsAnswer, places: Places) -> DynamicsMore {
    let mark = |index: Option<usize>| index.and_then(|i| answer.marks.get(i));
    let mark_at = |index: Option<usize>| {
        mark(index).map(|m| MarkAt {
            mark: m.mark.clone(),
            at: places.at(m.place, Some(m.element)),
        })
    };
    let name = |index: Option<usize>| mark(index).map(|m| m.mark.clone());
    DynamicsMore {
        loudest: mark_at(answer.loudest),
        softest: mark_at(answer.softest),
        levels: answer
            .levels
            .iter()
            .map(|(mark, count)| LevelCount {
                mark: mark.clone(),
                count: *count,
            })
            .collect(),
        hairpins: answer
            .hairpins
            .iter()
            .map(|h| Hairpin {
                kind: if h.opens { "crescendo" } else { "diminuendo" }.to_owned(),
                niente: h.niente,
                from: h.start.map(|a| places.at(a.place, Some(h.element))),
                to: h.end.map(|a| places.at(a.place, Some(h.element))),
                quarters: h.length.map(notation::Rational::to_f64),
                from_mark: name(h.from),
                leads_to: name(h.leads_to),
            })
            .collect(),
        words: answer
            .words
            .iter()
            .map(|w| Gradual {
                text: w.text.clone(),
                meaning: w.meaning.clone(),
                at: places.at(w.place, Some(w.element)),
                until: w.until.map(|place| places.at(place, None)),
            })
            .collect(),
        sudden: answer
            .sudden
            .iter()
            .filter_map(|s| {
                let to = answer.marks.get(s.to)?;
                Some(Sudden {
                    from: name(Some(s.from)).unwrap_or_default(),
                    to: to.mark.clone(),
                    text: s.says(&answer.marks),
                    at: places.at(to.place, Some(to.element)),
                })
            })
            .collect(),
        hairpin_bars: places.bars(&answer.hairpin_bars),
        hairpin_bar_count: answer.hairpin_bars.len(),
        starts_without: answer.starts_without,
        means: answer.means.clone(),
        evidence: places.evidence(&answer.evidence),
    }
}
