//! In what order is it played? Sections, repeats, endings, jumps, holds, the play order, and where a reader gets lost.

mod holds;
mod order;
mod traps;

#[cfg(test)]
mod tests;

pub use holds::{Break, BreakKind, HeldOn, Hold};
pub use order::{PlayedLabel, Run, counted_label, last_note_played, last_of_line, order_in_words};
pub use performance::road::{
    Ending, Leap, LeapKind, PlayedBar, RepeatPassage, RepeatsAfterJump, RoadOptions, Section, SectionStart,
    Unfolding, Until, WrittenJump,
};
pub use traps::{Trap, TrapKind};

use crate::{Context, Evidence};
use notation::{Finding, Place, Quarters};

/// The answer to question 7.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct RoadMapAnswer {
    /// The bars as played, the leaps between them, sections, repeats, endings, jumps, and the maps both ways.
    pub unfolding: Unfolding,
    /// The play order with labels, one entry for each played bar.
    pub play_order: Vec<PlayedLabel>,
    /// The same, bars read straight on drawn together.
    pub runs: Vec<Run>,
    /// How many bars are played.
    pub bars_played: usize,
    /// How long that is, in quarter notes.
    pub quarters_played: Quarters,
    /// Double and final bar lines, in order: where, and whether final.
    pub double_bars: Vec<(Place, bool)>,
    /// Fermatas on notes, rests and bar lines of this part.
    pub fermatas: Vec<Hold>,
    /// Caesuras and breath marks of this part.
    pub breaks: Vec<Break>,
    /// The last note that is played (after Fine or coda), as an index into the part's events; `None` if none is.
    pub last_note: Option<usize>,
    /// Where a reader gets lost, in order of place.
    pub traps: Vec<Trap>,
    /// Whether repeats are taken after a jump, and who says so; empty if there is no jump.
    pub repeats_after_jump: String,
    /// What it means for the player.
    pub means: String,
    /// Where to look.
    pub evidence: Vec<Evidence>,
    /// What is odd or missing, with what to do.
    pub findings: Vec<Finding>,
}

/// Answers question 7 for a part; signs are pooled over all parts of the piece.
#[must_use]
pub fn answer(ctx: &Context, options: &RoadOptions) -> RoadMapAnswer {
    let unfolding = performance::road::unfold(ctx.piece, options);
    let fermatas = holds::fermatas(ctx, &unfolding);
    let mut answer = RoadMapAnswer {
        play_order: order::labels(ctx.piece, &unfolding),
        runs: order::runs(&unfolding),
        bars_played: unfolding.played.len(),
        quarters_played: unfolding.quarters_played(),
        double_bars: holds::double_bars(ctx.piece),
        breaks: holds::breaks(ctx),
        last_note: last_note_played(ctx.part, &unfolding),
        traps: traps::traps(ctx, &unfolding, &fermatas),
        repeats_after_jump: after_jump(&unfolding, options),
        findings: unfolding.findings.clone(),
        fermatas,
        unfolding,
        ..RoadMapAnswer::default()
    };
    answer.means = means(ctx, &answer);
    answer.evidence = evidence(ctx, &answer);
    answer
}

/// Whether repeats are taken after the jump, and who says so.
fn after_jump(unfolding: &Unfolding, options: &RoadOptions) -> String {
    let Some(jump) = unfolding.jumps.first() else {
        return String::new();
    };
    let name = jump.kind.abbreviation();
    match (jump.repeats, options.repeats_after_jump) {
        (Some(true), _) => format!("The words ask for the repeats after the {name} too."),
        (Some(false), _) => format!("The words say: no repeats after the {name}."),
        (None, RepeatsAfterJump::No) => format!(
            "After the {name} repeats are not taken and the last ending is played: the modern custom, and the default. \
             In 18th-century music many took them again."
        ),
        (None, RepeatsAfterJump::Yes) => format!("After the {name} repeats are taken again, as chosen."),
    }
}

fn means(ctx: &Context, answer: &RoadMapAnswer) -> String {
    let unfolding = &answer.unfolding;
    let label = |place: Place| counted_label(ctx.piece, place.bar);
    let mut said = Vec::new();
    if unfolding.leaps.is_empty() {
        said.push(format!(
            "Read straight through: {} bars, no repeats, no jumps.",
            answer.bars_played
        ));
    } else {
        said.push(format!("Play bars {}.", order_in_words(ctx.piece, &answer.runs)));
        said.push(format!(
            "{} written bars, {} played.",
            ctx.piece.bars.len(),
            answer.bars_played
        ));
    }
    for jump in unfolding.jumps.iter().filter(|jump| jump.taken > 0) {
        let until = match jump.until {
            Until::Fine => "to Fine".to_owned(),
            Until::Coda => "to the coda sign, then the coda".to_owned(),
            Until::Section(end) => format!("to the end of bar {}", last_bar_before(ctx, end)),
            Until::End => "on to the end".to_owned(),
        };
        let name = jump.kind.abbreviation();
        said.push(format!(
            "At the {name} go back to bar {} and play {until}.",
            label(jump.target)
        ));
    }
    if !answer.repeats_after_jump.is_empty() && !unfolding.skipped_repeats.is_empty() {
        said.push(answer.repeats_after_jump.clone());
    }
    if let Some(event) = answer.last_note.and_then(|index| ctx.part.events.get(index))
        && event.place.bar.next() != notation::BarIndex::from_usize(ctx.piece.bars.len())
    {
        said.push(format!(
            "The last note played stands in bar {}, not at the end of the page.",
            label(event.place)
        ));
    }
    if !answer.traps.is_empty() {
        let count = answer.traps.len();
        said.push(format!(
            "Pencil in the way at {count} place{} before playing.",
            if count == 1 { "" } else { "s" }
        ));
    }
    said.join(" ")
}

fn last_bar_before(ctx: &Context, place: Place) -> String {
    let bar = if place.offset.is_positive() {
        place.bar.0
    } else {
        place.bar.0.saturating_sub(1)
    };
    counted_label(ctx.piece, notation::BarIndex(bar))
}

fn evidence(ctx: &Context, answer: &RoadMapAnswer) -> Vec<Evidence> {
    let mut found = Vec::new();
    for passage in answer
        .unfolding
        .repeats
        .iter()
        .filter(|passage| passage.times > 1)
    {
        let last = last_bar_before(ctx, passage.end);
        found.push(Evidence::at(
            passage.start,
            format!("repeated to bar {last}, {} times in all", passage.times),
        ));
    }
    for ending in &answer.unfolding.endings {
        let times: Vec<String> = ending.passes.iter().map(u32::to_string).collect();
        found.push(Evidence::at(
            ending.start,
            format!("ending for time {}", times.join(", ")),
        ));
    }
    for jump in &answer.unfolding.jumps {
        let words = jump.words.as_deref().unwrap_or("a playback hint in the file");
        let mut at = Evidence::at(
            before(ctx, jump.at),
            format!("{}: {words}", jump.kind.abbreviation()),
        );
        at.element = jump.element;
        found.push(at);
    }
    for fine in &answer.unfolding.fines {
        found.push(Evidence::at(before(ctx, *fine), "Fine"));
    }
    for (leave, coda) in &answer.unfolding.codas {
        found.push(Evidence::at(before(ctx, *leave), "left here for the coda"));
        found.push(Evidence::at(*coda, "coda"));
    }
    if let Some(event) = answer.last_note.and_then(|index| ctx.part.events.get(index)) {
        found.push(Evidence::of(event, "last note played"));
    }
    found.sort_by_key(|evidence| evidence.place);
    found
}

/// A place in the bar that ends there, for pointing at: its start, or the place itself in mid-bar.
fn before(ctx: &Context, place: Place) -> Place {
    if place.offset.is_positive() || place.bar.0 == 0 {
        return place;
    }
    let last = notation::BarIndex::from_usize(ctx.piece.bars.len().saturating_sub(1));
    Place::start_of(notation::BarIndex(place.bar.0 - 1).min(last))
}
