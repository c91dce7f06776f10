//! What stands around the passages of a strip? Over each its bars and the reason, under each an empty staff to write on.

use super::frame::{Hold, text_element};
use super::sheet::Sheet;
use crate::look::Look;
use crate::strip;
use crate::text::{lines, number};
use job::STAFF_SPACE;
use notation::Piece;
use std::fmt::Write;
use std::ops::Range;

/// Sizes of words, in millimetres.
const HEADING_MM: f64 = 4.0;
const REASON_MM: f64 = 3.6;
/// White between a passage and the staff under it, in units.
const ABOVE_STAFF: f64 = 2.5 * STAFF_SPACE;
/// White under the empty staff: notes are written there, too.
const UNDER_STAFF: f64 = 2.0 * STAFF_SPACE;

/// What stands around each system; nothing on any edition but a strip.
#[derive(Clone, PartialEq, Debug, Default)]
pub(super) struct Around {
    /// Heading and reason over it: lines with their class and size.
    over: Vec<(&'static str, f64, String)>,
    /// An empty staff under it.
    staff: bool,
}

/// For each system of a strip what stands around it.
pub(super) fn around(piece: &Piece, look: &Look, sheet: &Sheet, bars: &[Range<u32>]) -> Vec<Around> {
    let items = strip::items(piece, look);
    let passages = strip::passages(&items, bars);
    let of = |index: usize| passages.get(index).copied();
    (0..bars.len())
        .map(|index| {
            let Some(item) = of(index).and_then(|at| items.get(at)) else {
                return Around::default();
            };
            let begins = index == 0 || of(index - 1) != of(index);
            let mut over = Vec::new();
            if begins {
                let (first, last) = (piece.label(item.from), piece.label(item.to));
                let heading = match &item.heading {
                    Some(heading) => heading.clone(),
                    None if item.from == item.to => format!("Bar {first}"),
                    None => format!("Bars {first}–{last}"),
                };
                over.push(("passage", sheet.words_mm(HEADING_MM), heading));
                let size = sheet.words_mm(REASON_MM);
                let reason = item
                    .reason
                    .lines()
                    .flat_map(|said| lines(said, sheet.music_width() / size));
                over.extend(reason.map(|line| ("reason", size, line)));
            }
            Around {
                over,
                staff: item.heading.is_none() && of(index + 1) != of(index),
            }
        })
        .collect()
}

impl Around {
    /// The height of what stands over the system, in units.
    pub fn above(&self) -> f64 {
        self.over.iter().map(|(_, size, _)| size * 1.25).sum::<f64>()
            + if self.over.is_empty() { 0.0 } else { STAFF_SPACE }
    }

    /// The height of what stands under it, in units.
    pub fn below(&self) -> f64 {
        if self.staff {
            ABOVE_STAFF + job::STAFF_HEIGHT + UNDER_STAFF
        } else {
            0.0
        }
    }

    /// What is drawn: from the top of all of it, and from the bottom of the system's own ink.
    pub fn svg(&self, sheet: &Sheet, top: f64, ink_bottom: f64) -> String {
        let mut out = String::new();
        let mut y = top;
        for (class, size, line) in &self.over {
            y += size * 1.25;
            out.push_str(&text_element(
                class,
                Hold::Left,
                (sheet.side, y - size * 0.25),
                *size,
                line,
            ));
        }
        if self.staff {
            let (left, right) = (number(sheet.side), number(sheet.side + sheet.music_width()));
            for line in 0_u8..5 {
                let y = number(ink_bottom + ABOVE_STAFF + f64::from(line) * STAFF_SPACE);
                // Writing to a string can't fail.
                let _ = write!(
                    out,
                    "<path class=\"blank-staff\" d=\"M{left} {y} L{right} {y}\"/>"
                );
            }
        }
        out
    }
}
