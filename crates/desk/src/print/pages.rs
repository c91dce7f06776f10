//! How do pages become a file? All of them as one PDF, each as a picture.

use crate::DeskError;
use engrave::{Laid, Page};
use job::{AskPdf, AskPicture};
use printer::Printer;

/// Millimetres of an inch.
const INCH_MM: f64 = 25.4;

/// All pages as one PDF.
///
/// # Errors
/// If the press fails.
pub fn pdf(laid: &Laid, title: &str, author: &str, printer: &mut Printer) -> Result<Vec<u8>, DeskError> {
    let ask = AskPdf {
        sizes_mm: laid
            .pages
            .iter()
            .map(|page| (page.width_mm, page.height_mm))
            .collect(),
        title: title.to_owned(),
        author: author.to_owned(),
        language: "en".to_owned(),
    };
    let pages: Vec<String> = laid.pages.iter().map(|page| page.svg.clone()).collect();
    Ok(printer.pdf(&pages, ask)?)
}

/// One page as a PNG on white paper.
///
/// # Errors
/// If the press fails.
pub fn picture(page: &Page, dots_per_inch: f64, printer: &mut Printer) -> Result<Vec<u8>, DeskError> {
    let width = page.width_mm / INCH_MM * dots_per_inch.clamp(20.0, 1200.0);
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "clamped before"
    )]
    let width_px = width.round().clamp(1.0, 20_000.0) as u32;
    Ok(printer
        .picture(
            &page.svg,
            AskPicture {
                width_px,
                paper: true,
            },
        )?
        .png)
}
