//! How does a page of a file become ink? PNG, JPEG and TIFF by `image`, PDF drawn by `hayro`; sizes are bounded first.

#![expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::cast_precision_loss,
    reason = "sizes are compared with MOST_PIXELS before they are used"
)]

use super::grey::Grey;
use crate::refusal;
use hayro::hayro_interpret::InterpreterSettings;
use hayro::hayro_syntax::Pdf;
use hayro::vello_cpu::color::palette::css::WHITE;
use hayro::{RenderCache, RenderSettings, render};
use image::{ExtendedColorType, ImageEncoder, ImageReader, Limits, codecs::png::PngEncoder};
use job::{Refusal, RefusalKind};
use std::io::Cursor;

/// The largest page, in pixels: A3 at 600 dots an inch.
const MOST_PIXELS: u64 = 72_000_000;
/// A PDF's page is drawn so large: 72 points are an inch.
const PDF_DOTS_AN_INCH: f32 = 200.0;
const POINTS_AN_INCH: f32 = 72.0;

/// One page.
pub struct Page {
    /// What is on it.
    pub ink: Grey,
    /// Of so many in the file.
    pub of: u32,
}

/// One page of a file, as ink; the first has number 0.
///
/// # Errors
/// If it is no picture or PDF that can be read, has no such page, or the page is too large.
pub fn page(bytes: &[u8], number: u32) -> Result<Page, Refusal> {
    // Source: ISO 32000-2, 7.5.2: the header stands within the first 1024 bytes.
    let head = &bytes[..bytes.len().min(1024)];
    if head.windows(5).any(|five| five == b"%PDF-") {
        return pdf(bytes, number);
    }
    if number > 0 {
        return Err(no_page(number, 1));
    }
    Ok(Page {
        ink: picture(bytes)?,
        of: 1,
    })
}

/// The page as a PNG: grey, eight bits.
///
/// # Errors
/// If it can't be written.
pub fn png(ink: &Grey) -> Result<Vec<u8>, Refusal> {
    let light: Vec<u8> = ink
        .ink
        .iter()
        .map(|ink| ((1.0 - ink.clamp(0.0, 1.0)) * 255.0).round() as u8)
        .collect();
    let mut out = Vec::new();
    PngEncoder::new(&mut out)
        .write_image(&light, ink.width as u32, ink.height as u32, ExtendedColorType::L8)
        .map_err(|error| refusal(RefusalKind::Machine, format!("the PNG can't be written: {error}")))?;
    Ok(out)
}

fn refused(what: impl Into<String>) -> Refusal {
    refusal(RefusalKind::Page, what)
}

fn no_page(number: u32, of: u32) -> Refusal {
    refused(format!(
        "there is no page {}, the file has {of}",
        number.saturating_add(1)
    ))
}

fn too_large(width: u32, height: u32) -> Refusal {
    refused(format!(
        "the page has {width} × {height} pixels — scan it at 200 to 400 dots an inch"
    ))
}

fn picture(bytes: &[u8]) -> Result<Grey, Refusal> {
    let unread = |error: &dyn std::fmt::Display| {
        refused(format!(
            "the picture can't be read: {error} — scan the page again or save it in another form"
        ))
    };
    let mut reader = ImageReader::new(Cursor::new(bytes))
        .with_guessed_format()
        .map_err(|error| unread(&error))?;
    if reader.format().is_none() {
        return Err(refused(
            "this is no picture that can be read — save the scan as PNG, JPEG, TIFF or PDF",
        ));
    }
    let mut limits = Limits::default();
    limits.max_image_width = Some(30_000);
    limits.max_image_height = Some(30_000);
    limits.max_alloc = Some(MOST_PIXELS * 8);
    reader.limits(limits);
    let picture = reader.decode().map_err(|error| unread(&error))?;
    let (width, height) = (picture.width(), picture.height());
    if u64::from(width) * u64::from(height) > MOST_PIXELS || width < 64 || height < 64 {
        return Err(too_large(width, height));
    }
    // Glass is paper: what is transparent shows white.
    let ink = picture
        .to_luma_alpha8()
        .pixels()
        .map(|pixel| {
            let [light, cover] = pixel.0;
            f32::from(255 - light) / 255.0 * f32::from(cover) / 255.0
        })
        .collect();
    Ok(Grey {
        width: width as usize,
        height: height as usize,
        ink,
    })
}

fn pdf(bytes: &[u8], number: u32) -> Result<Page, Refusal> {
    let unread = |what: &str| {
        refused(format!(
            "the PDF can't be read: {what} — print it to a new PDF, or save its pages as pictures"
        ))
    };
    let pdf = Pdf::new(bytes.to_vec()).map_err(|error| unread(&format!("{error:?}")))?;
    let pages = pdf.pages();
    let of = u32::try_from(pages.len()).unwrap_or(u32::MAX);
    if of == 0 {
        return Err(unread("it has no pages"));
    }
    let page = pages.get(number as usize).ok_or_else(|| no_page(number, of))?;
    let (width, height) = page.render_dimensions();
    let scale = PDF_DOTS_AN_INCH / POINTS_AN_INCH;
    let (wide, high) = (width * scale, height * scale);
    if !(wide >= 64.0 && high >= 64.0 && wide * high <= MOST_PIXELS as f32 && wide.max(high) < 30_000.0) {
        return Err(too_large(
            wide.clamp(0.0, 1e9) as u32,
            high.clamp(0.0, 1e9) as u32,
        ));
    }
    let settings = RenderSettings {
        x_scale: scale,
        y_scale: scale,
        bg_color: WHITE,
        ..RenderSettings::default()
    };
    let drawn = render(
        page,
        &RenderCache::new(),
        &InterpreterSettings::default(),
        &settings,
    );
    // Luma as in ITU-R BT.601.
    let ink = drawn
        .data()
        .iter()
        .map(|p| 1.0 - (0.299 * f32::from(p.r) + 0.587 * f32::from(p.g) + 0.114 * f32::from(p.b)) / 255.0)
        .collect();
    Ok(Page {
        ink: Grey {
            width: usize::from(drawn.width()),
            height: usize::from(drawn.height()),
            ink,
        },
        of,
    })
}
