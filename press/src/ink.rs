//! Where does a drawing leave ink?

use crate::refusal;
use crate::svg::{Drawing, pixels, single, view_box, whole};
use job::{AskInk, Ink, Refusal, RefusalKind};
use resvg::tiny_skia::Transform;

/// Pixels along each side of a cell: a hairline that a cell's single pixel would hardly feel colours one of these.
const FINENESS: u32 = 2;

/// The ink of a complete SVG, in the units of its viewBox.
///
/// # Errors
/// If the SVG can't be read, or the map would be too large.
pub fn of_svg(svg: &str, ask: &AskInk, drawing: &Drawing) -> Result<Ink, Refusal> {
    if !(ask.cell.is_finite() && ask.cell > 0.0) {
        return Err(refusal(
            RefusalKind::Request,
            "a cell of the ink map needs a size",
        ));
    }
    let tree = drawing.read(svg)?;
    let (width, height) = (f64::from(tree.size().width()), f64::from(tree.size().height()));
    let [left, top, wide, high] = view_box(svg).unwrap_or([0.0, 0.0, width, height]);
    map(&tree, [left, top, wide, high], ask.cell)
}

/// The ink of any drawing whose viewBox is `region`.
fn map(tree: &usvg::Tree, region: [f64; 4], cell: f64) -> Result<Ink, Refusal> {
    let [left, top, wide, high] = region;
    let (columns, rows) = (whole(wide / cell), whole(high / cell));
    let mut picture = pixels(side(columns), side(rows))?;
    let size = tree.size();
    let per_unit = f64::from(FINENESS) / cell;
    let scale_x = wide / f64::from(size.width()) * per_unit;
    let scale_y = high / f64::from(size.height()) * per_unit;
    let transform = Transform::from_scale(single(scale_x), single(scale_y));
    resvg::render(tree, transform, &mut picture.as_mut());
    let cells = inked(picture.data(), columns, 4, 3);
    Ok(Ink::from_cells((left, top), cell, columns, rows, cells))
}

fn side(cells: u32) -> u32 {
    cells.saturating_mul(FINENESS)
}

/// One truth value a cell, from pixels of so many bytes, one of which says how opaque the pixel is.
fn inked(bytes: &[u8], columns: u32, pixel: usize, opacity: usize) -> Vec<bool> {
    let fine = usize::try_from(FINENESS).unwrap_or(1);
    let columns = usize::try_from(columns).unwrap_or(0);
    let mut cells = Vec::new();
    let mut row = vec![false; columns];
    for (index, line) in bytes.chunks_exact((columns * fine * pixel).max(1)).enumerate() {
        for (cell, pixels) in row.iter_mut().zip(line.chunks_exact(pixel * fine)) {
            *cell |= pixels.iter().skip(opacity).step_by(pixel).any(|byte| *byte > 0);
        }
        if index % fine == fine - 1 {
            cells.extend_from_slice(&row);
            row.fill(false);
        }
    }
    cells
}
