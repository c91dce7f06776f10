//! Which published level tables does the piece fit, as JSON? Table by table, criterion by criterion.

use load::levels::Standing;
use schemars::JsonSchema;
use serde::Serialize;

/// How the piece stands in one published table: never a grade without its table.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct LevelSaid {
    /// The table's name.
    pub table: String,
    /// Where it was read.
    pub source: String,
    /// What it is for, or what to know before relying on it; may be empty.
    pub about: String,
    /// The table's own word for the easiest level that fits in everything judged; else for the one that is exceeded least.
    pub level: String,
    /// True if every criterion judged fits.
    pub fits: bool,
    /// In a sentence.
    pub says: String,
    /// What the table asks at that level.
    pub criteria: Vec<CriterionSaid>,
}

/// One criterion of a table.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct CriterionSaid {
    /// `range`, `keys`, `metres`, `changes`, `rhythms`, `tempo`, `length`, `leaps`, `accidentals`, `dynamics`, `articulation`.
    pub name: String,
    /// True if the piece keeps within it; null if the page or the table doesn't say enough.
    pub fits: Option<bool>,
    /// Why, a clause.
    pub why: String,
}

pub(super) fn levels(standings: &[Standing]) -> Vec<LevelSaid> {
    standings
        .iter()
        .map(|standing| LevelSaid {
            table: standing.table.name.to_owned(),
            source: standing.table.source.to_owned(),
            about: standing.table.about.to_owned(),
            level: standing.level.name.to_owned(),
            fits: standing.fits,
            says: standing.says(),
            criteria: standing
                .criteria
                .iter()
                .map(|criterion| CriterionSaid {
                    name: criterion.name.to_owned(),
                    fits: criterion.fits,
                    why: criterion.why.clone(),
                })
                .collect(),
        })
        .collect()
}
