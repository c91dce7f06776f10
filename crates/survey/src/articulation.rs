//! How do the notes begin, end and join? Marks and what they mean here, contrasts, slur patterns, long tongued runs.
//!
//! Cues and hidden notes are left out: another player's, or nobody's.

mod attacks;
mod contrast;
mod marks;
mod meaning;
mod patterns;

pub use attacks::{LongSlur, SlurFacts, TonguedRun};
pub use contrast::Contrast;
pub use marks::{MarkCount, TechniqueWord};
pub use meaning::{Separate, mark_meaning, technical_meaning};
pub use patterns::SlurPattern;

use crate::{Context, Evidence};
use instruments::{Family, Identified};
use notation::{Id, Place};

/// The answer to question 11.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct ArticulationAnswer {
    /// Articulation marks in order of first appearance.
    pub marks: Vec<MarkCount>,
    /// Technical marks (bowings, fingerings, harmonics …) in order of first appearance.
    pub technical: Vec<MarkCount>,
    /// Words that say how to play (pizz., con sord., sempre staccato), in order.
    pub words: Vec<TechniqueWord>,
    /// Bars where marks of different sort stand against each other.
    pub contrasts: Vec<Contrast>,
    /// Slurs.
    pub slurs: SlurFacts,
    /// How groups of equal notes are slurred and tongued, the commonest first.
    pub patterns: Vec<SlurPattern>,
    /// Long runs of separately tongued (or bowed) notes, the longest first.
    pub tongued_runs: Vec<TonguedRun>,
    /// Notes with a dot or line under a slur, and the combined sign: pulsed, not stopped.
    pub portato: Vec<(Place, Id)>,
    /// Breath marks.
    pub breath_marks: Vec<(Place, Id)>,
    /// Caesuras.
    pub caesuras: Vec<(Place, Id)>,
    /// How separate notes are said on this instrument.
    pub separate: Separate,
    /// What it means for the player.
    pub means: String,
    /// Where to look.
    pub evidence: Vec<Evidence>,
}

/// Answers question 11 for a part; what a mark means depends on the instrument's family.
#[must_use]
pub fn answer(ctx: &Context, identified: Option<&Identified>) -> ArticulationAnswer {
    let family = identified.map(|i| i.instrument.family);
    let separate = Separate::of(family);
    let voices = attacks::voices(ctx);
    let found = marks::marks(ctx, family);
    let mut answer = ArticulationAnswer {
        contrasts: contrast::contrasts(ctx),
        slurs: attacks::slur_facts(ctx, &voices),
        patterns: patterns::patterns(ctx, &voices.notes, separate),
        tongued_runs: attacks::tongued_runs(&voices),
        portato: attacks::portato(&voices),
        words: marks::words(ctx),
        breath_marks: found.breath_marks,
        caesuras: found.caesuras,
        marks: found.marks,
        technical: found.technical,
        separate,
        ..ArticulationAnswer::default()
    };
    answer.evidence = evidence(ctx, &answer);
    answer.means = means(ctx, &answer, family);
    answer
}

fn evidence(ctx: &Context, answer: &ArticulationAnswer) -> Vec<Evidence> {
    let mut evidence = Vec::new();
    for mark in &answer.marks {
        if let Some((place, event)) = mark.at.first() {
            evidence.push(Evidence {
                place: Some(*place),
                element: Some(*event),
                says: format!("first {}", mark.mark),
            });
        }
    }
    for contrast in &answer.contrasts {
        if let Some((_, (place, event))) = contrast.marks.first() {
            evidence.push(Evidence {
                place: Some(*place),
                element: Some(*event),
                says: contrast.says(),
            });
        }
    }
    for run in &answer.tongued_runs {
        evidence.push(Evidence {
            place: Some(run.from.0),
            element: Some(run.from.1),
            says: format!(
                "{} notes {} in a row, to bar {}",
                run.notes,
                answer.separate.done(),
                ctx.label(run.to.0.bar)
            ),
        });
    }
    evidence
}

fn means(ctx: &Context, answer: &ArticulationAnswer, family: Option<Family>) -> String {
    let slurs = &answer.slurs;
    let mut says = Vec::new();
    if slurs.count == 0 && answer.marks.is_empty() {
        says.push("No slurs and no marks are printed: ask how to articulate.".to_owned());
    } else if let Some(share) = (100 * slurs.slurred).checked_div(slurs.slurred + slurs.separate) {
        says.push(match share {
            0 => format!("Every note is {}.", answer.separate.done()),
            share => format!(
                "{share} % of the notes are slurred to, the others {}.",
                answer.separate.done()
            ),
        });
    }
    if let Some(pattern) = answer
        .patterns
        .iter()
        .find(|p| p.mixed)
        .or(answer.patterns.first())
    {
        says.push(format!(
            "Commonest group: {} (first in bar {}).",
            pattern.name,
            ctx.label(pattern.first.0.bar)
        ));
    }
    if let Some(run) = answer.tongued_runs.first() {
        let advice = if family.is_some_and(Family::is_wind) {
            ": find a tempo at which the tongue stays light"
        } else {
            ""
        };
        says.push(format!(
            "Longest run of {} notes: {} from bar {}{advice}.",
            answer.separate.adjective(),
            run.notes,
            ctx.label(run.from.0.bar)
        ));
    }
    says.join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use notation::sketch;

    pub(super) fn ask(text: &str, name: &str) -> ArticulationAnswer {
        let mut piece = sketch(text).expect("a sketch");
        piece.parts[0].name = name.to_owned();
        let identified = instruments::identify(&piece.parts[0]);
        let ctx = Context::new(&piece, 0).expect("a part");
        answer(&ctx, identified.as_ref())
    }

    #[test]
    fn each_mark_with_count_and_bars() {
        let answer = ask(
            "metre:2/4 C4/q!staccato D4/q!staccato | E4/q!accent F4/q!staccato | G4/h!breath |",
            "Bassoon",
        );
        let marks: Vec<(&str, usize, Vec<u32>)> = answer
            .marks
            .iter()
            .map(|m| (m.mark.as_str(), m.count, m.bars.iter().map(|b| b.0).collect()))
            .collect();
        assert_eq!(
            marks,
            [
                ("staccato", 3, vec![0, 1]),
                ("accent", 1, vec![1]),
                ("breath mark", 1, vec![2])
            ]
        );
        assert!(
            answer.marks[0].means.contains("reed"),
            "{}",
            answer.marks[0].means
        );
        assert_eq!(answer.breath_marks.len(), 1);
    }

    #[test]
    fn a_marcato_downbeat_against_staccato() {
        let answer = ask(
            "metre:2/4 C4/e!marcato D4/e!staccato E4/e!staccato F4/e!staccato | C4/h!staccato |",
            "Oboe",
        );
        assert_eq!(answer.contrasts.len(), 1);
        assert_eq!(
            answer.contrasts[0].says(),
            "marcato on the downbeat against staccato"
        );
    }

    #[test]
    fn nothing_printed_is_said() {
        assert!(
            ask("metre:2/4 C4/h |", "Oboe")
                .means
                .starts_with("No slurs and no marks")
        );
    }
}
