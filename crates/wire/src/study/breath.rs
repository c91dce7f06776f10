//! Where does she breathe, how does she bow, what are the phrases, as JSON?

use super::Said;
use crate::at::{AtBeat, NoteAt};
use crate::say::{self, FindingSaid, share};
use load::breath::{Breath, BreathAnswer};
use notation::{LineNote, Part};
use schemars::JsonSchema;
use serde::Serialize;

/// A breath proposed for one of the two tempi: the teacher decides.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct BreathSaid {
    /// Where the sign stands: at the note before which it is taken; where a repeat or jump leads away, at the end of the note
    /// that is left.
    #[serde(flatten)]
    pub at: AtBeat,
    /// For which tempo: `first` (that of the first reading) or `final`.
    pub tempo: String,
    /// `breathe`, `breathe-out` (only out: the oboe) or `on-rest` (nothing is shortened).
    pub kind: String,
    /// True if it falls away at the final tempo.
    pub optional: bool,
    /// Why here, a clause.
    pub why: String,
    /// The note before it, which is shortened; null on a rest.
    pub shortened: Option<NoteAt>,
    /// True if the page itself has a breath mark or caesura here.
    pub printed: bool,
}

/// What is to be said about breathing as a whole.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct BreathsMore {
    /// In a sentence; empty for instruments that don't breathe.
    pub summary: String,
    /// When to stop and whom to ask; empty for instruments that don't breathe.
    pub caution: String,
    /// Where there is no place to breathe, with what to do.
    pub findings: Vec<FindingSaid>,
}

/// A bowing sign: the teacher or the leader decides.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Bowing {
    /// At which note.
    #[serde(flatten)]
    pub at: AtBeat,
    /// `down` or `up`.
    pub stroke: String,
    /// True if the note goes on in the bow of the note before, stopped between them.
    pub hooked: bool,
    /// Why, a clause.
    pub why: String,
}

/// Where the bowings come from.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct BowingsMore {
    /// The source of the rules.
    pub source: String,
}

/// A phrase.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct PhraseSaid {
    /// Label of the bar of its first note.
    pub from_bar: String,
    /// That bar counted from 0.
    pub from_bar_index: u32,
    /// The felt beat of its first note, from 1: 2.5 is half way through beat 2.
    pub from_beat: f64,
    /// Label of the bar in which its last note begins.
    pub to_bar: String,
    /// That bar counted from 0.
    pub to_bar_index: u32,
    /// The felt beat on which its last note begins.
    pub to_beat: f64,
    /// Its notes: chords once, ties joined, grace notes left out.
    pub notes: usize,
    /// How probable it is that a phrase begins here, 0 to 1, to three decimals.
    pub certainty: f64,
    /// What speaks for its beginning, the most telling first; empty for the first.
    pub why: Vec<String>,
}

/// The notes of the line, by which the study names them.
pub(super) struct Notes<'a> {
    pub(super) part: Option<&'a Part>,
    pub(super) line: &'a [LineNote],
    pub(super) said: Said<'a>,
}

impl Notes<'_> {
    fn event(&self, note: usize) -> Option<&notation::Event> {
        self.part?.events.get(self.line.get(note)?.event)
    }

    fn at(&self, note: usize) -> Option<NoteAt> {
        let event = self.event(note)?;
        let pitch = self.line.get(note)?.pitch;
        Some(self.said.places.note(pitch, event.place, event.id))
    }
}

/// Those for the first tempo, then those for the final one.
pub(super) fn breaths(notes: &Notes) -> Vec<BreathSaid> {
    let answer = &notes.said.study.breath;
    let first = answer.at_first.iter().map(|breath| one(breath, "first", notes));
    let last = answer.at_final.iter().map(|breath| one(breath, "final", notes));
    first.chain(last).collect()
}

fn one(breath: &Breath, tempo: &str, notes: &Notes) -> BreathSaid {
    // Where the sign stands at the note left, it is not at the note that is breathed before.
    let element = notes
        .event(breath.note)
        .filter(|event| event.place == breath.place);
    BreathSaid {
        at: notes.said.at(breath.place, element.map(|event| event.id)),
        tempo: tempo.to_owned(),
        kind: breath.kind.id().to_owned(),
        optional: breath.optional,
        why: breath.why.clone(),
        shortened: breath.shortened.and_then(|note| notes.at(note)),
        printed: breath.printed,
    }
}

pub(super) fn more(answer: &BreathAnswer) -> BreathsMore {
    BreathsMore {
        summary: answer.summary.clone(),
        caution: answer.caution.to_owned(),
        findings: say::findings(&answer.findings),
    }
}

pub(super) fn bowings(notes: &Notes) -> Option<Vec<Bowing>> {
    let answer = notes.said.study.breath.bowing.as_ref()?;
    let one = |sign: &load::bowing::BowSign| Bowing {
        at: notes
            .said
            .at(sign.place, notes.event(sign.note).map(|event| event.id)),
        stroke: sign.stroke.word().to_owned(),
        hooked: sign.hooked,
        why: sign.why.to_owned(),
    };
    Some(answer.signs.iter().map(one).collect())
}

pub(super) fn bowings_more(answer: &BreathAnswer) -> Option<BowingsMore> {
    let source = answer.bowing.as_ref()?.source.to_owned();
    Some(BowingsMore { source })
}

pub(super) fn phrases(said: Said) -> Vec<PhraseSaid> {
    let answer = &said.study.phrases;
    let places = said.places;
    let both = answer.phrases.iter().zip(&answer.boundaries);
    both.map(|(phrase, begins)| PhraseSaid {
        from_bar: places.label(phrase.from.bar),
        from_bar_index: phrase.from.bar.0,
        from_beat: said.beat(phrase.from),
        to_bar: places.label(phrase.to.bar),
        to_bar_index: phrase.to.bar.0,
        to_beat: said.beat(phrase.to),
        notes: phrase.notes.len(),
        certainty: share(begins.certainty),
        why: begins.why.iter().map(|why| (*why).to_owned()).collect(),
    })
    .collect()
}
