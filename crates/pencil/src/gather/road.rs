//! Where does the eye leap? Hooks at repeats, arrows at jumps, eyeglasses where a jump is forgotten.

use super::{Draft, Gather, at, free};
use crate::{Matter, worth};
use notation::{Anchor, BarIndex, Place};
use std::collections::BTreeSet;
use survey::road_map::{Leap, LeapKind, RepeatPassage, TrapKind};

/// From so many bars on, an ending that is leapt over deserves an arrow. Ours.
const LONG_ENDING: u32 = 3;

pub(super) fn gather(gather: &mut Gather) {
    repeats(gather);
    jumps(gather);
    last_note(gather);
}

fn repeats(gather: &mut Gather) {
    let survey = gather.survey;
    let road = &survey.road_map;
    for passage in road.unfolding.repeats.iter().filter(|passage| passage.times > 1) {
        let traps = |trap: &&survey::road_map::Trap| {
            matches!(trap.kind, TrapKind::FarBack | TrapKind::NoStart)
                && (trap.to == Some(passage.start) || trap.place.bar >= passage.start.bar)
                && trap.place < passage.end
        };
        let trap = road.traps.iter().find(traps);
        let value = if trap.is_some() {
            worth::FAR_REPEAT
        } else {
            worth::REPEAT
        };
        let (from, to) = (passage.start, gather.before_line(first_end(road, passage)));
        let times = match passage.times {
            2 => "twice".to_owned(),
            n => format!("{n} times"),
        };
        let mut reason = format!("From {} to here, {times}", gather.bar(from.bar));
        if let Some(trap) = trap {
            reason.push_str(&format!(": {}", trap.says));
        }
        let mut draft = Draft::new(Matter::Repeats, "road_map", free(from), reason, value);
        draft.to = Some(free(to));
        gather.add(draft);
    }
}

/// Where one goes back: at the first sign that sends back, before later endings.
fn first_end(road: &survey::road_map::RoadMapAnswer, passage: &RepeatPassage) -> Place {
    let back = |leap: &&Leap| leap.kind == LeapKind::Repeat && leap.to == passage.start;
    road.unfolding
        .leaps
        .iter()
        .find(back)
        .map_or(passage.end, |leap| leap.from)
}

fn jumps(gather: &mut Gather) {
    let survey = gather.survey;
    let unfolding = &survey.road_map.unfolding;
    let mut seen = BTreeSet::new();
    for leap in &unfolding.leaps {
        if leap.kind == LeapKind::Repeat || !seen.insert((leap.kind, leap.from, leap.to)) {
            continue;
        }
        let skipped = leap.to.bar.0.saturating_sub(leap.from.bar.0);
        if leap.kind == LeapKind::Ending && skipped < LONG_ENDING {
            continue;
        }
        let from = gather.before_line(leap.from);
        let (reason, value) = says(gather, leap);
        let mut draft = Draft::new(Matter::Jumps, "road_map", free(from), reason, value);
        draft.text = match leap.to.bar.0 {
            0 => "start".to_owned(),
            _ => survey::road_map::counted_label(gather.ctx.piece, leap.to.bar),
        };
        gather.add(draft);
        if leap.kind == LeapKind::ToCoda {
            let before = last_beat(gather, from);
            let reason = format!(
                "The leap to the coda, {}, comes at the end of this bar",
                gather.bar(leap.to.bar)
            );
            gather.add(Draft::new(
                Matter::LookAhead,
                "road_map",
                before,
                reason,
                worth::LOOK_AHEAD,
            ));
        }
    }
}

fn says(gather: &Gather, leap: &Leap) -> (String, f64) {
    let to = match leap.to.bar.0 {
        0 => "the beginning".to_owned(),
        _ => gather.bar(leap.to.bar),
    };
    match leap.kind {
        LeapKind::DaCapo => (format!("D.C.: go back to {to}"), worth::JUMP),
        LeapKind::DalSegno => (format!("D.S.: go back to the sign, {to}"), worth::JUMP),
        LeapKind::ToCoda => (
            format!("After the jump back leave here for the coda, {to}"),
            worth::JUMP,
        ),
        LeapKind::GoOn => (format!("After the da capo go on at {to}"), worth::JUMP),
        LeapKind::Ending => (
            format!("The next time leap over this ending to {to}"),
            worth::FAR_REPEAT,
        ),
        LeapKind::Section => (format!("The next section is at {to}"), worth::JUMP),
        LeapKind::Repeat => (format!("Back to {to}"), worth::REPEAT),
    }
}

/// The start of the last felt beat before a place.
fn last_beat(gather: &Gather, place: Place) -> Anchor {
    let grid = gather
        .survey
        .metre
        .as_ref()
        .and_then(|metre| metre.grid(place.bar));
    let beats = grid.map(|grid| {
        grid.beats()
            .iter()
            .map(|beat| grid.offset(beat.start))
            .collect::<Vec<_>>()
    });
    let before = beats
        .unwrap_or_default()
        .into_iter()
        .rfind(|offset| *offset < place.offset && !offset.is_negative());
    free(Place {
        bar: place.bar,
        offset: before.unwrap_or_default(),
    })
}

/// Fine, or the end of the last time through, where it isn't at the end of the page.
fn last_note(gather: &mut Gather) {
    let ctx = gather.ctx;
    let Some(event) = gather
        .survey
        .road_map
        .last_note
        .and_then(|index| ctx.part.events.get(index))
    else {
        return;
    };
    let later = ctx
        .part
        .events
        .iter()
        .any(|other| other.is_note() && other.place.bar > event.place.bar);
    if later && event.place.bar.next() < BarIndex::from_usize(ctx.piece.bars.len()) {
        let reason = "The piece ends with this note, not at the end of the page".to_owned();
        let anchor = at(event.place, event.id);
        gather.add(Draft::new(
            Matter::LookAhead,
            "road_map",
            anchor,
            reason,
            worth::LOOK_AHEAD,
        ));
    }
}
