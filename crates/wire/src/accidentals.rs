//! Question 9 as JSON.

use crate::at::{At, Evidence, InBar, NoteAt, Places};
use crate::say::pitch_name;
use schemars::JsonSchema;
use serde::Serialize;
use survey::accidentals::{AccidentalsAnswer, Courtesy};

/// Accidentals: every note altered from the signature, and the traps they set.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Accidentals {
    /// Every head altered from the signature, in order.
    pub ledger: Vec<Altered>,
    /// How many there are.
    pub altered_notes: usize,
    /// Accidental signs printed, those that restore the signature too.
    pub printed_signs: usize,
    /// One letter in two forms right after each other.
    pub double_inflections: Vec<TwoNotes>,
    /// The same letter in two forms close together.
    pub two_forms: Vec<Forms>,
    /// Spellings that sound like another letter.
    pub enharmonic: Vec<Enharmonic>,
    /// The same sound spelled in two ways close together.
    pub respelled: Vec<TwoNotes>,
    /// Runs by semitones.
    pub chromatic_runs: Vec<Run>,
    /// Where a courtesy accidental is missing.
    pub courtesy_suggested: Vec<CourtesySign>,
    /// Courtesies printed already.
    pub courtesy_printed: Vec<CourtesySign>,
    /// The densest bars first: to be read slowly first.
    pub densest: Vec<Dense>,
    /// What it means for the player.
    pub means: String,
    /// Where to look.
    pub evidence: Vec<Evidence>,
}

/// A head altered from the signature.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Altered {
    /// Written pitch and place.
    #[serde(flatten)]
    pub note: NoteAt,
    /// The accidental stands before this very note.
    pub printed: bool,
    /// It is in force silently: from earlier in the bar, or by a tie.
    pub carried: bool,
    /// The key asks for it though no signature is printed.
    pub expected: bool,
    /// A grace note.
    pub grace: bool,
}

/// Two notes that belong together.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct TwoNotes {
    /// The first.
    pub first: NoteAt,
    /// The second.
    pub second: NoteAt,
}

/// A letter in several forms.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Forms {
    /// The letter.
    pub letter: String,
    /// Its forms in order of appearance.
    pub forms: Vec<String>,
    /// Where each change of form stands: the note after.
    pub at: Vec<At>,
}

/// A spelling that hides what it sounds.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Enharmonic {
    /// Written pitch.
    pub written: String,
    /// What it sounds and is fingered like.
    pub sounds_as: String,
    /// True if the signature itself spells it so.
    pub in_signature: bool,
    /// Where.
    pub at: Vec<At>,
}

/// A run by semitones.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Run {
    /// First note.
    pub from: NoteAt,
    /// Last note.
    pub to: NoteAt,
    /// How many notes.
    pub notes: usize,
    /// Upwards.
    pub up: bool,
}

/// A courtesy accidental, printed or missing.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct CourtesySign {
    /// The note as it is to be read, and where.
    #[serde(flatten)]
    pub note: NoteAt,
    /// Why.
    pub reason: String,
}

/// A bar with many accidentals.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Dense {
    /// The bar.
    #[serde(flatten)]
    pub bar: InBar,
    /// Signs printed.
    pub printed: usize,
    /// Notes whose accidental is carried silently.
    pub carried: usize,
    /// Of both, those that neither signature nor key asks for.
    pub surprises: usize,
}

pub(crate) fn accidentals(answer: &AccidentalsAnswer, places: Places) -> Accidentals {
    let courtesies = |signs: &[Courtesy]| {
        signs
            .iter()
            .map(|c| CourtesySign {
                note: places.note(c.written, c.place, c.head),
                reason: c.says(),
            })
            .collect()
    };
    Accidentals {
        ledger: answer
            .ledger
            .iter()
            .map(|entry| Altered {
                note: places.note(entry.written, entry.place, entry.head),
                printed: entry.printed,
                carried: entry.carried,
                expected: entry.expected,
                grace: entry.grace,
            })
            .collect(),
        altered_notes: answer.altered_notes,
        printed_signs: answer.signs.printed,
        double_inflections: answer
            .double_inflections
            .iter()
            .map(|d| TwoNotes {
                first: places.note(d.first, d.first_at.0, d.first_at.1),
                second: places.note(d.second, d.second_at.0, d.second_at.1),
            })
            .collect(),
        two_forms: answer
            .two_forms
            .iter()
            .map(|t| Forms {
                letter: t.step.letter().to_string(),
                forms: t.forms.iter().map(|p| pitch_name(*p)).collect(),
                at: t
                    .changes
                    .iter()
                    .map(|(_, (place, id))| places.at(*place, Some(*id)))
                    .collect(),
            })
            .collect(),
        enharmonic: answer
            .enharmonic
            .iter()
            .map(|e| Enharmonic {
                written: pitch_name(e.written),
                sounds_as: pitch_name(e.sounds_as),
                in_signature: e.in_signature,
                at: e
                    .at
                    .iter()
                    .map(|(place, id)| places.at(*place, Some(*id)))
                    .collect(),
            })
            .collect(),
        respelled: answer
            .respelled
            .iter()
            .map(|r| TwoNotes {
                first: places.note(r.first, r.first_at.0, r.first_at.1),
                second: places.note(r.second, r.second_at.0, r.second_at.1),
            })
            .collect(),
        chromatic_runs: answer
            .chromatic_runs
            .iter()
            .map(|r| Run {
                from: places.note(r.from, r.from_at.0, r.from_at.1),
                to: places.note(r.to, r.to_at.0, r.to_at.1),
                notes: r.notes,
                up: r.up,
            })
            .collect(),
        courtesy_suggested: courtesies(&answer.courtesy_suggested),
        courtesy_printed: courtesies(&answer.courtesy_printed),
        densest: answer
            .densest
            .iter()
            .map(|d| Dense {
                bar: places.bar(d.bar),
                printed: d.printed,
                carried: d.carried,
                surprises: d.surprises,
            })
            .collect(),
        means: answer.means.clone(),
        evidence: places.evidence(&answer.evidence),
    }
}
