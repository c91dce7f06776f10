//! Which notes are altered, and where will a reader slip? The ledger, courtesies, enharmonics, densest bars.
//!
//! The rules of reading: an accidental acts in its own octave, on its own staff, to the end of its bar; a tie carries
//! one over the bar line for the tied note alone; a change of key ends what was in force.
//! Source: common practice, as in MusicXML 4.0, `<accidental>` ("actual notated accidentals").
//!
//! The ledger takes every head (tied-over, grace, cue, hidden: marked as such), so that its length is the count of
//! altered notes; everything said to the player leaves cues and hidden notes out.

mod chromatic;
mod courtesy;
mod density;
mod enharmonic;
mod forms;
mod reading;

pub use chromatic::ChromaticRun;
pub use courtesy::{Courtesy, CourtesyReason, Strength};
pub use density::BarDensity;
pub use enharmonic::{EnharmonicNote, Respelled};
pub use forms::{DoubleInflection, TwoForms};
pub use reading::How;

use crate::{Context, Evidence};
use instruments::{Family, Identified};
use notation::{Alter, BarIndex, Finding, Id, KeySignature, Pitch, Place};
use reading::{Note, Page, read};

/// What other questions know that helps this one.
#[derive(Clone, Copy, Debug, Default)]
pub struct AccidentalHints<'a> {
    /// The signature that the key would have (from the key question), in sharps: a horn part without signature in
    /// D major has 2, and its F♯s are no surprise. `None`: go by the printed signature.
    pub tonic_signature: Option<i8>,
    /// The bars in the order in which they are played, for courtesies on a repeat back; empty if not known.
    pub play_order: &'a [BarIndex],
}

/// The answer to question 9.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct AccidentalsAnswer {
    /// Every head altered from the signature, in order.
    pub ledger: Vec<LedgerEntry>,
    /// How many there are: the ledger's length.
    pub altered_notes: usize,
    /// Printed accidentals by what they do.
    pub signs: Signs,
    /// One letter in two forms right after each other (F then F♯).
    pub double_inflections: Vec<DoubleInflection>,
    /// One letter in two forms close together, in a bar or over its line, not right after each other.
    pub two_forms: Vec<TwoForms>,
    /// Spellings that sound like another letter (E♯ as F).
    pub enharmonic: Vec<EnharmonicNote>,
    /// The same sound spelled in two ways close together (F♯, then G♭).
    pub respelled: Vec<Respelled>,
    /// Runs by semitones.
    pub chromatic_runs: Vec<ChromaticRun>,
    /// Places that deserve a courtesy accidental and have none.
    pub courtesy_suggested: Vec<Courtesy>,
    /// Accidentals printed although nothing new is said: courtesies already there.
    pub courtesy_printed: Vec<Courtesy>,
    /// The bars with the most accidentals, the densest first: to be read slowly first.
    pub densest: Vec<BarDensity>,
    /// What it means for the player.
    pub means: String,
    /// Where to look.
    pub evidence: Vec<Evidence>,
    /// Contradictions on the page.
    pub findings: Vec<Finding>,
}

/// A head altered from the signature.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
#[expect(
    clippy::struct_excessive_bools,
    reason = "each is a fact of its own about one head"
)]
pub struct LedgerEntry {
    /// Where.
    pub place: Place,
    /// The event.
    pub event: Id,
    /// The head.
    pub head: Id,
    /// The written pitch.
    pub written: Pitch,
    /// What the signature in force would make of the letter.
    pub signature: Alter,
    /// The accidental stands before this very note.
    pub printed: bool,
    /// It is in force silently: from earlier in the bar, or by a tie.
    pub carried: bool,
    /// How the reader knows.
    pub how: How,
    /// The key asks for it although the signature does not (see [`AccidentalHints::tonic_signature`]).
    pub expected: bool,
    /// A grace note.
    pub grace: bool,
    /// A cue note.
    pub cue: bool,
    /// The source says that it is not printed.
    pub hidden: bool,
}

/// Printed accidentals by what they do.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub struct Signs {
    /// All of them.
    pub printed: usize,
    /// Those that alter a note from the signature.
    pub altering: usize,
    /// Those that bring a note back to the signature.
    pub restoring: usize,
    /// Of both, those that say nothing new (courtesies).
    pub courtesy: usize,
    /// True if the source prints none and they were worked out by the rules of reading.
    pub worked_out: bool,
}

/// Answers question 9 for a part.
#[must_use]
pub fn answer(ctx: &Context, identified: Option<&Identified>, hints: &AccidentalHints) -> AccidentalsAnswer {
    let page = read(ctx);
    let expected = hints.tonic_signature.map(KeySignature::of_fifths);
    let ledger = ledger(&page, expected.as_ref());
    let (suggested, printed) = courtesy::courtesies(&page.notes, hints.play_order);
    let (double_inflections, two_forms) = forms::forms(&page.notes);
    let mut answer = AccidentalsAnswer {
        altered_notes: ledger.len(),
        signs: signs(&page),
        double_inflections,
        two_forms,
        enharmonic: enharmonic::enharmonics(&page.notes, identified.map(|i| i.instrument.family)),
        respelled: enharmonic::respelled(&page.notes),
        chromatic_runs: chromatic::runs(ctx),
        courtesy_suggested: suggested,
        courtesy_printed: printed,
        densest: density::densest(&page.notes, expected.as_ref()),
        findings: page.findings,
        ledger,
        ..AccidentalsAnswer::default()
    };
    answer.evidence = evidence(&answer);
    answer.means = means(ctx, &answer, identified);
    answer
}

fn ledger(page: &Page, expected: Option<&KeySignature>) -> Vec<LedgerEntry> {
    page.notes
        .iter()
        .filter(|note| note.altered())
        .map(|note| LedgerEntry {
            place: note.event.place,
            event: note.event.id,
            head: note.head.id,
            written: note.pitch,
            signature: note.signature,
            printed: note.printed,
            carried: matches!(note.how, How::Bar | How::Tie),
            how: note.how,
            expected: expects(expected, note),
            grace: note.event.is_grace(),
            cue: note.event.cue,
            hidden: !note.event.printed,
        })
        .collect()
}

/// True if the key (not the printed signature) asks for the note's alteration.
fn expects(expected: Option<&KeySignature>, note: &Note) -> bool {
    expected.is_some_and(|key| key.alter_of(note.pitch.step) == note.pitch.alter)
}

fn signs(page: &Page) -> Signs {
    let mut signs = Signs {
        worked_out: page.worked_out,
        ..Signs::default()
    };
    for note in page.notes.iter().filter(|note| note.printed) {
        signs.printed += 1;
        if note.altered() {
            signs.altering += 1;
        } else {
            signs.restoring += 1;
        }
        signs.courtesy += usize::from(note.says_nothing_new());
    }
    signs
}

fn evidence(answer: &AccidentalsAnswer) -> Vec<Evidence> {
    let mut evidence: Vec<Evidence> = Vec::new();
    let mut push = |place: Place, element: Id, says: String| {
        evidence.push(Evidence {
            place: Some(place),
            element: Some(element),
            says,
        });
    };
    for dense in &answer.densest {
        push(Place::start_of(dense.bar), dense.first, dense.says());
    }
    for double in &answer.double_inflections {
        push(
            double.second_at.0,
            double.second_at.1,
            format!(
                "{} right after {}",
                double.second.class_sign_natural(),
                double.first.class_sign_natural()
            ),
        );
    }
    for courtesy in &answer.courtesy_suggested {
        push(courtesy.place, courtesy.event, courtesy.says());
    }
    for note in &answer.enharmonic {
        if let Some((place, event)) = note.at.first() {
            push(*place, *event, note.says());
        }
    }
    evidence
}

fn means(ctx: &Context, answer: &AccidentalsAnswer, identified: Option<&Identified>) -> String {
    if answer.altered_notes == 0 {
        return if answer.signs.restoring == 0 {
            "No accidentals: everything is in the signature.".to_owned()
        } else {
            "Nothing is altered from the signature; the accidentals printed are reminders.".to_owned()
        };
    }
    let carried = answer
        .ledger
        .iter()
        .filter(|entry| entry.carried && !entry.cue && !entry.hidden)
        .count();
    let plural = |n: usize| if n == 1 { "" } else { "s" };
    let mut says = format!(
        "{} altered note{}, {carried} of them without a sign of {} own.",
        answer.altered_notes,
        plural(answer.altered_notes),
        if answer.altered_notes == 1 { "its" } else { "their" }
    );
    if !answer.densest.is_empty() {
        let bars: Vec<&str> = answer
            .densest
            .iter()
            .take(3)
            .map(|dense| ctx.label(dense.bar))
            .collect();
        says.push_str(&format!(
            " Read bar{} {} slowly first.",
            plural(bars.len()),
            bars.join(", ")
        ));
    }
    if !answer.enharmonic.is_empty() && identified.is_some_and(|i| i.instrument.family == Family::String) {
        says.push_str(
            " On a string the letter decides the finger: E♯ is a raised first finger on D, F a low second.",
        );
    }
    says
}

/// Names with a natural sign where a natural stands against an altered form.
trait NaturalName {
    fn class_sign_natural(&self) -> String;
}

impl NaturalName for Pitch {
    fn class_sign_natural(&self) -> String {
        if self.alter.is_zero() {
            format!("{}♮", self.step.letter())
        } else {
            self.class_sign()
        }
    }
}

#[cfg(test)]
mod tests;
