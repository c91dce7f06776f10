//! Where does she breathe? A comma after the note that is cut short; a light one where only slow practice needs it.

use super::{Draft, Gather, at};
use crate::{Matter, worth};
use load::breath::{Breath, Kind};
use notation::{Anchor, Pencil, Quarters};

pub(super) fn gather(gather: &mut Gather) {
    let Some(study) = gather.study else { return };
    for breath in &study.breath.at_final {
        one(gather, breath, Matter::Breaths, worth::BREATH);
    }
    for breath in study.breath.at_first.iter().filter(|breath| breath.optional) {
        one(gather, breath, Matter::SlowBreaths, worth::SLOW_BREATH);
    }
}

fn one(gather: &mut Gather, breath: &Breath, matter: Matter, value: f64) {
    // A rest gives the time by itself, and a printed mark need not be written again; what the teacher wants in a rest is written.
    let on_rest = breath.kind == Kind::OnRest;
    if breath.printed || on_rest && !breath.own {
        return;
    }
    let anchor = if on_rest {
        rest_before(gather, breath)
    } else {
        note_before(gather, breath)
    };
    let Some(anchor) = anchor else {
        return;
    };
    let what = match (breath.kind, matter) {
        (Kind::OnRest, Matter::SlowBreaths) => "Breathe in this rest while it is slow",
        (Kind::OnRest, _) => "Breathe in this rest",
        (Kind::BreatheOut, Matter::SlowBreaths) => "Breathe out while it is slow",
        (_, Matter::SlowBreaths) => "Breathe here while it is slow",
        (Kind::BreatheOut, _) => "Breathe out",
        _ => "Breathe",
    };
    // The sign says already that it is for slow practice.
    let why = breath.why.trim_end_matches("; only while it is slow");
    let mut draft = Draft::new(matter, "breath", anchor, format!("{what}: {why}"), value);
    if breath.kind == Kind::BreatheOut {
        "out".clone_into(&mut draft.text);
    }
    if let Some(mark) = gather.add(draft)
        && breath.own
    {
        // Hers is never left out for want of room among ours, and is in her own pencil.
        mark.kept = true;
        mark.pencil = Pencil::Graphite;
    }
}

/// The rest in which she breathes: the last before the note, in its voice.
fn rest_before(gather: &Gather, breath: &Breath) -> Option<Anchor> {
    let ctx = gather.ctx;
    let here = ctx.onset(breath.place);
    let note = ctx.line.get(breath.note)?;
    let voice = ctx.part.events.get(note.event)?.voice;
    let rest = ctx
        .part
        .events
        .iter()
        .filter(|event| {
            event.is_rest() && !event.cue && event.voice == voice && ctx.onset(event.place) < here
        })
        .max_by_key(|event| ctx.onset(event.place))?;
    Some(at(rest.place, rest.id))
}

/// The note that is cut short, the last of its ties.
fn note_before(gather: &Gather, breath: &Breath) -> Option<Anchor> {
    let ctx = gather.ctx;
    let here = ctx.onset(breath.place);
    let short = breath.shortened.and_then(|index| ctx.line.get(index))?;
    let events = ctx.part.events.get(short.event..)?;
    let before = events
        .iter()
        .take_while(|event| ctx.onset(event.place) < here)
        .filter(|event| event.is_note() && !event.is_grace() && !event.cue && event.duration > Quarters::ZERO)
        .last()?;
    Some(at(before.place, before.id))
}
