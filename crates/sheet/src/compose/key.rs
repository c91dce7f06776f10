//! Key, in words.

use super::say::Say;
use crate::model::Section;
use crate::words::{count, percent};
use notation::{KeyRegion, Step, alter_sign};
use survey::key::KeyAnswer;

fn name((step, alter): (Step, i8), mode: &str) -> String {
    format!(
        "{}{} {mode}",
        step.letter(),
        alter_sign(notation::Rational::whole(i64::from(alter)))
    )
}

/// How sure a probability sounds.
fn sure(certainty: f64) -> &'static str {
    match certainty {
        c if c >= 0.95 => "clearly",
        c if c >= 0.8 => "most likely",
        c if c >= 0.5 => "probably",
        _ => "perhaps",
    }
}

pub(crate) fn section(answer: &KeyAnswer, say: Say) -> Section {
    let key = name(answer.tonic, answer.scale);
    let headline = if answer.told_of_the_whole().is_some() {
        format!("{key}, as the teacher says")
    } else if answer.certainty > 0.0 {
        format!(
            "{key}, {} ({})",
            sure(answer.certainty),
            percent(answer.certainty)
        )
    } else {
        "No notes to judge a key by.".to_owned()
    };
    let mut section = Section::new("key", "Key", headline);
    if (answer.concert.tonic, answer.concert.mode) != (answer.tonic, answer.mode) {
        section.line(
            "sounding",
            name(answer.concert.tonic, answer.concert.mode),
            vec![],
        );
    }
    for (index, region) in answer.signatures.iter().enumerate() {
        let label = if index == 0 { "signature" } else { "" };
        let believed = if answer.signature_believed {
            ""
        } else {
            "; no proof here: such parts carry none by custom"
        };
        section.line(
            label,
            format!("{}{believed}", region.signature.name()),
            say.at(region.place),
        );
    }
    for evidence in &answer.evidence {
        // Where the words name their bars already, the first of them need not be said twice.
        let named = evidence.says.contains("bar");
        let bars = evidence
            .place
            .filter(|_| !named)
            .map_or_else(Vec::new, |place| say.at(place));
        section.line("proof", evidence.says.clone(), bars);
    }
    if let Some(rival) = &answer.runner_up {
        let text = format!(
            "{} ({}): {}",
            name(rival.tonic, rival.mode),
            percent(rival.certainty),
            rival.why_not
        );
        section.line("why not", text, vec![]);
    }
    if answer.regions.len() > 1 {
        for region in &answer.regions {
            section.line(
                "wanders",
                format!(
                    "{}{}",
                    region_said(region),
                    if answer.told_at(region.from).is_some() {
                        ", as the teacher says"
                    } else {
                        ""
                    }
                ),
                say.bars((region.from.0..=region.to.0).map(notation::BarIndex)),
            );
        }
    }
    for suggestion in &answer.scales_first {
        section.line(
            "play first",
            format!("{}: {}", suggestion.name, suggestion.why),
            vec![],
        );
    }
    let letters: Vec<String> = answer
        .altered_letters
        .iter()
        .map(|l| {
            let first = l
                .first
                .map_or_else(String::new, |place| format!(", first in {}", say.bar(place.bar)));
            format!(
                "{}{} {}{first}",
                l.letter.letter(),
                alter_sign(l.alter),
                count(l.count as usize, "time", "times")
            )
        })
        .collect();
    if !letters.is_empty() {
        section.line("letters", letters.join("; "), vec![]);
    }
    for declared in &answer.declared {
        let says = declared
            .tonic
            .map_or_else(|| declared.mode.clone(), |tonic| name(tonic, &declared.mode));
        section.line("the file says", says, say.at(declared.place));
    }
    section
}

fn region_said(region: &KeyRegion) -> String {
    name(region.tonic, &region.mode)
}
