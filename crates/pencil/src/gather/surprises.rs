//! Which notes surprise? Altered silently, in two forms, spelled unusually, or in need of a courtesy: one mark a note.

use super::{Draft, Gather, at};
use crate::{Matter, worth};
use notation::{Alter, Id, PencilSign, Pitch, Place, Step};
use std::collections::{BTreeMap, BTreeSet};
use survey::accidentals::{AccidentalsAnswer, CourtesyReason, How, Strength};

/// One surprise: its draft and what makes it the same as an earlier one.
struct Surprise {
    draft: Draft,
    event: Id,
    key: (Matter, Step, Alter),
}

pub(super) fn gather(gather: &mut Gather) {
    let survey = gather.survey;
    let Some(answer) = &survey.accidentals else { return };
    let mut all = Vec::new();
    courtesies(answer, &mut all);
    forms(gather, answer, &mut all);
    enharmonics(answer, &mut all);
    altered(gather, answer, &mut all);
    all.retain(|surprise| gather.wants(surprise.draft.matter));
    all.sort_by_key(|surprise| (surprise.draft.from.place, surprise.draft.matter));
    worth::fall(
        &mut all,
        |surprise| surprise.key,
        |surprise| &mut surprise.draft.worth,
    );
    for mut surprise in one_a_note(all) {
        surprise.draft.from.element = Some(head(gather, &surprise));
        let matter = surprise.draft.matter;
        let pitch = surprise.key;
        if let Some(mark) = gather.add(surprise.draft) {
            // A courtesy drawn for another matter still says which form the note has.
            if mark.sign == PencilSign::Courtesy && matter != Matter::Courtesies {
                mark.text = sign(pitch.2);
            }
            if mark.sign == PencilSign::Circle && matter == Matter::Courtesies {
                mark.text = String::new();
            }
        }
    }
}

/// The head of its event that it is about: in a chord one of several.
fn head(gather: &Gather, surprise: &Surprise) -> Id {
    let (_, step, alter) = surprise.key;
    let heads = gather
        .event(surprise.event)
        .map_or(&[][..], |event| event.heads());
    let of = |head: &&notation::Head| {
        head.pitch()
            .is_some_and(|pitch| (pitch.step, pitch.alter) == (step, alter))
    };
    heads.iter().find(of).map_or(surprise.event, |head| head.id)
}

/// The accidental of an alteration, a natural for none.
fn sign(alter: Alter) -> String {
    let text = notation::alter_sign(alter);
    if text.is_empty() { "♮".to_owned() } else { text }
}

fn surprise(matter: Matter, place: Place, event: Id, pitch: Pitch, reason: String, value: f64) -> Surprise {
    Surprise {
        draft: Draft::new(matter, "accidentals", at(place, event), reason, value),
        event,
        key: (matter, pitch.step, pitch.alter),
    }
}

fn courtesies(answer: &AccidentalsAnswer, all: &mut Vec<Surprise>) {
    for courtesy in &answer.courtesy_suggested {
        let Some(reason) = courtesy.reason else { continue };
        let value = match reason.strength() {
            Strength::Firm => worth::COURTESY - worth::NEXT_COURTESY * need(reason),
            Strength::Gentle => worth::GENTLE,
        };
        let mut found = surprise(
            Matter::Courtesies,
            courtesy.place,
            courtesy.event,
            courtesy.written,
            courtesy.says(),
            value,
        );
        found.draft.text = sign(courtesy.written.alter);
        all.push(found);
    }
}

/// The order of need: the survey's own.
const fn need(reason: CourtesyReason) -> f64 {
    match reason {
        CourtesyReason::AfterTie => 0.0,
        CourtesyReason::OtherOctave => 1.0,
        CourtesyReason::ClefChange => 2.0,
        CourtesyReason::NextBar => 3.0,
        CourtesyReason::KeyChange => 4.0,
        CourtesyReason::RepeatBack => 5.0,
        CourtesyReason::NextBarOtherOctave => 6.0,
    }
}

fn forms(gather: &Gather, answer: &AccidentalsAnswer, all: &mut Vec<Surprise>) {
    for double in &answer.double_inflections {
        let (place, event) = double.second_at;
        let reason = format!(
            "{} right after {}",
            double.second.sign_natural(),
            double.first.sign_natural()
        );
        all.push(surprise(
            Matter::TwoForms,
            place,
            event,
            double.second,
            reason,
            worth::DOUBLE,
        ));
    }
    for two in &answer.two_forms {
        for (before, after) in &two.changes {
            let pitch = |id: Id| {
                let event = gather.event(id)?;
                event.pitches().find(|pitch| pitch.step == two.step)
            };
            let (Some(old), Some(new)) = (pitch(before.1), pitch(after.1)) else {
                continue;
            };
            let reason = format!(
                "{} here, {} shortly before",
                new.sign_natural(),
                old.sign_natural()
            );
            all.push(surprise(
                Matter::TwoForms,
                after.0,
                after.1,
                new,
                reason,
                worth::TWO_FORMS,
            ));
        }
    }
}

fn enharmonics(answer: &AccidentalsAnswer, all: &mut Vec<Surprise>) {
    for note in &answer.enharmonic {
        // What the signature itself spells so is met in every bar: once is enough, and it is worth less.
        let places = if note.in_signature {
            note.at.get(..1)
        } else {
            Some(note.at.as_slice())
        };
        let value = if note.in_signature {
            worth::ALTERED
        } else {
            worth::ENHARMONIC
        };
        for (place, event) in places.unwrap_or_default() {
            let mut found = surprise(
                Matter::Enharmonics,
                *place,
                *event,
                note.written,
                note.says(),
                value,
            );
            found.draft.text = format!("= {}", note.sounds_as.class_sign());
            all.push(found);
        }
    }
}

fn altered(gather: &Gather, answer: &AccidentalsAnswer, all: &mut Vec<Surprise>) {
    let mut first: BTreeSet<(Step, Alter)> = BTreeSet::new();
    let mut in_bar = BTreeSet::new();
    for entry in &answer.ledger {
        if entry.cue || entry.hidden || entry.grace {
            continue;
        }
        let pitch = entry.written;
        let kind = (pitch.step, pitch.alter);
        let carried = matches!(entry.how, How::Bar);
        // The first silent one of a bar reminds of all.
        if carried && in_bar.insert((entry.place.bar, kind)) {
            let reason = format!(
                "still {}: the sign stands earlier in {}",
                pitch.sign_natural(),
                gather.bar(entry.place.bar)
            );
            all.push(surprise(
                Matter::AlteredNotes,
                entry.place,
                entry.event,
                pitch,
                reason,
                worth::CARRIED,
            ));
        }
        if entry.how == How::Unmarked {
            let reason = format!(
                "{} by the source, though nothing on the page says so",
                pitch.sign_natural()
            );
            all.push(surprise(
                Matter::AlteredNotes,
                entry.place,
                entry.event,
                pitch,
                reason,
                worth::CARRIED,
            ));
        }
        if entry.printed && !entry.expected && first.insert(kind) {
            let reason = format!(
                "the first {}, which the key signature does not have",
                pitch.class_sign()
            );
            all.push(surprise(
                Matter::AlteredNotes,
                entry.place,
                entry.event,
                pitch,
                reason,
                worth::ALTERED,
            ));
        }
    }
}

/// Of several surprises at one note the most valuable is marked and the others are said with it.
fn one_a_note(all: Vec<Surprise>) -> Vec<Surprise> {
    let mut kept: Vec<Surprise> = Vec::new();
    let mut known: BTreeMap<Id, usize> = BTreeMap::new();
    for mut surprise in all {
        let Some(old) = known.get(&surprise.event).and_then(|at| kept.get_mut(*at)) else {
            known.insert(surprise.event, kept.len());
            kept.push(surprise);
            continue;
        };
        // A courtesy says it on the page itself; else the most valuable is the mark.
        let rank = |draft: &Draft| (draft.matter == Matter::Courtesies, draft.worth);
        let best = old.draft.worth.max(surprise.draft.worth);
        if rank(&surprise.draft) > rank(&old.draft) {
            std::mem::swap(old, &mut surprise);
        }
        // A courtesy has said already that the letter has two forms.
        let told = old.draft.matter == Matter::Courtesies && surprise.draft.matter == Matter::TwoForms;
        if !told && !old.draft.reason.contains(&surprise.draft.reason) {
            old.draft.reason = format!("{}; {}", old.draft.reason, surprise.draft.reason);
        }
        // What it is fingered like is written whatever the circle is for.
        if surprise.draft.matter == Matter::Enharmonics && old.draft.text.is_empty() {
            old.draft.text = surprise.draft.text;
        }
        old.draft.worth = (best + 0.03).min(1.0);
    }
    kept
}
