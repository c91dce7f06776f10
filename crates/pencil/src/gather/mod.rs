//! Which marks do the findings ask for? One module for each sort of matter; here what they have in common.

mod alike;
mod breaths;
mod changes;
mod fingers;
mod ornaments;
mod rhythm;
mod road;
mod spots;
mod surprises;
#[cfg(test)]
mod tests;

use crate::{Legend, Matter};
use load::Study;
use notation::{Anchor, BarIndex, Event, Id, PencilMark, PencilSign, Place};
use survey::{Context, Survey};

/// All marks that a part deserves by a legend, in order of place. What only a player's study knows (breaths, fingerings, hard
/// spots by load) comes with a study; without one hard spots are what the survey told to look at first.
#[must_use]
pub fn marks(ctx: &Context, survey: &Survey, study: Option<&Study>, legend: &Legend) -> Vec<PencilMark> {
    let mut gather = Gather {
        ctx,
        survey,
        study,
        legend,
        marks: Vec::new(),
    };
    spots::gather(&mut gather);
    road::gather(&mut gather);
    changes::gather(&mut gather);
    surprises::gather(&mut gather);
    rhythm::gather(&mut gather);
    breaths::gather(&mut gather);
    fingers::gather(&mut gather);
    alike::gather(&mut gather);
    let mut marks = gather.marks;
    marks.sort_by(|a, b| {
        let place = (a.from.place, a.sign).cmp(&(b.from.place, b.sign));
        place.then_with(|| (&a.matter, &a.text).cmp(&(&b.matter, &b.text)))
    });
    marks
}

pub use ornaments::written_out;

/// The order of playing as a musician writes it down (`1–8, 1–7, 9–16`); `None` where the part is read straight on.
#[must_use]
pub fn play_order(ctx: &Context, survey: &Survey) -> Option<String> {
    let road = &survey.road_map;
    (!road.unfolding.leaps.is_empty()).then(|| survey::road_map::order_in_words(ctx.piece, &road.runs))
}

/// What all of them need, and the marks so far.
struct Gather<'a> {
    ctx: &'a Context<'a>,
    survey: &'a Survey,
    study: Option<&'a Study>,
    legend: &'a Legend,
    marks: Vec<PencilMark>,
}

/// A mark in the making.
struct Draft {
    matter: Matter,
    /// The question that found it.
    question: &'static str,
    from: Anchor,
    to: Option<Anchor>,
    text: String,
    /// A sentence.
    reason: String,
    worth: f64,
}

impl Draft {
    fn new(matter: Matter, question: &'static str, from: Anchor, reason: String, worth: f64) -> Self {
        Self {
            matter,
            question,
            from,
            to: None,
            text: String::new(),
            reason,
            worth,
        }
    }
}

impl Gather<'_> {
    fn wants(&self, matter: Matter) -> bool {
        self.legend.rule(matter).wanted
    }

    /// Takes a mark, unless the teacher doesn't want its matter.
    fn add(&mut self, draft: Draft) -> Option<&mut PencilMark> {
        let rule = self.legend.rule(draft.matter);
        if !rule.wanted {
            return None;
        }
        let mut mark = PencilMark::new(rule.sign, draft.from, sentence(&draft.reason));
        mark.to = draft.to;
        mark.text = match rule.sign {
            // She wants it in words: her own.
            PencilSign::Words if draft.text.is_empty() => rule.words.clone(),
            _ => draft.text,
        };
        mark.question = draft.question.to_owned();
        mark.matter = draft.matter.name().to_owned();
        mark.pencil = rule.pencil;
        mark.worth = draft.worth.clamp(0.0, 1.0);
        self.marks.push(mark);
        self.marks.last_mut()
    }

    /// `bar 12`.
    fn bar(&self, bar: BarIndex) -> String {
        format!("bar {}", survey::road_map::counted_label(self.ctx.piece, bar))
    }

    /// The end of the bar that ends at a place, for what acts at a bar line: the place itself inside a bar.
    fn before_line(&self, place: Place) -> Place {
        match place.bar.0.checked_sub(1) {
            Some(before) if place.offset.is_zero() => self.end_of(BarIndex(before)),
            _ => place,
        }
    }

    /// The end of a bar.
    fn end_of(&self, bar: BarIndex) -> Place {
        let length = self.ctx.piece.bars.get(bar.get()).map(|bar| bar.length);
        Place {
            bar,
            offset: length.unwrap_or_default(),
        }
    }

    fn event(&self, id: Id) -> Option<&Event> {
        self.ctx.part.events.iter().find(|event| event.id == id)
    }
}

/// A free place.
fn free(place: Place) -> Anchor {
    Anchor { place, element: None }
}

/// An event at its place.
fn at(place: Place, element: Id) -> Anchor {
    Anchor {
        place,
        element: Some(element),
    }
}

/// With a capital and a full stop.
fn sentence(clause: &str) -> String {
    let mut chars = clause.trim().chars();
    let Some(first) = chars.next() else {
        return String::new();
    };
    let mut text: String = first.to_uppercase().chain(chars).collect();
    if !text.ends_with(['.', '!', '?']) {
        text.push('.');
    }
    text
}
