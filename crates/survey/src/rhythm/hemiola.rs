//! Where do the notes count against the metre? Two bars of three heard as three of two, and its like.
//!
//! Source: common practice (hemiola: 3×2 across two bars of three, three quarters in 6/8, two dotted quarters in 3/4).

use super::voice::{MainVoice, Sound, VoiceBar};
use crate::metre::{BeatGrid, MetreAnswer};
use notation::{BarIndex, Quarters, Rational};

/// One hemiola.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Hemiola {
    /// First bar.
    pub from: BarIndex,
    /// Last bar.
    pub to: BarIndex,
    /// What it is, a clause.
    pub says: String,
}

/// Looks for hemiolas in triple and compound metres.
pub(super) fn hemiolas(metre: &MetreAnswer) -> Vec<Hemiola> {
    let mut found = Vec::new();
    let mut at = 0;
    while let Some(grid) = metre.grids.get(at) {
        let hit = over_two_bars(metre, at).or_else(|| inside_a_bar(&metre.voice, grid));
        at = hit.as_ref().map_or(at + 1, |hit: &Hemiola| hit.to.get() + 1);
        found.extend(hit);
    }
    found
}

/// The one group of a plain bar: how many written beats of what length; `None` for pickups and uneven bars.
fn plain(grid: &BeatGrid) -> Option<(u16, Quarters)> {
    match grid.groups.as_slice() {
        [group] if grid.counted && grid.actual == grid.full && grid.lead.is_zero() => {
            Some((group.units, group.unit))
        }
        _ => None,
    }
}

fn struck_at(bar: &VoiceBar, offset: Quarters) -> bool {
    let at = bar.items.partition_point(|item| item.offset < offset);
    bar.items
        .get(at)
        .is_some_and(|item| item.offset == offset && item.sound == Sound::Note)
}

fn held_at(bar: &VoiceBar, offset: Quarters) -> bool {
    let after = bar.items.partition_point(|item| item.offset <= offset);
    let item = after.checked_sub(1).and_then(|at| bar.items.get(at));
    item.is_some_and(|item| {
        item.sounds() && item.offset < offset && offset < item.end()
            || item.sound == Sound::Held && item.offset == offset
    })
}

fn over_two_bars(metre: &MetreAnswer, at: usize) -> Option<Hemiola> {
    let (first, second) = (metre.grids.get(at)?, metre.grids.get(at + 1)?);
    let (units, unit) = plain(first)?;
    if units != 3 || plain(second)? != (units, unit) {
        return None;
    }
    let (one, two) = (metre.voice.bar(first.bar), metre.voice.bar(second.bar));
    let third = unit + unit;
    let across = struck_at(one, third) && struck_at(two, unit);
    // Nothing on the second bar's downbeat, but a note held over it; the groups of two start on 1, 3 and 2.
    let held_over = held_at(two, Quarters::ZERO);
    let fits = struck_at(one, Quarters::ZERO) && across && held_over;
    fits.then(|| Hemiola {
        from: first.bar,
        to: second.bar,
        says: "two bars of three sound as three of two: count 1 2, 1 2, 1 2 across the bar line".to_owned(),
    })
}

fn inside_a_bar(voice: &MainVoice, grid: &BeatGrid) -> Option<Hemiola> {
    let (units, unit) = plain(grid)?;
    let bar = voice.bar(grid.bar);
    let starts = |n: i64, d: i64| struck_at(bar, unit * Rational::new(n, d));
    let held = |n: i64, d: i64| held_at(bar, unit * Rational::new(n, d));
    let says = match units {
        6 if starts(0, 1) && starts(2, 1) && starts(4, 1) && held(3, 1) => {
            "three even notes across two dotted beats: think of three simple beats for this bar"
        }
        3 if starts(0, 1) && starts(3, 2) && held(1, 1) && held(2, 1) => {
            "two even notes across three beats: think of two dotted beats for this bar"
        }
        _ => return None,
    };
    Some(Hemiola {
        from: grid.bar,
        to: grid.bar,
        says: says.to_owned(),
    })
}
