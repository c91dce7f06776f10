//! How do a few bars look as a small picture?

use crate::boxes;
use crate::layout::{Content, sized, used_defs};
use crate::look::Look;
use crate::pencil::{self, Drawn};
use crate::printable::{Printable, to_job};
use crate::style;
use crate::systems;
use crate::text::{escaped, number};
use job::{Breaks, Rect, STAFF_SPACE};
use notation::{BarIndex, PencilMark, Piece};
use std::fmt::Write;

/// A small picture.
#[derive(Clone, PartialEq, Debug)]
pub struct Picture {
    /// A complete SVG, its size in millimetres.
    pub svg: String,
    /// Its width, in millimetres.
    pub width_mm: f64,
    /// Its height, in millimetres.
    pub height_mm: f64,
}

/// White around an excerpt, in units.
const MARGIN: f64 = 30.0;
/// The size of a bar number, in units: as the engraver's.
const BAR_NUMBER: f64 = 324.0;

/// Writes the bars from..=to for the engraver, with clef, key and metre in force at their start. They are set on one line if
/// `width_mm` is `None`, else on as many lines of that width as they need.
#[must_use]
pub fn excerpt(piece: &Piece, from: BarIndex, to: BarIndex, look: &Look, width_mm: Option<f64>) -> Printable {
    let last = BarIndex(to.0.max(from.0));
    let mut printable = to_job(&notation::excerpt(piece, from, last), look);
    printable.first_bar = from;
    printable.last_bar = last;
    match width_mm {
        Some(width) => printable.ask.width = (width / look.unit_mm()).max(5.0 * job::STAFF_HEIGHT),
        None => printable.ask.breaks = Breaks::OneLine,
    }
    // What reaches in from outside is no loss of the page.
    printable.findings.clear();
    printable
}

/// The engraved bars as one picture with its marks, cut to what is drawn. `piece` and `marks` are those of the whole piece;
/// what lies outside the bars is left out.
#[must_use]
pub fn excerpt_svg(
    piece: &Piece,
    look: &Look,
    printable: &Printable,
    engraved: &job::Engraved,
    svgs: &[String],
    marks: &[PencilMark],
) -> Picture {
    let complete = boxes::complete(engraved, svgs, printable.ask.width);
    let bars = systems::bars(piece, &complete.engraved, printable.last_bar);
    let (mut music, mut pencilled) = (String::new(), String::new());
    let mut all: Option<Rect> = None;
    for ((system, svg), bars) in complete.engraved.systems.iter().zip(&complete.svgs).zip(&bars) {
        let drawn = marks_in(piece, look, system, bars, marks);
        let number = look
            .bar_numbers
            .then(|| first_number(piece, system, bars))
            .flatten();
        let mut extent = drawn
            .iter()
            .fold(system.bounds.around(&system.staff), |all, mark| {
                all.around(&mark.rect)
            });
        if let Some((_, rect)) = &number {
            extent = extent.around(rect);
        }
        let down = all.map_or(0.0, |above: Rect| above.bottom() + 2.0 * STAFF_SPACE - extent.y);
        let place = format!("<g transform=\"translate(0 {})\">", crate::text::number(down));
        // Writing to a string can't fail.
        let _ = write!(
            music,
            "{place}{svg}{}</g>",
            number.map_or_else(String::new, |(text, _)| text)
        );
        if !drawn.is_empty() {
            pencilled.push_str(&place);
            drawn.iter().for_each(|mark| pencilled.push_str(&mark.svg));
            pencilled.push_str("</g>");
        }
        let moved = Rect {
            y: extent.y + down,
            ..extent
        };
        all = Some(all.map_or(moved, |above| above.around(&moved)));
    }
    let all = all.unwrap_or_default();
    let view = [
        all.x - MARGIN,
        all.y - MARGIN,
        all.w + 2.0 * MARGIN,
        all.h + 2.0 * MARGIN,
    ];
    let title = title(piece, printable);
    let style = format!("{}{}", style::page(look), pencil::style(look));
    let content = Content {
        title: &title,
        defs: &used_defs(svgs.first().map_or("", String::as_str), &music),
        style: &style,
        music: &music,
        pencil: &pencilled,
    };
    Picture {
        svg: sized(&content, view, look.unit_mm()),
        width_mm: view[2] * look.unit_mm(),
        height_mm: view[3] * look.unit_mm(),
    }
}

fn marks_in(
    piece: &Piece,
    look: &Look,
    system: &job::System,
    bars: &std::ops::Range<u32>,
    marks: &[PencilMark],
) -> Vec<Drawn> {
    if !look.hand {
        return Vec::new();
    }
    let here: Vec<&PencilMark> = marks.iter().filter(|mark| systems::touches(mark, bars)).collect();
    pencil::place(system, piece, &here, look)
}

/// The number of a system's first bar where the engraver has drawn none, and its box.
fn first_number(piece: &Piece, system: &job::System, bars: &std::ops::Range<u32>) -> Option<(String, Rect)> {
    let known = system.boxes.iter().any(|boxed| boxed.class == "mNum");
    let label = piece
        .bars
        .get(BarIndex(bars.start).get())
        .map(|bar| bar.label.as_str())?;
    if known || label.is_empty() {
        return None;
    }
    let staff = system.staff;
    let y = staff.y - 1.35 * STAFF_SPACE;
    let text = format!(
        "<text class=\"bar-number\" x=\"{}\" y=\"{}\" font-size=\"{BAR_NUMBER}\">{}</text>",
        number(staff.x),
        number(y),
        escaped(label)
    );
    let rect = Rect {
        x: staff.x,
        y: y - 0.72 * BAR_NUMBER,
        w: crate::text::width(label) * BAR_NUMBER,
        h: 0.72 * BAR_NUMBER,
    };
    Some((text, rect))
}

fn title(piece: &Piece, printable: &Printable) -> String {
    let (first, last) = (piece.label(printable.first_bar), piece.label(printable.last_bar));
    if printable.first_bar == printable.last_bar {
        format!("Bar {first}")
    } else {
        format!("Bars {first} to {last}")
    }
}
