//! Do words stand in each other's way, or off the page? Those that do are moved: leftwards from the right edge, away from the
//! staff where they meet something. The engraver leaves such places as they are.

use super::texts::Words;
use crate::text::number;
use job::{Boxed, Ink, Rect, System};
use std::borrow::Cow;
use std::collections::BTreeMap;

/// How far each element is moved, by its id.
pub(super) type Moves = BTreeMap<String, (f64, f64)>;

/// What may be moved.
const MOVABLE: [&str; 6] = ["dir", "tempo", "reh", "harm", "mNum", "repeatMark"];
/// What words must not meet; slurs only where words end at their place, because the engraver doesn't look there.
const IN_THE_WAY: [&str; 14] = [
    "dir",
    "tempo",
    "reh",
    "harm",
    "mNum",
    "repeatMark",
    "fermata",
    "trill",
    "mordent",
    "turn",
    "note",
    "artic",
    "dynam",
    "octave",
];
/// White between words and what they have to clear, in units.
const WHITE: f64 = 45.0;
/// Less than so much of a meeting is none: boxes are estimated on the wide side.
const TOUCH: f64 = 30.0;

/// Moves words and jump signs, with their boxes, the system's bounds and its ink.
pub(super) fn tidy(system: &mut System, words: &[Words], width: f64) -> Moves {
    let mut moves = Moves::new();
    let staff = system.staff;
    let away = |rect: &Rect| {
        if is_above(rect, &staff) {
            staff.y - rect.bottom()
        } else {
            rect.y - staff.bottom()
        }
    };
    let movable = |boxed: &Boxed| MOVABLE.contains(&boxed.class.as_str()) && !boxed.id.is_empty();
    let mut order: Vec<(usize, f64)> = system
        .boxes
        .iter()
        .enumerate()
        .filter(|(_, boxed)| movable(boxed))
        .map(|(at, boxed)| (at, away(&boxed.rect)))
        .collect();
    // From the staff outwards.
    order.sort_by(|a, b| a.1.total_cmp(&b.1));
    for (nth, (at, _)) in order.iter().enumerate() {
        let at = *at;
        // Those farther out make way themselves.
        let farther: Vec<usize> = order.iter().skip(nth + 1).map(|(at, _)| *at).collect();
        let Some(boxed) = system.boxes.get(at).cloned() else {
            continue;
        };
        let ends_at_place = words.iter().any(|word| word.id == boxed.id && word.ends_at_place);
        let (old, new) = (
            boxed.rect,
            place(system, &boxed, at, &farther, ends_at_place, width),
        );
        let (x, y) = (new.x - old.x, new.y - old.y);
        if x.abs() < 1.0 && y.abs() < 1.0 {
            continue;
        }
        if let Some(boxed) = system.boxes.get_mut(at) {
            boxed.rect = new;
        }
        system.bounds = system.bounds.around(&new);
        if let Some(ink) = system.ink.take() {
            system.ink = Some(with(&ink, &new));
        }
        moves.insert(boxed.id, (x, y));
    }
    moves
}

fn is_above(rect: &Rect, staff: &Rect) -> bool {
    rect.y + rect.h / 2.0 < staff.y + staff.h / 2.0
}

/// Where something movable should stand.
fn place(
    system: &System,
    movable: &Boxed,
    own: usize,
    farther: &[usize],
    ends_at_place: bool,
    width: f64,
) -> Rect {
    let (staff, old) = (system.staff, movable.rect);
    let mut rect = old;
    let over = rect.right() - (staff.x + width).max(staff.right());
    if over > 0.0 && movable.class != "mNum" {
        rect.x = (rect.x - over).max(staff.x.min(rect.x));
    }
    let in_the_way =
        |class: &str| IN_THE_WAY.contains(&class) || ends_at_place && matches!(class, "slur" | "tie");
    let obstacles: Vec<Rect> = system
        .boxes
        .iter()
        .enumerate()
        .filter(|(index, boxed)| *index != own && !farther.contains(index) && in_the_way(&boxed.class))
        .map(|(_, boxed)| boxed.rect)
        .collect();
    let above = is_above(&old, &staff);
    for _ in 0..8 {
        let Some(met) = obstacles.iter().find(|other| meets(&rect, other)) else {
            break;
        };
        rect.y = if above {
            met.y - WHITE - rect.h
        } else {
            met.bottom() + WHITE
        };
    }
    rect
}

fn meets(a: &Rect, b: &Rect) -> bool {
    let across = a.right().min(b.right()) - a.x.max(b.x);
    let down = a.bottom().min(b.bottom()) - a.y.max(b.y);
    across > TOUCH && down > TOUCH
}

/// The drawing with elements moved.
pub(super) fn moved<'a>(svg: &'a str, moves: &Moves) -> Cow<'a, str> {
    let mut out = Cow::Borrowed(svg);
    for (id, (x, y)) in moves {
        let old = format!("<g id=\"{id}\"");
        let new = format!(
            "<g transform=\"translate({} {})\" id=\"{id}\"",
            number(*x),
            number(*y)
        );
        out = Cow::Owned(out.replacen(&old, &new, 1));
    }
    out
}

/// The ink with a rectangle more.
fn with(ink: &Ink, rect: &Rect) -> Ink {
    let cell = ink.cell.max(1.0);
    let (old_columns, old_rows) = (i64::from(ink.columns), i64::from(ink.rows));
    let index = |length: f64| whole((length / cell).floor());
    // The rectangle in cells of the old map, which may have to grow.
    let (left, top) = (index(rect.x - ink.x), index(rect.y - ink.y));
    let (right, bottom) = (index(rect.right() - ink.x) + 1, index(rect.bottom() - ink.y) + 1);
    let (from_x, from_y) = (left.min(0), top.min(0));
    let (to_x, to_y) = (right.max(old_columns), bottom.max(old_rows));
    let (Ok(columns), Ok(rows)) = (u32::try_from(to_x - from_x), u32::try_from(to_y - from_y)) else {
        return ink.clone();
    };
    if u64::from(columns) * u64::from(rows) > MOST_CELLS {
        return ink.clone();
    }
    let old = ink.cells();
    let was = |x: i64, y: i64| {
        let inside = (0..old_columns).contains(&x) && (0..old_rows).contains(&y);
        inside && usize::try_from(y * old_columns + x).is_ok_and(|at| old.get(at) == Some(&true))
    };
    let cells = (from_y..to_y).flat_map(|y| {
        let was = &was;
        (from_x..to_x).map(move |x| was(x, y) || (left..right).contains(&x) && (top..bottom).contains(&y))
    });
    let offset = |cells: i64| f64::from(i32::try_from(cells).unwrap_or(0)) * cell;
    Ink::from_cells(
        (ink.x + offset(from_x), ink.y + offset(from_y)),
        ink.cell,
        columns,
        rows,
        cells,
    )
}

/// A map larger than this is not made larger still.
const MOST_CELLS: u64 = 50_000_000;

#[expect(
    clippy::cast_possible_truncation,
    reason = "a float cast saturates, and the size is checked after"
)]
fn whole(cells: f64) -> i64 {
    cells as i64
}
