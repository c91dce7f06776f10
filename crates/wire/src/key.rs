//! Question 1 as JSON.

use crate::at::{At, Evidence, Places};
use crate::say::{share, tonic_name};
use schemars::JsonSchema;
use serde::Serialize;
use survey::key::KeyAnswer;

/// Key: tonic and mode as written, with the proof.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Key {
    /// The written tonic: `F`, `Bb`, `C#`.
    pub tonic: String,
    /// `major` or `minor`.
    pub mode: String,
    /// The mode proper: `major`, `minor`, `dorian`, `mixolydian` …
    pub scale: String,
    /// Sharps (positive) or flats (negative) of the first signature; null for a non-traditional one.
    pub signature: Option<i8>,
    /// The first signature in words: `4 flats`.
    pub signature_name: String,
    /// False for a part without signature by custom (horn, trumpet).
    pub signature_believed: bool,
    /// Every signature of the source in order, restated ones too.
    pub signatures: Vec<Signature>,
    /// Probability of tonic and mode, from 0 to 1.
    pub certainty: f64,
    /// What proves it, the most telling first.
    pub evidence: Vec<Evidence>,
    /// The second most probable key and why not.
    pub runner_up: Option<RunnerUp>,
    /// Stretches of bars by local key, in order.
    pub regions: Vec<Region>,
    /// Tonic and mode as they sound.
    pub concert: Concert,
    /// What the file declares; shown, never used.
    pub declared: Vec<Declared>,
    /// What to play first.
    pub scales_first: Vec<Suggestion>,
    /// The letters that the signatures alter.
    pub altered_letters: Vec<Letter>,
}

/// A signature.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Signature {
    /// Sharps (positive) or flats (negative); null for a non-traditional one.
    pub fifths: Option<i8>,
    /// In words.
    pub name: String,
    /// The staff it is for, from 1; null for all.
    pub staff: Option<u8>,
    /// From where it holds.
    #[serde(flatten)]
    pub at: At,
}

/// The second most probable key.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct RunnerUp {
    /// Its written tonic.
    pub tonic: String,
    /// `major` or `minor`.
    pub mode: String,
    /// Its probability.
    pub certainty: f64,
    /// Why it is not the key.
    pub why_not: String,
}

/// A stretch of bars in one key.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Region {
    /// Label of its first bar.
    pub from_bar: String,
    /// Label of its last bar.
    pub to_bar: String,
    /// Its first bar counted from 0.
    pub from_bar_index: u32,
    /// Its last bar counted from 0.
    pub to_bar_index: u32,
    /// Its written tonic.
    pub tonic: String,
    /// Its mode.
    pub mode: String,
    /// Its probability.
    pub certainty: f64,
}

/// The key as it sounds.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Concert {
    /// The sounding tonic.
    pub tonic: String,
    /// `major` or `minor`.
    pub mode: String,
}

/// What the file declares.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Declared {
    /// The tonic that signature and declared mode name together.
    pub tonic: Option<String>,
    /// The mode as the file has it.
    pub mode: String,
    /// Where.
    #[serde(flatten)]
    pub at: At,
}

/// A scale or arpeggio to play first.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Suggestion {
    /// What to play.
    pub name: String,
    /// Why.
    pub why: String,
}

/// A letter that a signature alters.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Letter {
    /// The letter with its alteration: `Bb`.
    pub letter: String,
    /// Notes that take the signature's alteration.
    pub count: u32,
    /// Notes on the letter altered otherwise.
    pub otherwise: u32,
    /// The first note that takes it.
    pub first: Option<At>,
}

pub(crate) fn key(answer: &KeyAnswer, part: Option<&notation::Part>, places: Places) -> Key {
    let first = answer.signatures.first();
    Key {
        tonic: tonic_name(answer.tonic.0, answer.tonic.1),
        mode: answer.mode.to_owned(),
        scale: answer.scale.to_owned(),
        signature: first.and_then(|region| region.signature.fifths),
        signature_name: first.map_or_else(|| "none".to_owned(), |region| region.signature.name()),
        signature_believed: answer.signature_believed,
        signatures: part
            .map_or(&[][..], |part| &part.keys)
            .iter()
            .map(|change| Signature {
                fifths: change.value.fifths,
                name: change.value.name(),
                staff: change.staff,
                at: places.at(change.place, Some(change.id)),
            })
            .collect(),
        certainty: share(answer.certainty),
        evidence: places.evidence(&answer.evidence),
        runner_up: answer.runner_up.as_ref().map(|rival| RunnerUp {
            tonic: tonic_name(rival.tonic.0, rival.tonic.1),
            mode: rival.mode.to_owned(),
            certainty: share(rival.certainty),
            why_not: rival.why_not.clone(),
        }),
        regions: answer
            .regions
            .iter()
            .map(|region| Region {
                from_bar: places.label(region.from),
                to_bar: places.label(region.to),
                from_bar_index: region.from.0,
                to_bar_index: region.to.0,
                tonic: tonic_name(region.tonic.0, region.tonic.1),
                mode: region.mode.clone(),
                certainty: share(region.certainty),
            })
            .collect(),
        concert: Concert {
            tonic: tonic_name(answer.concert.tonic.0, answer.concert.tonic.1),
            mode: answer.concert.mode.to_owned(),
        },
        declared: answer
            .declared
            .iter()
            .map(|d| Declared {
                tonic: d.tonic.map(|(step, alter)| tonic_name(step, alter)),
                mode: d.mode.clone(),
                at: places.at(d.place, None),
            })
            .collect(),
        scales_first: answer
            .scales_first
            .iter()
            .map(|s| Suggestion {
                name: s.name.clone(),
                why: s.why.clone(),
            })
            .collect(),
        altered_letters: answer
            .altered_letters
            .iter()
            .map(|l| Letter {
                letter: format!("{}{}", l.letter.letter(), notation::alter_ascii(l.alter)),
                count: l.count,
                otherwise: l.otherwise,
                first: l.first.map(|place| places.at(place, None)),
            })
            .collect(),
    }
}
