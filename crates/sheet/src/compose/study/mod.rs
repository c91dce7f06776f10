//! How does the study for a player read? Spots, tempo, bar by bar, what returns, breaths, fingers, levels: in her words.

mod amount;
mod bars;
mod breathe;
mod climb;
mod comes_back;
mod fingering;
mod level;
mod trouble;

pub(crate) use amount::Asks;
#[cfg(feature = "whole")]
pub(crate) use trouble::once;

use super::say::Say;
use super::{Composed, facts, foot};
use crate::model::{Section, Sheet};
use instruments::{Experience, Instrument};
use load::Study;
use notation::{Finding, Place, Severity};

/// What the sections are made from.
#[derive(Clone, Copy)]
struct Told<'a> {
    study: &'a Study,
    what: &'a Composed<'a>,
    say: Say<'a>,
}

impl<'a> Told<'a> {
    fn of(study: &'a Study, what: &'a Composed<'a>) -> Self {
        Self {
            study,
            what,
            say: Say { piece: what.piece },
        }
    }

    /// `bar 5`, `bar 5, beat 3`, `bar 5, after beat 3`.
    fn place(self, place: Place) -> String {
        let bar = self.say.bar(place.bar);
        if place.offset.is_zero() {
            return bar;
        }
        let Some(grid) = self.study.grids.get(place.bar.get()) else {
            return bar;
        };
        let beat = grid.said_beat(place.offset);
        let after = if beat.fract() > 1e-6 { "after " } else { "" };
        format!("{bar}, {after}beat {:.0}", beat.floor())
    }
}

/// The sections of a study, in the order in which they help.
pub(super) fn sections(study: &Study, what: &Composed) -> Vec<Section> {
    let told = Told::of(study, what);
    let mut sections = trouble::sections(told);
    sections.extend(climb::section(told));
    sections.extend(bars::section(told));
    sections.extend(comes_back::section(told));
    sections.extend(breathe::section(told));
    // Strings have no chart: nothing to say on the whole sheet.
    let winds = study.player.instrument.is_none_or(|i| i.family.is_wind());
    sections.extend(fingering::section(told).filter(|_| winds));
    sections.extend(level::section(told));
    sections
}

/// A sheet of the trouble spots alone. Without a study it has no sections.
#[must_use]
pub fn spots(what: &Composed) -> Sheet {
    small(what, trouble::sections)
}

/// A sheet of the fingerings alone. Without a study it has no sections.
#[must_use]
pub fn fingers(what: &Composed) -> Sheet {
    small(what, |told| fingering::section(told).into_iter().collect())
}

/// A sheet of the first tempo and the ladder alone. Without a study it has no sections.
#[must_use]
pub fn ladder(what: &Composed) -> Sheet {
    small(what, |told| climb::section(told).into_iter().collect())
}

/// A sheet of a few sections of the study.
fn small(what: &Composed, sections: impl Fn(Told) -> Vec<Section>) -> Sheet {
    let study = what.study.map(|study| sections(Told::of(study, what)));
    Sheet {
        title: what.title(),
        facts: facts(what),
        study: study.unwrap_or_default(),
        foot: foot(),
        ..Sheet::default()
    }
}

/// For whom the study is: `for an intermediate player`, with the instrument where it is not the part's.
pub(super) fn for_whom(study: &Study, part: Option<&'static Instrument>) -> String {
    let article = match study.player.experience {
        Experience::Intermediate => "an",
        Experience::Student | Experience::Professional => "a",
    };
    let level = study.player.experience.word();
    let other = study
        .player
        .instrument
        .filter(|own| part.is_none_or(|part| part.id != own.id))
        .map_or_else(String::new, |own| format!(" of the {}", in_a_sentence(own.name)));
    format!("for {article} {level} player{other}")
}

/// An instrument's name within a sentence: `clarinet in B-flat`, but `B-flat clarinet`.
fn in_a_sentence(name: &str) -> String {
    let mut letters = name.chars();
    let first = letters.next();
    let pitched = letters
        .clone()
        .next()
        .is_none_or(|second| matches!(second, '-' | '♭' | ' '));
    match first {
        Some(first) if !pitched => first.to_lowercase().chain(letters).collect(),
        _ => name.to_owned(),
    }
}

/// What is to be said beside the answers, each with its advice and bar.
fn findings<'a>(section: &mut Section, told: Told, findings: impl IntoIterator<Item = &'a Finding>) {
    for finding in findings {
        let advice = if finding.advice.is_empty() {
            String::new()
        } else {
            format!(" — {}", finding.advice)
        };
        let bars = finding.bar.map_or_else(Vec::new, |bar| vec![told.say.label(bar)]);
        section.line(
            Severity::word(finding.severity),
            format!("{}{advice}", finding.what),
            bars,
        );
    }
}
