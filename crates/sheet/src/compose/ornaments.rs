//! Ornaments, in words.

use super::say::Say;
use crate::model::Section;
use crate::words::count;
use survey::ornaments::OrnamentsAnswer;

pub(crate) fn section(answer: &OrnamentsAnswer, say: Say) -> Section {
    if answer.is_none() {
        return Section::new("ornaments", "Ornaments", "None.");
    }
    let mut kinds: Vec<String> = Vec::new();
    if !answer.ornaments.is_empty() {
        kinds.push(count(answer.ornaments.len(), "ornament", "ornaments"));
    }
    if !answer.graces.is_empty() {
        kinds.push(count(
            answer.graces.len(),
            "group of grace notes",
            "groups of grace notes",
        ));
    }
    let mut section = Section::new("ornaments", "Ornaments", kinds.join(", "));
    let mut rows: Vec<(notation::Place, String, String)> = Vec::new();
    for ornament in &answer.ornaments {
        rows.push((ornament.place, ornament.realised.mark.clone(), ornament.says()));
    }
    for grace in &answer.graces {
        rows.push((grace.place, grace.sort.word().to_owned(), grace.says.clone()));
    }
    rows.sort_by_key(|(place, ..)| *place);
    for (place, mark, text) in rows {
        section.line(&mark, text, say.at(place));
    }
    section.means(&answer.means);
    section
}
