//! Where does a reader get lost? Long ways back, missing signs, holds before a new section, endings, skipped repeats.

use super::holds::Hold;
use super::order::counted_label;
use crate::Context;
use notation::{BarIndex, Place};
use performance::road::{Leap, LeapKind, Unfolding};
use std::collections::{BTreeMap, BTreeSet};

/// Bars on a page of a part when the source marks no pages: eight systems of four bars. Our choice.
const BARS_ON_A_PAGE: u32 = 32;
/// From this many bars on, a first ending is long enough to lose the way. Our choice.
const LONG_ENDING_BARS: u32 = 4;

/// A place where a reader gets lost.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Trap {
    /// What sort.
    pub kind: TrapKind,
    /// Where to look.
    pub place: Place,
    /// Where the way leads, if it leads somewhere.
    pub to: Option<Place>,
    /// What it is, a sentence.
    pub says: String,
}

/// Sorts of traps.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub enum TrapKind {
    /// An end-repeat without a start-repeat.
    NoStart,
    /// A leap back over a page's worth of bars, or over a page turn.
    FarBack,
    /// A fermata right before a new section.
    HoldBeforeSection,
    /// A long first ending, to be skipped the second time.
    LongEnding,
    /// Repeats that are not taken after a jump.
    SkippedRepeat,
    /// The leap to the coda.
    CodaSkip,
    /// A leap into another key signature, metre or clef.
    OtherSigns,
    /// A repeat or jump inside a bar.
    InsideBar,
    /// Bars that are never played.
    NeverPlayed,
}

impl TrapKind {
    /// The name used in JSON and on screen.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::NoStart => "end-repeat without a start",
            Self::FarBack => "far back",
            Self::HoldBeforeSection => "fermata before a new section",
            Self::LongEnding => "long first ending",
            Self::SkippedRepeat => "repeat skipped after the jump",
            Self::CodaSkip => "leap to the coda",
            Self::OtherSigns => "other signs after the leap",
            Self::InsideBar => "repeat inside a bar",
            Self::NeverPlayed => "bars never played",
        }
    }
}

pub(super) fn traps(ctx: &Context, unfolding: &Unfolding, holds: &[Hold]) -> Vec<Trap> {
    let mut traps = Vec::new();
    repeats(ctx, unfolding, &mut traps);
    let mut seen = BTreeSet::new();
    for leap in unfolding
        .leaps
        .iter()
        .filter(|leap| seen.insert((leap.kind, leap.from, leap.to)))
    {
        leaps(ctx, leap, &mut traps);
    }
    for hold in holds.iter().filter(|hold| hold.before_section) {
        let says = "a fermata, and then something new: look ahead while it is held".to_owned();
        traps.push(Trap {
            kind: TrapKind::HoldBeforeSection,
            place: hold.place,
            to: None,
            says,
        });
    }
    if let Some(first) = unfolding.never_played.first() {
        let says = format!(
            "{} of the written bars are never played",
            unfolding.never_played.len()
        );
        traps.push(Trap {
            kind: TrapKind::NeverPlayed,
            place: Place::start_of(*first),
            to: None,
            says,
        });
    }
    traps.sort_by_key(|trap| (trap.place, trap.kind));
    traps
}

fn repeats(ctx: &Context, unfolding: &Unfolding, traps: &mut Vec<Trap>) {
    let mut back: BTreeMap<Place, &Leap> = BTreeMap::new();
    for leap in unfolding
        .leaps
        .iter()
        .filter(|leap| leap.kind == LeapKind::Repeat)
    {
        back.entry(leap.to).or_insert(leap);
    }
    for (index, passage) in unfolding.repeats.iter().enumerate() {
        let returns = back.get(&passage.start);
        if !passage.printed_start
            && let Some(leap) = returns
        {
            let back = if passage.start == Place::default() {
                "the beginning".to_owned()
            } else {
                format!("bar {}", counted_label(ctx.piece, passage.start.bar))
            };
            let says = format!("an end-repeat without a start-repeat: back to {back}");
            let place = bar_before(leap.from);
            traps.push(Trap {
                kind: TrapKind::NoStart,
                place,
                to: Some(passage.start),
                says,
            });
        }
        let first = passage
            .endings
            .first()
            .and_then(|ending| unfolding.endings.get(*ending));
        if let Some(ending) = first.filter(|ending| ending.repeats) {
            let bars = ending.end.bar.0.saturating_sub(ending.start.bar.0);
            if bars > LONG_ENDING_BARS {
                let says = format!(
                    "a first ending of {bars} bars: the second time the eye must leap over all of it"
                );
                traps.push(Trap {
                    kind: TrapKind::LongEnding,
                    place: ending.start,
                    to: Some(ending.end),
                    says,
                });
            }
        }
        if unfolding.skipped_repeats.binary_search(&index).is_ok() {
            let says = "repeated the first time, not after the jump back".to_owned();
            traps.push(Trap {
                kind: TrapKind::SkippedRepeat,
                place: passage.start,
                to: None,
                says,
            });
        }
    }
}

fn leaps(ctx: &Context, leap: &Leap, traps: &mut Vec<Trap>) {
    let bars = leap.from.bar.0.abs_diff(leap.to.bar.0);
    let to = Some(leap.to);
    let target = counted_label(ctx.piece, leap.to.bar);
    let back = matches!(
        leap.kind,
        LeapKind::Repeat | LeapKind::DaCapo | LeapKind::DalSegno
    );
    let turns = page_turns(ctx, leap.from, leap.to);
    let place = bar_before(leap.from);
    if back && (turns.unwrap_or(0) > 0 || turns.is_none() && bars > BARS_ON_A_PAGE) {
        let way = match turns {
            Some(1) => "over a page turn".to_owned(),
            Some(turns) => format!("over {turns} page turns"),
            None => "a page's worth".to_owned(),
        };
        let says = format!("back {bars} bars, {way}, to bar {target}: mark where to look");
        traps.push(Trap {
            kind: TrapKind::FarBack,
            place,
            to,
            says,
        });
    }
    if leap.kind == LeapKind::ToCoda {
        let says = format!(
            "leave here for the coda at bar {target}, {bars} {} on",
            if bars == 1 { "bar" } else { "bars" }
        );
        traps.push(Trap {
            kind: TrapKind::CodaSkip,
            place,
            to,
            says,
        });
    }
    if back {
        let changed = changed_signs(ctx, leap);
        if !changed.is_empty() {
            let says = format!(
                "back at bar {target} there is another {}",
                changed.join(" and another ")
            );
            traps.push(Trap {
                kind: TrapKind::OtherSigns,
                place,
                to,
                says,
            });
        }
        if leap.from.offset.is_positive() || leap.to.offset.is_positive() {
            let says = format!("the way back to bar {target} starts or lands inside a bar");
            traps.push(Trap {
                kind: TrapKind::InsideBar,
                place,
                to,
                says,
            });
        }
    }
}

/// Page breaks between two places; `None` if the source marks no pages at all.
fn page_turns(ctx: &Context, a: Place, b: Place) -> Option<u32> {
    if !ctx.piece.bars.iter().skip(1).any(|bar| bar.new_page) {
        return None;
    }
    let (first, last) = (a.bar.min(b.bar), a.bar.max(b.bar));
    let between = ctx.piece.bars.iter().take(last.get()).skip(first.get() + 1);
    u32::try_from(between.filter(|bar| bar.new_page).count()).ok()
}

/// What is in force where the leap lands and was not where it left: key signature, metre, clef.
fn changed_signs(ctx: &Context, leap: &Leap) -> Vec<&'static str> {
    let left = bar_before(leap.from);
    // At the end of the bar left behind, so that a change inside it counts.
    let length = ctx
        .piece
        .bars
        .get(left.bar.get())
        .map(|bar| bar.length)
        .unwrap_or_default();
    let left = Place {
        offset: if leap.from.offset.is_positive() {
            leap.from.offset
        } else {
            length
        },
        ..left
    };
    let mut changed = Vec::new();
    let key = |place| ctx.part.key_at(1, place).map(|key| (key.fifths, &key.listed));
    if key(left) != key(leap.to) {
        changed.push("key signature");
    }
    if ctx.part.metre_at(left) != ctx.part.metre_at(leap.to) {
        changed.push("metre");
    }
    if ctx.part.clef_at(1, left) != ctx.part.clef_at(1, leap.to) {
        changed.push("clef");
    }
    changed
}

/// The start of the bar that ends at a place; the place itself in mid-bar.
fn bar_before(place: Place) -> Place {
    if place.offset.is_positive() || place.bar.0 == 0 {
        place
    } else {
        Place::start_of(BarIndex(place.bar.0 - 1))
    }
}
