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
    // A rest gives the time by itself, and a printed mark need not be written again.
    if breath.kind == Kind::OnRest || breath.printed {
        return;
    }
    let Some(anchor) = note_before(gather, breath) else {
        return;
    };
    let what = match (breath.kind, matter) {
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
