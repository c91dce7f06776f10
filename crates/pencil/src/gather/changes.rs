//! Where are eyeglasses? Before a new key, metre, clef or tempo; what changes at one place is one mark.

use super::{Draft, Gather, free};
use crate::{Matter, worth};
use notation::{PencilMark, Place};

pub(super) fn gather(gather: &mut Gather) {
    let before = gather.marks.len();
    signatures(gather);
    clefs(gather);
    tempi(gather);
    let new = gather.marks.split_off(before);
    gather.marks.extend(joined(new));
}

fn signatures(gather: &mut Gather) {
    let part = gather.ctx.part;
    for pair in part.keys.windows(2) {
        let [old, new] = pair else { continue };
        if old.value.altered() != new.value.altered() && old.staff == new.staff && new.printed {
            let reason = format!("new key signature: {}", new.value.name());
            gather.add(Draft::new(
                Matter::KeyChanges,
                "key",
                free(new.place),
                reason,
                worth::CHANGE,
            ));
        }
    }
    for pair in part.metres.windows(2) {
        let [old, new] = pair else { continue };
        if old.value != new.value && new.printed {
            let reason = format!("the metre changes to {}", new.value.name());
            gather.add(Draft::new(
                Matter::MetreChanges,
                "metre",
                free(new.place),
                reason,
                worth::CHANGE,
            ));
        }
    }
}

fn clefs(gather: &mut Gather) {
    let survey = gather.survey;
    for change in survey
        .clefs
        .iter()
        .flat_map(|clefs| &clefs.staves)
        .flat_map(|staff| &staff.changes)
    {
        if change.printed && change.place > Place::default() {
            let reason = format!("the clef changes to {}", change.clef.name());
            gather.add(Draft::new(
                Matter::ClefChanges,
                "clefs",
                free(change.place),
                reason,
                worth::CHANGE,
            ));
        }
    }
}

fn tempi(gather: &mut Gather) {
    let survey = gather.survey;
    for change in survey.tempo.iter().flat_map(|tempo| &tempo.changes) {
        if change.place == Place::default() {
            continue;
        }
        let value = if change.gradual {
            worth::GRADUAL
        } else {
            worth::TEMPO
        };
        let reason = format!("“{}”: {}", change.text, change.says);
        gather.add(Draft::new(
            Matter::TempoChanges,
            "tempo",
            free(change.place),
            reason,
            value,
        ));
    }
}

/// Marks of one sign and pencil at one place are one; it is worth a little more than the best of them.
fn joined(mut marks: Vec<PencilMark>) -> Vec<PencilMark> {
    marks.sort_by(|a, b| a.from.place.cmp(&b.from.place).then(b.worth.total_cmp(&a.worth)));
    let mut kept: Vec<PencilMark> = Vec::new();
    for mark in marks {
        let same = |known: &&mut PencilMark| {
            known.from.place == mark.from.place && known.sign == mark.sign && known.pencil == mark.pencil
        };
        match kept.last_mut().filter(same) {
            Some(known) => {
                let also: String = lower(&mark.reason);
                known.reason = format!("{}; {also}", known.reason.trim_end_matches('.'));
                known.worth = (known.worth + 0.03).min(1.0);
                if known.text != mark.text && !mark.text.is_empty() {
                    known.text = format!("{}, {}", known.text, mark.text);
                }
            }
            None => kept.push(mark),
        }
    }
    kept
}

fn lower(sentence: &str) -> String {
    let mut chars = sentence.chars();
    chars
        .next()
        .map_or_else(String::new, |first| first.to_lowercase().chain(chars).collect())
}
