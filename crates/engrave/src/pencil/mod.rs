//! Where does a pencil mark stand, and how is it drawn? By the system's ink: each mark is tried where a teacher would put it
//! first, then a little farther off, until it touches nothing.
//!
//! Only two kinds may cross lines that can't be helped (staff lines, ledger lines, stems, bar lines), and nothing else: the
//! circle round a note and the brackets through the staff at a hard spot ([`encloses`]). Every other mark has a cell of clear paper around it. Lines are drawn by a hand that is the same each time.

mod choose;
mod field;
mod glyphs;
mod hand;
mod legend;
mod letters;
mod pen;
mod sample;
mod scene;
mod signs;
mod sketch;
mod small_notes;
mod style;
#[cfg(test)]
mod tests;

pub use choose::choose;
pub use legend::legend_block;
pub use sample::{Sample, sample};
pub use style::style;

use crate::look::Look;
use field::Field;
use job::Rect;
use notation::{Finding, Pencil, PencilMark, PencilSign, Piece, Severity};
use pen::Pen;
use scene::Scene;
use sketch::{Sketch, escaped};

/// One mark as drawn in one system.
#[derive(Clone, PartialEq, Debug)]
pub struct Drawn {
    /// Its index in the list given.
    pub mark: usize,
    /// An SVG fragment in the system's coordinates: one `<g class="mark …">`.
    pub svg: String,
    /// All its ink, in the system's coordinates.
    pub rect: Rect,
}

/// Whether a sign may cross the lines that it goes round.
#[must_use]
pub const fn encloses(sign: PencilSign) -> bool {
    matches!(sign, PencilSign::Circle | PencilSign::SpotBracket)
}

/// Places and draws the marks that belong in a system; those of other systems are passed over.
#[must_use]
pub fn place(system: &job::System, piece: &Piece, marks: &[&PencilMark], look: &Look) -> Vec<Drawn> {
    place_told(system, piece, marks, look).0
}

/// The same, with a finding for each mark that found no place.
#[must_use]
pub fn place_told(
    system: &job::System,
    piece: &Piece,
    marks: &[&PencilMark],
    _look: &Look,
) -> (Vec<Drawn>, Vec<Finding>) {
    let scene = Scene::of(system, piece);
    let mut here: Vec<(usize, &PencilMark)> = marks
        .iter()
        .enumerate()
        .filter(|(_, mark)| scene.touches(mark.from.place.bar, mark.end().place.bar))
        .map(|(index, mark)| (index, *mark))
        .collect();
    if here.is_empty() {
        return (Vec::new(), Vec::new());
    }
    let mut field = Field::of(&scene);
    // What has only one place goes first, then the most valuable.
    here.sort_by(|(a, one), (b, other)| {
        let worth = other.worth.total_cmp(&one.worth);
        narrow(one.sign)
            .cmp(&narrow(other.sign))
            .then(worth)
            .then(a.cmp(b))
    });
    let (mut drawn, mut findings) = (Vec::new(), Vec::new());
    for (index, mark) in here {
        let mut pen = Pen::new(&scene, &mut field, mark);
        let belongs = signs::draw(&mut pen);
        match pen.done() {
            Some(sketch) => drawn.extend(finished(piece, index, mark, &sketch)),
            None if belongs => findings.push(no_room(piece, mark)),
            None => {}
        }
    }
    drawn.sort_by_key(|drawn| drawn.mark);
    (drawn, findings)
}

/// How little choice a sign has in where it stands: the smaller, the less.
const fn narrow(sign: PencilSign) -> u8 {
    match sign {
        PencilSign::Circle | PencilSign::Courtesy => 0,
        PencilSign::SpotBracket => 1,
        PencilSign::Breath | PencilSign::SlowBreath => 2,
        PencilSign::Fingering | PencilSign::FingeringDiagram => 3,
        PencilSign::BeatStrokes | PencilSign::Counts => 4,
        PencilSign::RepeatHook | PencilSign::LookAlike => 5,
        PencilSign::JumpArrow | PencilSign::Eyeglasses => 6,
        // It is large: the others leave it more choice than it leaves them.
        PencilSign::SmallNotes => 6,
        PencilSign::Words => 7,
    }
}

fn finished(piece: &Piece, index: usize, mark: &PencilMark, sketch: &Sketch) -> Option<Drawn> {
    let pencil = match mark.pencil {
        Pencil::Graphite => "graphite",
        Pencil::First => "first",
        Pencil::Second => "second",
    };
    let bar = piece.label(mark.from.place.bar);
    let title = if bar.is_empty() {
        mark.sign.name().to_owned()
    } else {
        format!("{}, bar {bar}", mark.sign.name())
    };
    let svg = format!(
        "<g class=\"mark {} pencil-{pencil}\" role=\"img\"><title>{}</title><desc>{}</desc>{}</g>",
        mark.sign.class(),
        escaped(&title),
        escaped(&mark.reason),
        sketch.svg()
    );
    Some(Drawn {
        mark: index,
        svg,
        rect: sketch.bounds()?,
    })
}

fn no_room(piece: &Piece, mark: &PencilMark) -> Finding {
    let bar = mark.from.place.bar;
    Finding::new(
        Severity::Note,
        "no-room-for-a-mark",
        format!(
            "no room was found for a pencil mark ({}): {}",
            mark.sign.name(),
            mark.reason
        ),
        "write it in by hand, or print the part with more space",
    )
    .at_bar(bar, piece.label(bar))
    .at_offset(mark.from.place.offset)
}
