//! What key is it in, how sure are we, and what proves it? The first question before the first note.
//!
//! The notes, the signature and the marks decide. What the file declares (`<mode>`) and what titles say is never
//! used; the declaration is shown beside the answer. Where the file holds the other parts of the score, their bass and
//! last chord are evidence too, as a musician with the score would look at the bass.
//!
//! How it is found: every key is a candidate with a row of evidence ([`features`]: signature, profiles, last and first
//! notes, cadences, phrase ends, local keys); a log-linear model weighs the rows ([`model`]); the winner's
//! evidence is then told in words. The weights were fitted on scores that are not the test rows; `FIT.md` beside this
//! file says on what, how, and how well.
//!
//! What it does *not* do: decide between sharp and flat spellings against the page, or name church modes beyond five.

pub mod features;
mod letters;
pub mod local;
pub mod material;
pub mod model;
mod modes;
pub mod profiles;
mod proof;
pub mod regions;
mod rival;
pub mod role;
mod scales;
pub mod score;
pub mod signature;
#[cfg(test)]
mod tests;
mod told;
pub mod tonality;
mod weights;

pub use letters::AlteredLetter;
pub use scales::Suggestion;
pub use signature::SignatureRegion;
pub use told::ToldKey;
pub use tonality::{Scale, Tonality};

use crate::context::{Context, Evidence};
use material::Material;
use model::{Judged, Witnesses};
use notation::{BarIndex, KeyRegion, Place, Step};
use proof::Grounds;

/// The answer to the question of key.
#[derive(Clone, PartialEq, Debug)]
pub struct KeyAnswer {
    /// The signatures, in order, each with the place from which it holds.
    pub signatures: Vec<SignatureRegion>,
    /// False for a part without signature by custom, or whose notes contradict its empty signature.
    pub signature_believed: bool,
    /// The tonic as written: letter and semitones of alteration.
    pub tonic: (Step, i8),
    /// `major` or `minor`.
    pub mode: &'static str,
    /// The mode proper: `major`, `minor`, `dorian`, `mixolydian`, `phrygian`, `lydian`, `aeolian`.
    pub scale: &'static str,
    /// Probability of tonic and mode, 0 to 1; 0 where there are no notes to judge by, 1 where the teacher names it.
    pub certainty: f64,
    /// What proves it, the most telling first.
    pub evidence: Vec<Evidence>,
    /// The second most probable key.
    pub runner_up: Option<RunnerUp>,
    /// Stretches of bars by local key, in order, covering the part. Their certainty is how often analysts named the
    /// same key for a bar: single lines leave more open than the key of the whole (over 0.55 is firm).
    pub regions: Vec<KeyRegion>,
    /// Tonic and mode as they sound.
    pub concert: Concert,
    /// What the file declares; shown, never used.
    pub declared: Vec<Declared>,
    /// What to play first.
    pub scales_first: Vec<Suggestion>,
    /// The letters that the signatures alter.
    pub altered_letters: Vec<AlteredLetter>,
    /// What the teacher named; the answer goes by it.
    pub told: Vec<ToldKey>,
}

/// The second most probable key.
#[derive(Clone, PartialEq, Debug)]
pub struct RunnerUp {
    /// Its tonic as written.
    pub tonic: (Step, i8),
    /// `major` or `minor`.
    pub mode: &'static str,
    /// Its probability, 0 to 1.
    pub certainty: f64,
    /// Why it is not the key, a clause.
    pub why_not: String,
}

/// The key as it sounds.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Concert {
    /// The sounding tonic.
    pub tonic: (Step, i8),
    /// `major` or `minor`.
    pub mode: &'static str,
}

/// A mode that the file declares with a signature.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Declared {
    /// Where.
    pub place: Place,
    /// The tonic that signature and declared mode name together, where the mode is one we know.
    pub tonic: Option<(Step, i8)>,
    /// The mode as the file has it.
    pub mode: String,
}

/// Finds the key of a part. `played` is the play order, where it is known: it tells which note is played last.
#[must_use]
pub fn answer(ctx: &Context<'_>, played: Option<&[BarIndex]>) -> KeyAnswer {
    answer_with(ctx, played, true, &[])
}

/// The same where the teacher names the key: hers stands, and what we would have said is told beside it.
#[must_use]
pub fn answer_told(ctx: &Context<'_>, played: Option<&[BarIndex]>, told: &[ToldKey]) -> KeyAnswer {
    answer_with(ctx, played, true, told)
}

/// The same, with or without the evidence of the other parts in the file.
#[must_use]
pub fn answer_with(
    ctx: &Context<'_>,
    played: Option<&[BarIndex]>,
    use_score: bool,
    told: &[ToldKey],
) -> KeyAnswer {
    let material = material::gather(ctx, played);
    let signatures = signature::regions(ctx);
    let witness = signature::witness(ctx, &signatures, &material, use_score);
    let last_bar = played.and_then(|order| order.last().copied());
    let score = if use_score {
        score::gather(ctx, last_bar)
    } else {
        None
    };
    let ours = judge(&material, &witness, score.as_ref());
    // Where there is no pitch there is no key to name.
    let named = told.iter().rev().find(|told| told.bars.is_none());
    let whole = named.filter(|_| !ours.is_empty());
    let judged = whole.map_or_else(
        || ours.clone(),
        |named| {
            let fit = profiles::TEMPERLEY.correlation(&material.all.folded(), named.tonality());
            told::put_first(ours.clone(), named.tonality(), fit)
        },
    );
    let grounds = Grounds {
        ctx,
        material: &material,
        signatures: &signatures,
        witness,
        score: score.as_ref(),
    };
    let key = judged
        .first()
        .map_or(Tonality::major(witness.first), |best| best.key);
    let (bars, shape) = score.as_ref().map_or((&material.bars, &regions::SHAPE), |score| {
        (&score.bars, &regions::SHAPE_OF_SCORE)
    });
    let regions = if judged.is_empty() {
        Vec::new()
    } else {
        regions::regions(ctx, bars, &signatures, &witness, key, shape)
    };
    let regions = told::over(regions, told, ctx.piece.bars.len());
    let (scale, why_mode) = match whole {
        Some(named) => (named.scale, None),
        None => modes::scale(&material, &witness, key),
    };
    let mut evidence = match judged.as_slice() {
        [] => no_notes(&grounds),
        [best, rest @ ..] => proof::proof(&grounds, best, rest.first()),
    };
    evidence.extend(why_mode.map(|why| Evidence::general(format!("{}: {why}", scale.word()))));
    if let (Some(_), Some(named)) = (whole, judged.first()) {
        evidence.insert(0, told::said(named, ours.first()));
    } else if judged.first().is_some_and(|best| best.probability < UNSURE) {
        evidence.push(Evidence::general(
            "no key is clear from these notes: ask the teacher, or look at the score",
        ));
    }
    KeyAnswer {
        tonic: key.tonic(),
        mode: key.mode(),
        scale: scale.word(),
        certainty: judged
            .first()
            .map_or(0.0, |best| if whole.is_some() { 1.0 } else { best.probability }),
        evidence,
        runner_up: runner_up(
            &grounds,
            &judged,
            whole.is_some() && ours.first() != judged.first(),
        ),
        scales_first: scales::first(ctx, &material, key, scale, &regions),
        regions,
        concert: concert(ctx, key),
        declared: declared(ctx),
        altered_letters: letters::altered_letters(ctx, &signatures),
        signature_believed: witness.believed && !witness.borrowed && !witness.by_notes,
        signatures,
        told: told.to_vec(),
    }
}

/// Under this certainty the answer says so in words.
const UNSURE: f64 = 0.5;

fn judge(material: &Material, witness: &signature::Witness, score: Option<&score::Score>) -> Vec<Judged> {
    if material.line.is_empty() {
        return Vec::new();
    }
    let posterior = local::posterior(&material.bars, &[], &local::SETTINGS);
    let candidates = features::candidates(material, witness, &posterior, score);
    let witnesses = Witnesses {
        signature: witness.believed,
        score: score.is_some(),
    };
    model::judge(candidates, witnesses)
}

fn no_notes(grounds: &Grounds<'_>) -> Vec<Evidence> {
    let count = grounds.witness.first;
    let (major, minor) = (Tonality::major(count), Tonality::minor(count + 3));
    vec![Evidence::general(format!(
        "no notes of definite pitch: the signature alone allows {} or {}",
        major.name(),
        minor.name()
    ))]
}

/// `overruled` says that the teacher names another key than the notes do.
fn runner_up(grounds: &Grounds<'_>, judged: &[Judged], overruled: bool) -> Option<RunnerUp> {
    let [best, second, ..] = judged else { return None };
    Some(RunnerUp {
        tonic: second.key.tonic(),
        mode: second.key.mode(),
        certainty: second.probability,
        why_not: if overruled {
            format!("the teacher names {}", best.key.name())
        } else {
            rival::why_not(grounds, best, second)
        },
    })
}

fn concert(ctx: &Context<'_>, key: Tonality) -> Concert {
    let shift = if ctx.piece.concert_pitch {
        0
    } else {
        signature::to_concert(ctx.part.transposition_at(Place::default()))
    };
    Concert {
        tonic: key.moved(shift).tonic(),
        mode: key.mode(),
    }
}

fn declared(ctx: &Context<'_>) -> Vec<Declared> {
    ctx.part
        .keys
        .iter()
        .filter_map(|change| {
            let mode = change.value.declared_mode.clone()?;
            let count = signature::fifths(&change.value);
            let tonic = match mode.to_lowercase().as_str() {
                "major" | "ionian" => Some(count),
                "minor" | "aeolian" => Some(count + 3),
                "dorian" => Some(count + 2),
                "phrygian" => Some(count + 4),
                "lydian" => Some(count - 1),
                "mixolydian" => Some(count + 1),
                "locrian" => Some(count + 5),
                _ => None,
            };
            Some(Declared {
                place: change.place,
                tonic: tonic.map(tonality::spelled),
                mode,
            })
        })
        .collect()
}
