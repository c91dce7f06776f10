//! How do pages become a PDF?

use crate::refusal;
use crate::svg::{Drawing, single};
use job::{AskPdf, Refusal, RefusalKind};
use krilla::geom::Size;
use krilla::metadata::Metadata;
use krilla::page::PageSettings;
use krilla::{Document, SerializeSettings};
use krilla_svg::{SurfaceExt, SvgSettings};

/// Points to the millimetre.
const POINTS: f64 = 72.0 / 25.4;

/// A PDF of these pages. The same pages give the same bytes: no date, no random number goes in.
///
/// # Errors
/// If a page can't be read, or has no size.
pub fn pdf(pages: &[String], ask: &AskPdf, drawing: &Drawing) -> Result<Vec<u8>, Refusal> {
    if pages.is_empty() || pages.len() != ask.sizes_mm.len() {
        let what = format!("{} pages came with {} sizes", pages.len(), ask.sizes_mm.len());
        return Err(refusal(RefusalKind::Request, what));
    }
    let mut document = Document::new_with(SerializeSettings::default());
    for (svg, (width, height)) in pages.iter().zip(&ask.sizes_mm) {
        let tree = drawing.read(svg)?;
        let size = size(*width, *height)?;
        let mut page = document.start_page_with(PageSettings::new(size));
        let mut surface = page.surface();
        surface.draw_svg(&tree, size, SvgSettings::default());
        surface.finish();
        page.finish();
    }
    document.set_metadata(metadata(ask));
    document.finish().map_err(|error| {
        refusal(
            RefusalKind::Machine,
            format!("the PDF can't be written: {error:?}"),
        )
    })
}

fn size(width_mm: f64, height_mm: f64) -> Result<Size, Refusal> {
    let sensible = |mm: f64| mm.is_finite() && (1.0..=5000.0).contains(&mm);
    Size::from_wh(single(width_mm * POINTS), single(height_mm * POINTS))
        .filter(|_| sensible(width_mm) && sensible(height_mm))
        .ok_or_else(|| {
            let what = format!("a page of {width_mm} by {height_mm} mm is none that can be printed");
            refusal(RefusalKind::Request, what)
        })
}

fn metadata(ask: &AskPdf) -> Metadata {
    let mut metadata = Metadata::new().creator("Foreread".to_owned());
    if !ask.title.is_empty() {
        metadata = metadata.title(ask.title.clone());
    }
    if !ask.author.is_empty() {
        metadata = metadata.authors(vec![ask.author.clone()]);
    }
    if !ask.language.is_empty() {
        metadata = metadata.language(ask.language.clone());
    }
    metadata
}
