//! Which ornaments are there, and which notes do they use? Signs with their notes, and grace notes; or plainly: none.
//!
//! A trill sign with its wavy line over tied notes is one trill. The local key comes from the key question; without it
//! the signature and the bar's accidentals decide.

mod graces;
mod signs;

#[cfg(test)]
mod tests;

pub use graces::{GraceGroup, GraceSort};
pub use performance::ornament::{Alternative, LocalKey, Neighbour, OrnamentNotes, Reason, Start};
pub use signs::OrnamentFound;

use crate::{Context, Evidence};
use notation::{Finding, KeyRegion};
use std::collections::BTreeMap;

/// The answer to question 12.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct OrnamentsAnswer {
    /// Ornament signs in order of place.
    pub ornaments: Vec<OrnamentFound>,
    /// Grace notes in order of place, by group.
    pub graces: Vec<GraceGroup>,
    /// What it means for the player; says plainly if there is nothing.
    pub means: String,
    /// Where to look.
    pub evidence: Vec<Evidence>,
    /// What can be read in two ways, with what to do.
    pub findings: Vec<Finding>,
}

impl OrnamentsAnswer {
    /// True if there are neither signs nor grace notes.
    #[must_use]
    pub fn is_none(&self) -> bool {
        self.ornaments.is_empty() && self.graces.is_empty()
    }
}

/// Answers question 12 for a part. `regions` are the keys of its passages, in written pitch; may be empty.
#[must_use]
pub fn answer(ctx: &Context, regions: &[KeyRegion]) -> OrnamentsAnswer {
    let ornaments = signs::ornaments(ctx, regions);
    let graces = graces::groups(ctx);
    let mut answer = OrnamentsAnswer {
        findings: signs::findings(ctx, &ornaments),
        ornaments,
        graces,
        ..Default::default()
    };
    answer.means = means(&answer);
    answer.evidence = evidence(&answer);
    answer
}

fn means(answer: &OrnamentsAnswer) -> String {
    if answer.is_none() {
        return "None: no ornament signs, no grace notes.".to_owned();
    }
    let mut said = Vec::new();
    if answer.ornaments.is_empty() {
        said.push("No ornament signs.".to_owned());
    } else {
        let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
        for found in &answer.ornaments {
            *counts.entry(found.realised.mark.as_str()).or_default() += 1;
        }
        let counted: Vec<String> = counts.iter().map(|(mark, count)| counted(*count, mark)).collect();
        said.push(format!(
            "{}: know the notes of each before playing.",
            counted.join(", ")
        ));
        let doubtful = answer.ornaments.iter().filter(|found| found.doubtful()).count();
        if doubtful > 0 {
            let verb = if doubtful == 1 { "can" } else { "each can" };
            said.push(format!(
                "{doubtful} of them {verb} be read in two ways: ask, then write the note in."
            ));
        }
    }
    if !answer.graces.is_empty() {
        let slashed = answer.graces.iter().filter(|group| group.slashed).count();
        let rest = answer.graces.len() - slashed;
        let mut sorts = Vec::new();
        if slashed > 0 {
            sorts.push(format!("{slashed} slashed, very quick"));
        }
        if rest > 0 {
            sorts.push(format!("{rest} without a slash, which may be long"));
        }
        said.push(format!(
            "{}: {}.",
            counted(answer.graces.len(), "grace-note group"),
            sorts.join("; ")
        ));
    }
    said.join(" ")
}

fn counted(count: usize, what: &str) -> String {
    let plural = if what.ends_with("sh") || what.ends_with('s') {
        "es"
    } else {
        "s"
    };
    if count == 1 {
        format!("1 {what}")
    } else {
        format!("{count} {what}{plural}")
    }
}

fn evidence(answer: &OrnamentsAnswer) -> Vec<Evidence> {
    let signs = answer.ornaments.iter().map(|found| Evidence {
        place: Some(found.place),
        element: Some(found.element),
        says: found.says(),
    });
    let graces = answer.graces.iter().map(|group| Evidence {
        place: Some(group.place),
        element: group.elements.first().copied(),
        says: group.says.clone(),
    });
    let mut found: Vec<Evidence> = signs.chain(graces).collect();
    found.sort_by_key(|evidence| evidence.place);
    found
}
