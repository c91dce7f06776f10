//! What must be said so that practising does no harm? Overuse, breath, lips, ears; and the law on copies.

use crate::compose::Composed;
use instruments::Family;

/// The cautions that apply, each a sentence or two.
pub(super) fn cautions(what: &Composed) -> Vec<String> {
    let mut said = vec![
        "Judgements here (key, first tempo, fingering, phrasing) are proposals: your teacher confirms or changes them."
            .to_owned(),
        REST.to_owned(),
    ];
    let own = what.study.and_then(|study| study.player.instrument);
    let part = what.survey.instrument.as_ref().map(|found| found.instrument);
    let family = own.or(part).map(|instrument| instrument.family);
    if family == Some(Family::Brass) {
        said.push(LIPS.to_owned());
    }
    let breath = what.study.map_or("", |study| study.breath.caution);
    if family.is_some_and(|family| family.is_wind()) && !breath.is_empty() {
        said.push(breath.to_owned());
    }
    if loud(what, family) {
        said.push(EARS.to_owned());
    }
    said.push("Copying printed music is a matter of local law.".to_owned());
    said
}

/// Source: The Musician's Way, p. 75, and Horvath, Playing (Less) Hurt.
const REST: &str =
    "Rest at least ten minutes in every hour of playing. Pain means stop: ask your teacher and a physician.";
/// Source: common practice.
const LIPS: &str = "High notes last: rest the lips as long as you play, and never press to reach them.";
/// Source: NIOSH, Workplace Solutions 2015: 85 dBA for eight hours, half the time for every 3 dB more.
const EARS: &str = "Loud practice in a small room harms hearing within hours: leave pauses, and ask for ear protection \
                    made for musicians where rules at work or school don't give it already.";

/// Loud instruments, and pages with fortissimo.
fn loud(what: &Composed, family: Option<Family>) -> bool {
    let marks = what.survey.dynamics.as_ref();
    let loudest = marks.and_then(|answer| answer.marks.get(answer.loudest?));
    matches!(family, Some(Family::Brass | Family::Percussion))
        || loudest.is_some_and(|mark| mark.mark.starts_with("ff"))
}
