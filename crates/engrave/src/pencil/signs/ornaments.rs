//! Where does an ornament stand that is written out? Over its note, the first small note as near to it as there is room.

use super::{above, below};
use super::{hanging, standing};
use crate::pencil::pen::Pen;
use crate::pencil::small_notes;
use job::STAFF_SPACE as SPACE;

/// The small notes' staff space, beside the page's: as a grace note is beside a note. Common practice.
const SMALL: f64 = 0.66;

pub(super) fn written_out(pen: &mut Pen) -> bool {
    let Some(stop) = pen.scene.stop(&pen.mark.from) else {
        return false;
    };
    let notes = pen.mark.small_notes.clone();
    let sketch = small_notes::drawn(&notes, SMALL * SPACE, &mut pen.hand);
    let Some(ink) = sketch.bounds() else { return false };
    let sketch = sketch.moved(stop.rect.x - 0.3 * SPACE - ink.x, 0.0);
    let (up, down) = (standing(sketch.clone(), above(pen)), hanging(sketch, below(pen)));
    // To the left as far as the whole of it, at the end of a system.
    let width = ink.w / SPACE;
    let asides: Vec<f64> = [0.0, -0.5, 0.5, -1.0, 1.0, -2.0, 2.0]
        .into_iter()
        .chain([0.3, 0.5, 0.7, 0.85, 1.0].map(|part| -part * width))
        .collect();
    pen.off_either(&up, &down, super::OTHER_SIDE, &asides);
    true
}
