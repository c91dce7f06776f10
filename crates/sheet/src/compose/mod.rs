//! How do the findings read? The survey put into sections and sentences, before anybody decides how they look.

mod accidentals;
mod articulation;
mod clefs;
mod dynamics;
mod key;
mod look_first;
mod map;
mod metre;
mod ornaments;
mod range;
mod reading;
mod rhythm;
mod road_map;
mod say;
mod study;
mod tempo;
mod terms;

pub use study::{fingers, ladder, spots};

use crate::model::{Section, Sheet};
use crate::words::count;
use notation::{Finding, Piece};
pub(crate) use say::Say;
#[cfg(feature = "whole")]
pub(crate) use study::once;
use survey::{Question, Survey};
#[cfg(feature = "whole")]
pub(crate) use tempo::player_first;

/// What is to be put on the sheet.
#[derive(Clone, Copy, Debug)]
pub struct Composed<'a> {
    /// The piece.
    pub piece: &'a Piece,
    /// Which part, as an index.
    pub part: usize,
    /// Its survey.
    pub survey: &'a Survey,
    /// Which questions, in order.
    pub questions: &'a [Question],
    /// Findings of the reader and of the questions.
    pub findings: &'a [Finding],
    /// What to call the piece where the source gives no title.
    pub fallback_title: &'a str,
    /// The study of the part for a player, if there is one.
    pub study: Option<&'a load::Study>,
}

impl Composed<'_> {
    pub(crate) fn title(&self) -> String {
        let named = self.piece.credits.name();
        named.unwrap_or_else(|| self.fallback_title.to_owned())
    }

    #[cfg(feature = "whole")]
    /// The part's name and its length.
    pub(crate) fn short_facts(&self) -> Vec<String> {
        let part = self.piece.parts.get(self.part);
        let name = part.map_or("", |part| part.name.trim());
        let bars = count(self.piece.bars.len(), "bar", "bars");
        let named = (!name.is_empty()).then(|| crate::words::clip(name, 40));
        named.into_iter().chain([bars]).collect()
    }
}

/// Puts a survey into words.
#[must_use]
pub fn compose(what: &Composed) -> Sheet {
    let say = Say { piece: what.piece };
    let s = what.survey;
    let whole = what.questions.len() == Question::ALL.len();
    let sections = what
        .questions
        .iter()
        .filter_map(|question| match question {
            Question::Key => s.key.as_ref().map(|answer| key::section(answer, say)),
            Question::Range => s.range.as_ref().map(|answer| range::section(answer, say)),
            Question::Metre => s.metre.as_ref().map(|answer| metre::section(answer, say)),
            Question::Rhythm => s.rhythm.as_ref().map(|answer| rhythm::section(answer, say)),
            Question::Terms => s.terms.as_ref().map(|answer| terms::section(answer, say)),
            Question::Tempo => {
                let first = what.study.and_then(|study| study.first.as_ref());
                s.tempo.as_ref().map(|answer| tempo::section(answer, first, say))
            }
            Question::RoadMap => Some(road_map::section(&s.road_map, say)),
            Question::Dynamics => s.dynamics.as_ref().map(|answer| dynamics::section(answer, say)),
            Question::Accidentals => s
                .accidentals
                .as_ref()
                .map(|answer| accidentals::section(answer, say)),
            Question::Clefs => s.clefs.as_ref().map(|answer| clefs::section(answer, say)),
            Question::Articulation => s
                .articulation
                .as_ref()
                .map(|answer| articulation::section(answer, say)),
            Question::Ornaments => s.ornaments.as_ref().map(|answer| ornaments::section(answer, say)),
        })
        .map(|section| as_far_as_told(section, what.piece))
        .collect();
    let study = what.study.filter(|_| whole);
    Sheet {
        title: what.title(),
        facts: facts(what),
        look_first: whole.then(|| look_first::section(&s.look_first, say)).flatten(),
        bars: if whole { map::cells(what) } else { Vec::new() },
        study: study.map_or_else(Vec::new, |study| study::sections(study, what)),
        sections,
        reading: reading::section(&not_said_yet(what), say),
        foot: if whole { foot() } else { Vec::new() },
    }
}

/// A file of keys pressed and let go says nothing of marks and words: none found is not none printed.
fn as_far_as_told(mut section: Section, piece: &Piece) -> Section {
    let silent = ["articulation", "dynamics", "terms", "ornaments"];
    if piece.provenance.standard == "MIDI" && silent.contains(&section.id) {
        "Not known: a MIDI file says nothing of it. Look at the printed page."
            .clone_into(&mut section.answer);
        section.rows.clear();
    }
    section
}

/// Findings that no section has told already (questions about clefs stand with the clefs).
fn not_said_yet(what: &Composed) -> Vec<Finding> {
    let clefs = what
        .survey
        .clefs
        .iter()
        .filter(|_| what.questions.contains(&Question::Clefs));
    let clefs: Vec<&Finding> = clefs.flat_map(|clefs| &clefs.findings).collect();
    let whole = what.questions.len() == Question::ALL.len();
    let study = what.study.filter(|_| whole);
    let study = study.map_or(&[][..], |study| &study.findings);
    let told = |finding: &&Finding| {
        let mut said = clefs.iter().copied().chain(study);
        said.any(|f| f.what == finding.what)
    };
    what.findings
        .iter()
        .filter(|finding| !told(finding))
        .cloned()
        .collect()
}

fn facts(what: &Composed) -> Vec<String> {
    let mut facts = Vec::new();
    let name = what
        .piece
        .parts
        .get(what.part)
        .map_or("", |part| part.name.trim());
    if !name.is_empty() {
        facts.push(name.to_owned());
    }
    if let Some(found) = &what.survey.instrument {
        // A name that says it plainly need not be read back; a guess must be said.
        let doubtful = found.certainty < 0.75 || found.contradicted_by.is_some();
        if name.is_empty() || doubtful {
            facts.push(format!("read as: {}", found.instrument.name));
        }
    }
    let people = what.piece.credits.people.iter();
    facts.extend(
        people
            .filter(|(role, _)| role == "composer")
            .map(|(_, who)| who.trim().replace('\n', " ")),
    );
    if let Some(study) = what.study {
        facts.push(study::for_whom(
            study,
            what.survey.instrument.as_ref().map(|found| found.instrument),
        ));
    }
    facts.push(count(what.piece.bars.len(), "bar", "bars"));
    facts.push(count(what.survey.notes, "note", "notes"));
    facts
}

/// Source of the rest rule: The Musician's Way, p. 75, and Horvath, Playing (Less) Hurt.
fn foot() -> Vec<String> {
    vec![
        "Judgements (key, first tempo, phrasing) are proposals: your teacher confirms or changes them.".to_owned(),
        "Rest at least ten minutes in every hour of playing. Pain means stop: ask your teacher and a physician. \
         Copying printed music is a matter of local law."
            .to_owned(),
    ]
}
