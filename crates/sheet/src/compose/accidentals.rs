//! Accidentals, in words.

use super::say::Say;
use crate::model::Section;
use crate::words::count;
use survey::accidentals::AccidentalsAnswer;

/// Lists longer than this are told by their first members.
const MOST: usize = 8;

pub(crate) fn section(answer: &AccidentalsAnswer, say: Say) -> Section {
    if answer.altered_notes == 0 && answer.signs.printed == 0 {
        return Section::new("accidentals", "Accidentals", "None: the signature says it all.");
    }
    let carried = answer.ledger.iter().filter(|entry| entry.carried).count();
    let headline = format!(
        "{} altered from the signature, {carried} of them silently",
        count(answer.altered_notes, "note", "notes")
    );
    let mut section = Section::new("accidentals", "Accidentals", headline);
    let mut classes: Vec<(String, Vec<notation::Place>)> = Vec::new();
    for entry in &answer.ledger {
        let name = entry.written.class_sign();
        let name = if entry.written.alter.is_zero() {
            format!("{name}♮")
        } else {
            name
        };
        match classes.iter_mut().find(|(class, _)| *class == name) {
            Some((_, places)) => places.push(entry.place),
            None => classes.push((name, vec![entry.place])),
        }
    }
    classes.sort_by_key(|(_, places)| std::cmp::Reverse(places.len()));
    for (index, (name, places)) in classes.iter().take(MOST).enumerate() {
        let label = if index == 0 { "altered" } else { "" };
        section.line(
            label,
            format!("{name}: {}", count(places.len(), "time", "times")),
            say.places(places.iter().copied()),
        );
    }
    for dense in answer.densest.iter().take(3) {
        section.line("slow first", dense.says(), vec![say.label(dense.bar)]);
    }
    for double in answer.double_inflections.iter().take(MOST) {
        let text = format!(
            "{} then {}",
            double.first.sign_natural(),
            double.second.sign_natural()
        );
        section.line("two forms", text, say.at(double.second_at.0));
    }
    for two in answer.two_forms.iter().take(MOST) {
        let forms: Vec<String> = two.forms.iter().map(|p| p.sign_natural()).collect();
        let text = format!("{} close together", forms.join(" and "));
        section.line(
            "two forms",
            text,
            say.places(two.changes.iter().map(|(_, (place, _))| *place)),
        );
    }
    for enharmonic in &answer.enharmonic {
        section.line(
            "spelling",
            enharmonic.says(),
            say.places(enharmonic.at.iter().map(|(place, _)| *place)),
        );
    }
    for run in answer.chromatic_runs.iter().take(MOST) {
        let way = if run.up { "up" } else { "down" };
        let text = format!(
            "{} notes by semitones {way}, {} to {}",
            run.notes,
            run.from.sign(),
            run.to.sign()
        );
        section.line("chromatic", text, say.at(run.from_at.0));
    }
    for courtesy in answer.courtesy_suggested.iter().take(MOST) {
        section.line("pencil in", courtesy.says(), say.at(courtesy.place));
    }
    if answer.courtesy_suggested.len() > MOST {
        let left = &answer.courtesy_suggested[MOST..];
        section.line(
            "pencil in",
            "more courtesies",
            say.places(left.iter().map(|c| c.place)),
        );
    }
    section.means(&answer.means);
    section
}
