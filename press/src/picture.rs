//! How does an SVG look as pixels?

use crate::refusal;
use crate::svg::{Drawing, pixels, single, whole};
use job::{AskPicture, Refusal, RefusalKind};
use resvg::tiny_skia::{Color, Transform};

/// A PNG with its width and height.
///
/// # Errors
/// If the SVG can't be read, or the picture would be too large.
pub fn png(svg: &str, ask: &AskPicture, drawing: &Drawing) -> Result<(Vec<u8>, u32, u32), Refusal> {
    let tree = drawing.read(svg)?;
    let size = tree.size();
    let scale = f64::from(ask.width_px) / f64::from(size.width());
    let height = whole(f64::from(size.height()) * scale - 0.01).max(1);
    let mut picture = pixels(ask.width_px, height)?;
    if ask.paper {
        picture.fill(Color::WHITE);
    }
    let transform = Transform::from_scale(single(scale), single(scale));
    resvg::render(&tree, transform, &mut picture.as_mut());
    let png = picture
        .encode_png()
        .map_err(|error| refusal(RefusalKind::Machine, format!("the PNG can't be written: {error}")))?;
    Ok((png, ask.width_px, height))
}
