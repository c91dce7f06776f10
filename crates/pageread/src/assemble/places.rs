//! Where on the pages does everything stand, and what did it become? Signs and bars with their boxes, in pixels of the file.

use super::System;
use super::builder::Builder;
use super::event::sign_at;
use super::lengths::{Length, Short, first_sign, sign_name};
use super::over::page_box;
use super::texts::{ReadText, texts};
use crate::mend::{Line as Beside, SignAt};
use crate::page_bars::{At, Item, PageBar};
use crate::said;
use crate::signs::Other;
use crate::vocabulary::Main;
use notation::{BarIndex, EventKind, Id, Pitch, Quarters};
use std::collections::BTreeMap;

/// Everything that was read, with its places.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Places {
    /// On the staves, system by system, in order of x.
    pub signs: Vec<ReadSign>,
    /// Beside the staves.
    pub marks: Vec<ReadMark>,
    /// Printed bars.
    pub bars: Vec<ReadBar>,
    /// Lines of text, page by page: those beyond the systems first, then system by system.
    pub texts: Vec<ReadText>,
}

/// A sign on a staff.
#[derive(Clone, PartialEq, Debug)]
pub struct ReadSign {
    /// Its name for edits.
    pub at: SignAt,
    /// Where, in pixels of its system's picture.
    pub x: f32,
    /// The page, from 0, and its box there in pixels of the file: x, y, width, height.
    pub page_box: (u32, [f32; 4]),
    /// The bar of the piece in which it is; `None` for what stands in none (a clef after the last bar).
    pub bar: Option<BarIndex>,
    /// What it was taken for.
    pub main: Main,
    /// The note's pitch.
    pub pitch: Option<Pitch>,
    /// The same in words.
    pub taken_for: String,
    /// From 0 to 1.
    pub sure: f32,
    /// What else it could be, the likeliest first.
    pub others: Vec<Other>,
    /// Those in words.
    pub others_said: Vec<String>,
    /// What it became in the piece.
    pub became: Vec<Id>,
}

/// A sign above or below a staff.
#[derive(Clone, PartialEq, Debug)]
pub struct ReadMark {
    /// The system.
    pub system: u32,
    /// Above or below.
    pub line: Beside,
    /// Its number there.
    pub number: u32,
    /// Where, in pixels of its system's picture.
    pub x: f32,
    /// Page and box, as of a sign.
    pub page_box: (u32, [f32; 4]),
    /// The bar in which it is.
    pub bar: Option<BarIndex>,
    /// Its name in the vocabulary, and in words.
    pub name: &'static str,
    /// In words.
    pub taken_for: String,
    /// From 0 to 1.
    pub sure: f32,
}

/// A printed bar.
#[derive(Clone, PartialEq, Debug)]
pub struct ReadBar {
    /// Its system.
    pub system: u32,
    /// From where to where it reaches in its system's picture.
    pub from: f32,
    /// The right end.
    pub to: f32,
    /// Page and box, as of a sign.
    pub page_box: (u32, [f32; 4]),
    /// Its (first) bar in the piece …
    pub first: BarIndex,
    /// … and its last.
    pub last: BarIndex,
    /// How it is numbered.
    pub label: String,
    /// The sign by which it is named for edits.
    pub at: Option<SignAt>,
    /// It does not add up, and nobody said that this is right.
    pub off: bool,
    /// A less likely value was taken because it adds up.
    pub chosen: bool,
    /// How long it was read.
    pub actual: Quarters,
    /// What its metre asks for.
    pub full: Option<Quarters>,
}

/// Gathers them once everything is placed.
pub(super) fn places(builder: &Builder<'_>, bars: &[PageBar], lengths: &[Length]) -> Places {
    let in_bar = in_bar(builder, bars);
    let pitches = pitches(builder);
    let mut became: BTreeMap<At, Vec<Id>> = BTreeMap::new();
    for (at, id) in &builder.became {
        became.entry(*at).or_default().push(*id);
    }
    let mut out = Places::default();
    for (number, system) in builder.systems.iter().enumerate() {
        for index in 0..system.seen.signs.len() {
            let at = At {
                system: number,
                sign: index,
            };
            let (Some(sign), Some(name)) = (sign_at(builder.systems, at), sign_name(builder.systems, at))
            else {
                continue;
            };
            let became = became.get(&at).cloned().unwrap_or_default();
            let pitch = became.iter().find_map(|id| pitches.get(id).copied());
            out.signs.push(ReadSign {
                at: name,
                x: sign.x,
                page_box: page_box(system, sign.x),
                bar: in_bar.get(&at).copied(),
                main: sign.main,
                pitch,
                taken_for: said::sign(sign, pitch),
                sure: sign.sure(),
                others: sign.others.clone(),
                others_said: sign
                    .others
                    .iter()
                    .map(|other| said::change(other.change, sign, pitch))
                    .collect(),
                became,
            });
        }
        for (line, marks) in [
            (Beside::Road, &system.seen.roads),
            (Beside::Dynamic, &system.seen.dynamics),
        ] {
            for mark in marks {
                out.marks.push(ReadMark {
                    system: u32::try_from(number).unwrap_or(u32::MAX),
                    line,
                    number: mark.number,
                    x: mark.x,
                    page_box: page_box(system, mark.x),
                    bar: bar_at(builder, number, mark.x),
                    name: mark.name,
                    taken_for: said::beside(mark.name),
                    sure: mark.sure,
                });
            }
        }
    }
    out.texts = texts(builder);
    let spots = builder.bar_spots.iter().zip(bars.iter().zip(lengths));
    for (spot, (bar, length)) in spots {
        let Some(system) = builder.systems.get(spot.system) else {
            continue;
        };
        let to = spot.to.min(system.width).max(spot.from);
        out.bars.push(ReadBar {
            system: u32::try_from(spot.system).unwrap_or(u32::MAX),
            from: spot.from,
            to,
            page_box: bar_box(system, spot.from, to),
            first: spot.first,
            last: spot.last,
            label: builder
                .piece
                .bars
                .get(spot.first.get())
                .map_or_else(String::new, |bar| bar.label.clone()),
            at: first_sign(builder.systems, bar),
            off: length.short == Short::Off,
            chosen: length.mended,
            actual: length.actual,
            full: length.full,
        });
    }
    out
}

/// Which sign stands in which bar.
fn in_bar(builder: &Builder<'_>, bars: &[PageBar]) -> BTreeMap<At, BarIndex> {
    let mut out = BTreeMap::new();
    for (bar, spot) in bars.iter().zip(&builder.bar_spots) {
        let mut put = |at: At| {
            out.entry(at).or_insert(spot.first);
        };
        for item in &bar.items {
            match item {
                Item::Event(heads) => heads.iter().copied().for_each(&mut put),
                Item::Clef(at) | Item::Key(at) | Item::Metre(at) => put(*at),
            }
        }
        let lines = [bar.left, bar.right].into_iter().flatten().map(|line| line.at);
        lines.chain(bar.rest_bars).chain(bar.repeat).for_each(put);
    }
    out
}

pub(super) fn bar_at(builder: &Builder<'_>, system: usize, x: f32) -> Option<BarIndex> {
    let mut here = builder.bar_spots.iter().filter(|spot| spot.system == system);
    let inside = here.clone().find(|spot| spot.from <= x && x < spot.to);
    inside.or_else(|| here.next_back()).map(|spot| spot.first)
}

fn pitches(builder: &Builder<'_>) -> BTreeMap<Id, Pitch> {
    let mut out = BTreeMap::new();
    for event in &builder.part.events {
        if let EventKind::Chord(heads) = &event.kind {
            out.extend(heads.iter().filter_map(|head| Some((head.id, head.pitch()?))));
        }
    }
    out
}

/// From bar line to bar line, as high as the signs' boxes.
pub(super) fn bar_box(system: &System, from: f32, to: f32) -> (u32, [f32; 4]) {
    let (page, left) = page_box(system, from);
    let (_, right) = page_box(system, to);
    let space = left[2] / 2.0;
    let (top, bottom) = (
        left[1].min(right[1]),
        (left[1] + left[3]).max(right[1] + right[3]),
    );
    let x = left[0] + space;
    (page, [x, top, (right[0] + space - x).max(0.0), bottom - top])
}
