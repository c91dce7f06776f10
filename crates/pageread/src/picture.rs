//! How do a file's bytes become pages? PNG, JPEG and TIFF by `image`, PDF drawn by `hayro`; sizes are bounded first.

#![expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::cast_precision_loss,
    reason = "sizes are compared with MOST_PIXELS before they are used"
)]

use crate::ScanError;
use crate::grey::Grey;
use hayro::hayro_interpret::InterpreterSettings;
use hayro::hayro_syntax::Pdf;
use hayro::vello_cpu::color::palette::css::WHITE;
use hayro::{RenderCache, RenderSettings, render};
use image::{ImageReader, Limits};
use std::io::Cursor;

/// The largest page, in pixels: A3 at 600 dots an inch.
pub const MOST_PIXELS: u64 = 72_000_000;
/// The most pages that are read of one file.
pub const MOST_PAGES: usize = 200;
/// A PDF's page is drawn so large: 72 points are an inch.
const PDF_DOTS_AN_INCH: f32 = 200.0;
const POINTS_AN_INCH: f32 = 72.0;

/// The pages of a file, as ink.
///
/// # Errors
/// If it is no picture or PDF that can be read, or a page is too large.
pub fn pages(bytes: &[u8]) -> Result<Vec<Grey>, ScanError> {
    // Source: ISO 32000-2, 7.5.2: the header stands within the first 1024 bytes.
    let head = &bytes[..bytes.len().min(1024)];
    if head.windows(5).any(|five| five == b"%PDF-") {
        return pdf(bytes);
    }
    Ok(vec![picture(bytes)?])
}

fn picture(bytes: &[u8]) -> Result<Grey, ScanError> {
    let unread = |error: image::ImageError| ScanError::Picture(error.to_string());
    let mut reader = ImageReader::new(Cursor::new(bytes))
        .with_guessed_format()
        .map_err(|error| ScanError::Picture(error.to_string()))?;
    if reader.format().is_none() {
        return Err(ScanError::Unknown);
    }
    let mut limits = Limits::default();
    limits.max_image_width = Some(30_000);
    limits.max_image_height = Some(30_000);
    limits.max_alloc = Some(MOST_PIXELS * 8);
    reader.limits(limits);
    let picture = reader.decode().map_err(unread)?;
    let (width, height) = (picture.width(), picture.height());
    if u64::from(width) * u64::from(height) > MOST_PIXELS || width < 64 || height < 64 {
        return Err(ScanError::Size { width, height });
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

fn pdf(bytes: &[u8]) -> Result<Vec<Grey>, ScanError> {
    let pdf = Pdf::new(bytes.to_vec()).map_err(|error| ScanError::Pdf(format!("{error:?}")))?;
    let cache = RenderCache::new();
    let settings = InterpreterSettings::default();
    let mut out = Vec::new();
    for page in pdf.pages().iter().take(MOST_PAGES) {
        let (width, height) = page.render_dimensions();
        let scale = PDF_DOTS_AN_INCH / POINTS_AN_INCH;
        let (wide, high) = (width * scale, height * scale);
        if !(wide >= 64.0 && high >= 64.0 && wide * high <= MOST_PIXELS as f32 && wide.max(high) < 30_000.0) {
            return Err(ScanError::Size {
                width: wide.clamp(0.0, 1e9) as u32,
                height: high.clamp(0.0, 1e9) as u32,
            });
        }
        let drawn = render(
            page,
            &cache,
            &settings,
            &RenderSettings {
                x_scale: scale,
                y_scale: scale,
                bg_color: WHITE,
                ..RenderSettings::default()
            },
        );
        // Luma as in ITU-R BT.601.
        let ink = drawn
            .data()
            .iter()
            .map(|p| 1.0 - (0.299 * f32::from(p.r) + 0.587 * f32::from(p.g) + 0.114 * f32::from(p.b)) / 255.0)
            .collect();
        out.push(Grey {
            width: usize::from(drawn.width()),
            height: usize::from(drawn.height()),
            ink,
        });
    }
    if out.is_empty() {
        return Err(ScanError::Pdf("it has no pages".to_owned()));
    }
    Ok(out)
}
