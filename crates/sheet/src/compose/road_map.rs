//! Road map, in words.

use super::say::Say;
use crate::model::Section;
use crate::words::count;
use survey::road_map::{BreakKind, HeldOn, RoadMapAnswer, order_in_words};

pub(crate) fn section(answer: &RoadMapAnswer, say: Say) -> Section {
    let map = &answer.unfolding;
    let written = say.piece.bars.len();
    let straight = map.leaps.is_empty() && map.never_played.is_empty();
    let headline = if straight {
        format!("Straight through: {}.", count(answer.bars_played, "bar", "bars"))
    } else {
        format!(
            "{} written, {} played",
            count(written, "bar", "bars"),
            answer.bars_played
        )
    };
    let mut section = Section::new("road_map", "Road map", headline);
    if !straight {
        section.line("play", order_in_words(say.piece, &answer.runs), vec![]);
    }
    for jump in &map.jumps {
        let words = jump
            .words
            .clone()
            .unwrap_or_else(|| "a jump that only the file's playback hint names".to_owned());
        let text = format!(
            "{}: back to {}",
            words.replace('\n', " "),
            say.bar(jump.target.bar)
        );
        section.line("jump", text, vec![say.label(say.closing(jump.at))]);
    }
    for (from, to) in &map.codas {
        section.line(
            "coda",
            format!(
                "leave after {} for {}",
                say.bar(say.closing(*from)),
                say.bar(to.bar)
            ),
            vec![],
        );
    }
    if !answer.repeats_after_jump.is_empty() {
        section.line("after it", answer.repeats_after_jump.clone(), vec![]);
    }
    for part in &map.sections {
        if map.sections.len() > 1 {
            let heading = if part.heading.is_empty() {
                String::new()
            } else {
                format!("{}: ", part.heading)
            };
            let last = if part.end.offset.is_zero() && part.end.bar > part.start.bar {
                part.end.bar.0 - 1
            } else {
                part.end.bar.0
            };
            let last = last.min(u32::try_from(written.saturating_sub(1)).unwrap_or(u32::MAX));
            let bars = say.said((part.start.bar.0..=last).map(notation::BarIndex));
            let changes = match (part.key_change, part.metre_change) {
                (true, true) => ", new key signature and metre",
                (true, false) => ", new key signature",
                (false, true) => ", new metre",
                (false, false) => "",
            };
            section.line("section", format!("{heading}{bars}{changes}"), vec![]);
        }
    }
    let mut held: Vec<(String, Vec<notation::Place>)> = Vec::new();
    for hold in &answer.fermatas {
        let on = match hold.on {
            HeldOn::Note => "over a note",
            HeldOn::Rest => "over a rest",
            HeldOn::BarLine => "over the bar line",
        };
        let before = if hold.before_section {
            ", before a new section"
        } else {
            ""
        };
        gather(&mut held, format!("{on}{before}"), hold.place);
    }
    for (text, places) in held {
        section.line("fermata", text, say.places(places));
    }
    for (label, kind) in [
        ("caesura", BreakKind::Caesura),
        ("breath mark", BreakKind::BreathMark),
    ] {
        let places: Vec<_> = answer
            .breaks
            .iter()
            .filter(|b| b.kind == kind)
            .map(|b| b.place)
            .collect();
        if !places.is_empty() {
            section.line(label, count(places.len(), "time", "times"), say.places(places));
        }
    }
    let mut traps: Vec<(String, Vec<notation::Place>)> = Vec::new();
    for trap in &answer.traps {
        gather(&mut traps, trap.says.clone(), trap.place);
    }
    for (text, places) in traps {
        section.line("trap", text, say.places(places));
    }
    section.means(&answer.means);
    section
}

/// What is said in the same words is said once, with all its places.
fn gather(told: &mut Vec<(String, Vec<notation::Place>)>, text: String, place: notation::Place) {
    match told.iter_mut().find(|(known, _)| *known == text) {
        Some((_, places)) => places.push(place),
        None => told.push((text, vec![place])),
    }
}
