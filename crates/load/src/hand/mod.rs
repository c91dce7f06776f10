//! What must tongue, fingers, arms and lips do, and how fast? Movements a second at a tempo, each with its reason.
//!
//! Unit: *movements a second*; 1 is one plain finger movement in each second of the bar, and everything else is held
//! against it (an octave leap, a shift, a tongued note near the tongue's limit). A share is its cost divided by the
//! seconds of its bar, so that the shares of a bar add up to the bar's movements a second and twice the tempo is twice the
//! load; a movement that has less than a fifth of a second counts in proportion more, since there slips begin.
//!
//! Source of the form: difficulty of a pair = movement cost / time there is (the reduction used in the literature on the
//! cheapest fingering, e.g. the saxophone's measured trills, 2025); costs against one finger are ours, `judgement`.

mod leaps;
mod lips;
mod reach;
mod strings;
#[cfg(test)]
mod tests;
mod tongue;

use crate::breath::Pace;
use crate::{Placed, Player, Share};
use instruments::Family;
use notation::{BarIndex, Place};
use std::collections::BTreeMap;
use survey::Context;
use survey::phrases::{Notes, Signs};

/// A movement with less time than this many seconds counts in proportion more.
/// Source: below about 0.06 to 0.1 s a note errors become likely (from memory); twice that, to be on the safe side.
const QUICK: f64 = 0.2;

/// What the hand load of a part is asked with.
#[derive(Clone, Copy, Debug)]
pub struct Hand<'a> {
    /// The tempo at which it is played.
    pub pace: &'a Pace,
    /// Slurs and the like before each note of the line, as [`survey::phrases::signs`] gives them.
    pub signs: &'a [Signs],
    /// Movements of fingers, valves, slide and lips between neighbouring notes, placed at the second one; amounts in
    /// finger movements (1 is one plain finger), whatever the tempo. They are brought to the tempo here.
    pub finger_shares: &'a [Placed],
}

/// The hand load of a part for a player, in movements a second at the tempo (see the module), in order of place.
#[must_use]
pub fn hand_load(ctx: &Context, player: &Player, hand: &Hand) -> Vec<Placed> {
    let line = Line::of(ctx, hand);
    let mut costs = Costs::default();
    let family = player.instrument.map(|instrument| instrument.family);
    fingers(&line, hand.finger_shares, &mut costs);
    match family {
        Some(Family::String) => strings::strings(&line, player, &mut costs),
        Some(Family::Brass) => lips::lips(&line, player, &mut costs),
        _ => leaps::leaps(&line, family, &mut costs),
    }
    // The fingers' own account knows which fingering is used, and so which breaks are crossed.
    if hand.finger_shares.is_empty() {
        leaps::breaks(&line, player, &mut costs);
    }
    if family.is_none_or(Family::is_wind) {
        tongue::tongue(&line, player, &mut costs);
    }
    reach::range(&line, player, &mut costs);
    reach::ledger_lines(&line, &mut costs);
    costs.at_tempo(&line)
}

/// The line with times at the tempo.
struct Line<'a> {
    ctx: &'a Context<'a>,
    notes: Notes,
    signs: &'a [Signs],
    places: Vec<Place>,
    /// Seconds from a note to the next onset.
    secs: Vec<f64>,
    /// Seconds of each bar.
    bars: Vec<f64>,
}

impl<'a> Line<'a> {
    fn of(ctx: &'a Context<'a>, hand: &Hand<'a>) -> Self {
        let notes = Notes::of(ctx);
        let places: Vec<Place> = ctx
            .line
            .iter()
            .map(|note| ctx.event(note).map(|event| event.place).unwrap_or_default())
            .collect();
        let secs = places
            .iter()
            .enumerate()
            .map(|(at, place)| notes.ioi(at) * 60.0 / hand.pace.at(*place))
            .collect();
        let bars = ctx
            .piece
            .bars
            .iter()
            .enumerate()
            .map(|(bar, length)| {
                let start = Place::start_of(BarIndex::from_usize(bar));
                // A pickup of an eighth is no bar of its own: at least a quarter note.
                length.length.to_f64().max(1.0) * 60.0 / hand.pace.at(start)
            })
            .collect();
        Self {
            ctx,
            notes,
            signs: hand.signs,
            places,
            secs,
            bars,
        }
    }

    fn len(&self) -> usize {
        self.places.len()
    }

    /// Seconds there are to come to a note: since the onset before it; one for the first.
    fn time_to(&self, note: usize) -> f64 {
        note.checked_sub(1)
            .and_then(|before| self.secs.get(before))
            .copied()
            .unwrap_or(1.0)
    }

    fn pitch(&self, note: usize) -> Option<notation::Pitch> {
        self.ctx.line.get(note).map(|note| note.pitch)
    }

    fn slurred_to(&self, note: usize) -> bool {
        self.signs.get(note).is_some_and(|signs| signs.inside_slur)
    }

    /// True if a rest of at least a quarter of a second lies before the note: time to prepare.
    fn prepared(&self, note: usize) -> bool {
        let quarter = self.time_to(note) / self.notes.ioi(note.saturating_sub(1)).max(1e-9);
        note == 0 || self.notes.gap(note) * quarter >= 0.25
    }
}

/// Costs in movements, placed, before they are brought to the tempo; those of one kind and word in a beat are one.
#[derive(Default)]
struct Costs(BTreeMap<(Place, usize, &'static str, String), f64>);

impl Costs {
    /// Adds a cost at a note, in finger movements.
    fn add(&mut self, line: &Line, note: usize, kind: &'static str, cost: f64, why: impl Into<String>) {
        if !(cost.is_finite() && cost > 0.0) {
            return;
        }
        let urgent = (QUICK / line.time_to(note).max(0.02)).max(1.0);
        let first = beat_start(line, note);
        let place = line.places.get(first).copied().unwrap_or_default();
        *self.0.entry((place, first, kind, why.into())).or_insert(0.0) += cost * urgent;
    }

    fn at_tempo(self, line: &Line) -> Vec<Placed> {
        self.0
            .into_iter()
            .map(|((place, _, kind, why), cost)| {
                let secs = line.bars.get(place.bar.get()).copied().unwrap_or(1.0).max(0.05);
                Placed {
                    place,
                    share: Share {
                        kind,
                        why,
                        amount: cost / secs,
                    },
                }
            })
            .collect()
    }
}

/// A number of things as a real number.
fn count(n: usize) -> f64 {
    f64::from(u32::try_from(n).unwrap_or(u32::MAX))
}

/// The first note of the beat that a note stands in.
fn beat_start(line: &Line, note: usize) -> usize {
    let beat = line.notes.beat(note);
    let key = |at: usize| {
        let place = line.places.get(at)?;
        let in_beat = (line.notes.phase(at)? / beat).floor();
        Some((place.bar, in_beat))
    };
    let mut first = note;
    while let Some(before) = first.checked_sub(1)
        && key(before).is_some()
        && key(before) == key(note)
    {
        first = before;
    }
    first
}

/// The fingers' shares, brought to the tempo.
fn fingers(line: &Line, shares: &[Placed], costs: &mut Costs) {
    for placed in shares {
        let at = line.places.partition_point(|place| *place < placed.place);
        if at < line.len() && !line.prepared(at) {
            costs.add(
                line,
                at,
                placed.share.kind,
                placed.share.amount,
                placed.share.why.clone(),
            );
        }
    }
}
