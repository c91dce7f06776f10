//! Where does each sign belong? What is tried first, and what instead.

mod bars;
mod notes;
mod ornaments;
mod rhythm;

use super::pen::Pen;
use super::sketch::Sketch;
use job::STAFF_SPACE as SPACE;
use notation::PencilSign;

/// A little to either side, in staff spaces.
const NEAR: [f64; 7] = [0.0, -0.25, 0.25, -0.5, 0.5, -0.8, 0.8];
/// Farther to either side: for signs that mean a stretch, not a note.
const WIDE: [f64; 9] = [0.0, -0.5, 0.5, -1.0, 1.0, -1.8, 1.8, -2.8, -4.0];
/// The line of brackets and strokes, beside a staff space: seen from afar, and never taken for a bar line.
const BRACKET: f64 = 0.23;
/// Clear paper between the staff and a mark outside of it, in staff spaces.
const OFF_STAFF: f64 = 0.4;

/// How much farther a mark may stand above the staff than below it before it goes below, in staff spaces.
const OTHER_SIDE: f64 = 2.5;

/// Draws the pen's mark. False if nothing of it belongs in this system.
pub(super) fn draw(pen: &mut Pen) -> bool {
    match pen.mark.sign {
        PencilSign::SpotBracket => bars::brackets(pen),
        PencilSign::RepeatHook => bars::hooks(pen),
        PencilSign::Circle => notes::circle(pen),
        PencilSign::Eyeglasses => bars::eyeglasses(pen),
        PencilSign::BeatStrokes => rhythm::strokes(pen),
        PencilSign::Counts => rhythm::counts(pen),
        PencilSign::Courtesy => notes::courtesy(pen),
        PencilSign::Breath | PencilSign::SlowBreath => notes::breath(pen),
        PencilSign::Fingering => notes::fingering(pen),
        PencilSign::FingeringDiagram => notes::diagram(pen),
        PencilSign::JumpArrow => bars::arrow(pen),
        PencilSign::LookAlike => bars::letter(pen),
        PencilSign::Words => bars::words(pen),
        PencilSign::SmallNotes => ornaments::written_out(pen),
    }
}

/// The line above the staff on which marks like to stand.
fn above(pen: &Pen) -> f64 {
    pen.staff().y - OFF_STAFF * SPACE
}

fn below(pen: &Pen) -> f64 {
    pen.staff().bottom() + OFF_STAFF * SPACE
}

/// The same sketch with its lower edge, or its upper one, at a height.
fn standing(sketch: Sketch, bottom: f64) -> Sketch {
    let shift = sketch.bounds().map_or(0.0, |ink| bottom - ink.bottom());
    sketch.moved(0.0, shift)
}

fn hanging(sketch: Sketch, top: f64) -> Sketch {
    let shift = sketch.bounds().map_or(0.0, |ink| top - ink.y);
    sketch.moved(0.0, shift)
}

/// A sign near a place, above the staff or where there is more room below it.
fn near(pen: &mut Pen, sketch: Sketch, asides: &[f64]) -> bool {
    let (up, down) = (standing(sketch.clone(), above(pen)), hanging(sketch, below(pen)));
    pen.off_either(&up, &down, OTHER_SIDE, asides);
    true
}
