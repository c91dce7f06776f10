//! Where did the teacher decide? A breath of hers is taken even where we would propose none; one that she struck out is none.

use super::parallel::Marks;
use super::places::{Candidate, Quality};
use super::played::Blown;
use notation::Place;
use survey::Context;

/// What she decided about a place.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Own {
    /// Breathe here at any tempo.
    Breathe,
    /// Breathe here while it is slow; at the final tempo it is played through.
    WhileSlow,
    /// Don't breathe here.
    Not,
}

/// A decision at one place.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct OwnBreath {
    /// Where the note stands before which the breath is taken.
    pub place: Place,
    /// What she decided.
    pub own: Own,
}

/// Said of a breath of hers.
const WHY: &str = "the teacher’s choice";

fn at<'a>(ctx: &Context, own: &'a [OwnBreath], note: usize) -> Option<&'a OwnBreath> {
    let place = ctx.event(ctx.line.get(note)?)?.place;
    own.iter().rev().find(|own| own.place == place)
}

/// Her places among the places: hers are the best there are, those she struck out are none.
pub(super) fn put(ctx: &Context, own: &[OwnBreath], blown: &[Blown], places: &mut [Option<Candidate>]) {
    if own.is_empty() {
        return;
    }
    // Before the very first note there is nothing to decide.
    for (place, blown) in places.iter_mut().zip(blown).skip(1) {
        match at(ctx, own, blown.note).map(|own| own.own) {
            Some(Own::Breathe | Own::WhileSlow) => {
                *place = Some(Candidate {
                    quality: Quality::Free,
                    cost: 0.0,
                    why: WHY,
                });
            }
            Some(Own::Not) => *place = None,
            None => {}
        }
    }
}

/// She breathes at her places at any tempo, and at those that are for the slow one only then.
pub(super) fn fix(
    ctx: &Context,
    own: &[OwnBreath],
    blown: &[Blown],
    places: &[Option<Candidate>],
    fixed: &mut [bool],
) {
    if own.is_empty() {
        return;
    }
    for ((fixed, blown), place) in fixed.iter_mut().zip(blown).zip(places).skip(1) {
        match at(ctx, own, blown.note).map(|own| own.own) {
            Some(Own::Breathe) => *fixed = place.is_some(),
            Some(Own::WhileSlow | Own::Not) => *fixed = false,
            None => {}
        }
    }
}

/// Her decisions among the marks, the last word: nothing that is carried over from elsewhere goes against them.
pub(super) fn mark(ctx: &Context, own: &[OwnBreath], marks: &mut Marks) {
    if own.is_empty() {
        return;
    }
    for note in 0..ctx.line.len() {
        match at(ctx, own, note).map(|own| own.own) {
            Some(Own::Breathe) => drop(marks.insert(note, true)),
            Some(Own::WhileSlow) => drop(marks.insert(note, false)),
            Some(Own::Not) => drop(marks.remove(&note)),
            None => {}
        }
    }
}
