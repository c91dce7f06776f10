//! Why do we say this key? The proof in words, each sentence with the place where it can be checked.

use super::features::{Degree, degree};
use super::material::Material;
use super::model::Judged;
use super::profiles::TEMPERLEY;
use super::scales::bars;
use super::score::Score;
use super::signature::{SignatureRegion, Witness, fifths};
use super::tonality::{Tonality, note_name};
use crate::context::{Context, Evidence};

/// What the proof is made from.
pub struct Grounds<'a> {
    /// The part.
    pub ctx: &'a Context<'a>,
    /// Its notes.
    pub material: &'a Material,
    /// Its signatures.
    pub signatures: &'a [SignatureRegion],
    /// What they are worth.
    pub witness: Witness,
    /// The other parts, where they are at hand.
    pub score: Option<&'a Score>,
}

/// The evidence for a key, the most telling first.
#[must_use]
pub fn proof(grounds: &Grounds<'_>, best: &Judged, second: Option<&Judged>) -> Vec<Evidence> {
    let key = best.key;
    let mut evidence = vec![signature(grounds, key)];
    evidence.extend(last_note(grounds, key));
    evidence.extend(score_end(grounds, key));
    evidence.extend(cadences(grounds, key));
    evidence.extend(first_note(grounds, key));
    evidence.extend(raised_degrees(grounds, key));
    evidence.push(Evidence::general(fit(grounds, best, second)));
    evidence
}

/// A degree as it is said in a sentence.
pub(super) fn degree_name(fifths: i32, key: Tonality) -> &'static str {
    match degree(fifths, key) {
        Degree::First => "the tonic",
        Degree::Second => "the second",
        Degree::Third => "the third",
        Degree::Fourth => "the fourth",
        Degree::Fifth => "the fifth",
        Degree::SixthSeventh if matches!(fifths - key.fifths, -4 | 3) => "the sixth",
        Degree::SixthSeventh => "the seventh",
        Degree::Leading => "the leading note",
        Degree::OtherThird if key.minor => "the major third",
        Degree::OtherThird => "the minor third",
        Degree::Foreign => "outside the scale",
    }
}

fn signature(grounds: &Grounds<'_>, key: Tonality) -> Evidence {
    let Some(first) = grounds.signatures.first() else {
        return Evidence::general("no signature is stated");
    };
    let said = first.signature.name();
    let at = |says: String| Evidence {
        place: Some(first.place),
        element: first.element,
        says,
    };
    if grounds.witness.borrowed {
        return Evidence::general(format!(
            "this part has no signature, as parts like it by custom, but the other parts' would be {} as it is written",
            notation::KeySignature::of_fifths(i8::try_from(grounds.witness.first).unwrap_or(0)).name()
        ));
    }
    if grounds.witness.by_notes {
        let kept = notation::KeySignature::of_fifths(i8::try_from(grounds.witness.first).unwrap_or(0)).name();
        return at(format!(
            "the signature, {said}, is contradicted all through: the notes are those of {kept}"
        ));
    }
    if !grounds.witness.believed {
        return Evidence::general(
            "no signature, as parts like this are written by custom, or the notes contradict it: it proves nothing",
        );
    }
    let count = fifths(&first.signature);
    let (major, minor) = (Tonality::major(count), Tonality::minor(count + 3));
    match count - key.signature() {
        0 => at(format!(
            "the signature, {said}, fits {} and {}",
            major.name(),
            minor.name()
        )),
        off => {
            let usual = notation::KeySignature::of_fifths(i8::try_from(key.signature()).unwrap_or(0)).name();
            let why = match (off, key.minor) {
                (1, true) => ", as in dorian and in older minor pieces",
                (-1, false) => ", as in mixolydian",
                _ => "",
            };
            at(format!(
                "the signature is {said} where {} usually has {usual}{why}",
                key.name()
            ))
        }
    }
}

fn last_note(grounds: &Grounds<'_>, key: Tonality) -> Option<Evidence> {
    let note = grounds.material.line.get(grounds.material.last)?;
    let event = grounds.ctx.part.events.get(note.event)?;
    let picardy = match degree(note.fifths, key) {
        Degree::OtherThird if key.minor => ", as a minor piece may close",
        _ => "",
    };
    let says = format!(
        "the last note played, {}, is {}{picardy}",
        note_name(note.fifths),
        degree_name(note.fifths, key)
    );
    Some(Evidence::of(event, says))
}

fn first_note(grounds: &Grounds<'_>, key: Tonality) -> Option<Evidence> {
    let note = grounds.material.line.get(grounds.material.first)?;
    let event = grounds.ctx.part.events.get(note.event)?;
    Some(Evidence::of(
        event,
        format!(
            "the first note, {}, is {}",
            note_name(note.fifths),
            degree_name(note.fifths, key)
        ),
    ))
}

fn score_end(grounds: &Grounds<'_>, key: Tonality) -> Option<Evidence> {
    let score = grounds.score?;
    let bass = score.last_bass?;
    let holds = |third: i32| score.last_chord.contains(&third);
    let chord = if bass != key.fifths {
        String::new()
    } else if holds(key.third()) {
        format!(" under its {} third {}", key.mode(), note_name(key.third()))
    } else if holds(key.parallel().third()) {
        format!(
            " under the {} third {}",
            key.parallel().mode(),
            note_name(key.parallel().third())
        )
    } else {
        String::new()
    };
    let says = format!(
        "the score's last bass note, {} as this part reads, is {}{chord}",
        note_name(bass),
        degree_name(bass, key)
    );
    Some(Evidence {
        place: score.last_place,
        element: None,
        says,
    })
}

/// How the last note is reached, and where phrases close on the tonic.
fn cadences(grounds: &Grounds<'_>, key: Tonality) -> Vec<Evidence> {
    let line = &grounds.material.line;
    let mut evidence = Vec::new();
    let cadence = |i: usize| {
        let note = line.get(i)?;
        if note.fifths != key.fifths {
            return None;
        }
        let before = line[..i]
            .iter()
            .rev()
            .take(8)
            .find(|other| other.fifths != note.fifths)?;
        let kind = match degree(before.fifths, key) {
            Degree::Fifth => "fifth to tonic",
            Degree::Second => "second to tonic",
            Degree::Leading => "leading note to tonic",
            _ => return None,
        };
        Some((
            format!("{}–{}", note_name(before.fifths), note_name(note.fifths)),
            kind,
        ))
    };
    if let Some((notes, kind)) = cadence(grounds.material.last)
        && let Some(event) = line
            .get(grounds.material.last)
            .and_then(|note| grounds.ctx.part.events.get(note.event))
    {
        evidence.push(Evidence::of(event, format!("the close is {notes}, {kind}")));
    }
    let inner: Vec<usize> = (0..line.len())
        .filter(|i| *i != grounds.material.last && line[*i].ending >= 1.0 && cadence(*i).is_some())
        .collect();
    if let Some(note) = inner.first().and_then(|i| line.get(*i)) {
        let says = format!(
            "phrases close on {} in {}",
            note_name(key.fifths),
            bars(grounds.ctx, &inner)
        );
        evidence.push(Evidence::at(note.place, says));
    }
    evidence
}

/// Raised sixths and sevenths in minor; in major, the leading note that rises.
fn raised_degrees(grounds: &Grounds<'_>, key: Tonality) -> Vec<Evidence> {
    let line = &grounds.material.line;
    let mut evidence = Vec::new();
    let mut find = |above: i32, says: &dyn Fn(&str) -> String| {
        let notes: Vec<usize> = (0..line.len())
            .filter(|i| line[*i].fifths == key.fifths + above)
            .collect();
        if let Some(first) = notes.first().and_then(|i| line.get(*i)) {
            evidence.push(Evidence::at(first.place, says(&bars(grounds.ctx, &notes))));
        }
    };
    let sign = |above: i32| note_name_said(key.fifths + above);
    if key.minor {
        find(5, &|bars| format!("{}, the raised seventh, in {bars}", sign(5)));
        find(3, &|bars| format!("{}, the raised sixth, in {bars}", sign(3)));
    } else if line
        .windows(2)
        .any(|pair| pair[0].fifths == key.fifths + 5 && pair[1].fifths == key.fifths)
    {
        let rising: Vec<usize> = (1..line.len())
            .filter(|i| line[i - 1].fifths == key.fifths + 5 && line[*i].fifths == key.fifths)
            .collect();
        if let Some(note) = rising.first().and_then(|i| line.get(*i)) {
            let says = format!(
                "the leading note {} rises to {} in {}",
                sign(5),
                note_name(key.fifths),
                bars(grounds.ctx, &rising)
            );
            evidence.push(Evidence::at(note.place, says));
        }
    }
    evidence
}

/// A note's name, naturals said in full: `E natural`, `F♯`.
pub(super) fn note_name_said(fifths: i32) -> String {
    let name = note_name(fifths);
    if name.chars().count() == 1 {
        format!("{name} natural")
    } else {
        name
    }
}

fn fit(grounds: &Grounds<'_>, best: &Judged, second: Option<&Judged>) -> String {
    let folded = grounds.material.all.folded();
    let r = TEMPERLEY.correlation(&folded, best.key);
    let against = second
        .map(|other| {
            format!(
                " against {:.2} for {}",
                TEMPERLEY.correlation(&folded, other.key),
                other.key.name()
            )
        })
        .unwrap_or_default();
    format!(
        "profile fit: r = {r:.2} for {} ({}){against}",
        best.key.name(),
        TEMPERLEY.name
    )
}
