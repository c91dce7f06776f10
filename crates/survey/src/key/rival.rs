//! What is the runner-up, and why not? The same evidence read against the second most probable key.

use super::features::{Degree, degree};
use super::model::Judged;
use super::profiles::TEMPERLEY;
use super::proof::{Grounds, degree_name, note_name_said};
use super::tonality::{Tonality, note_name};

/// Reasons against a key, beside the one that was preferred; at least one.
#[must_use]
pub fn why_not(grounds: &Grounds<'_>, best: &Judged, other: &Judged) -> String {
    let (key, rival) = (best.key, other.key);
    let material = grounds.material;
    let mut reasons: Vec<String> = Vec::new();
    if grounds.witness.believed
        && grounds.witness.first - rival.signature() != 0
        && grounds.witness.first == key.signature()
    {
        reasons.push("its signature would be another".to_owned());
    }
    if let Some(last) = material.line.get(material.last)
        && matches!(
            degree(last.fifths, key),
            Degree::First | Degree::Third | Degree::Fifth
        )
        && degree(last.fifths, rival) != Degree::First
    {
        reasons.push(format!(
            "the last note, {}, would be {}",
            note_name(last.fifths),
            degree_name(last.fifths, rival)
        ));
    }
    if let Some(bass) = grounds.score.and_then(|score| score.last_bass)
        && degree(bass, key) == Degree::First
        && bass != rival.fifths
    {
        reasons.push(format!("the score's bass ends on {}", note_name(bass)));
    }
    let ends: Vec<i32> = material
        .line
        .iter()
        .filter(|note| note.ending >= 1.0)
        .map(|note| note.fifths)
        .collect();
    if ends.len() >= 2 && !ends.contains(&rival.fifths) {
        reasons.push(format!("no phrase ends on {}", note_name(rival.fifths)));
    }
    let on = |fifths: i32| ends.iter().filter(|end| **end == fifths).count();
    if on(rival.fifths) > 0 && on(key.fifths) > on(rival.fifths) {
        reasons.push(format!(
            "more phrases end on {} ({}) than on {} ({})",
            note_name(key.fifths),
            on(key.fifths),
            note_name(rival.fifths),
            on(rival.fifths)
        ));
    }
    reasons.extend(notes_against(grounds, key, rival));
    let folded = material.all.folded();
    let (here, there) = (
        TEMPERLEY.correlation(&folded, key),
        TEMPERLEY.correlation(&folded, rival),
    );
    if here > there {
        reasons.push(format!(
            "its profile fits less well (r = {there:.2} against {here:.2})"
        ));
    }
    if reasons.is_empty() {
        reasons.push("all the evidence together speaks a little less for it; look at both".to_owned());
    }
    reasons.truncate(3);
    reasons.join("; ")
}

/// Leading notes that the rival lacks or that belong to the preferred key alone.
fn notes_against(grounds: &Grounds<'_>, key: Tonality, rival: Tonality) -> Option<String> {
    let all = &grounds.material.all;
    let leading = rival.fifths + 5;
    if leading != key.fifths + 5 && all.at(leading) <= 0.0 {
        return Some(format!(
            "its leading note {} never comes",
            note_name_said(leading)
        ));
    }
    let own = key.fifths + 5;
    let foreign = degree(own, rival) == Degree::Foreign;
    (foreign && all.at(own) > 0.0).then(|| format!("{} is foreign to it", note_name_said(own)))
}
