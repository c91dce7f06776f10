//! What does an SVG look like, with our fonts alone?

use crate::refusal;
use job::{Refusal, RefusalKind};
use resvg::tiny_skia::Pixmap;
use std::sync::Arc;
use usvg::fontdb;

/// The most pixels of one picture: larger ones are refused, not tried.
const MOST_PIXELS: u64 = 120_000_000;

/// Reads SVG: knows our fonts, and neither disk nor network.
pub struct Drawing {
    options: usvg::Options<'static>,
}

impl Default for Drawing {
    fn default() -> Drawing {
        let mut database = fontdb::Database::new();
        for font in fonts::ALL {
            database.load_font_source(fontdb::Source::Binary(Arc::new(font.bytes)));
        }
        database.set_serif_family(fonts::TEXT_FAMILY);
        database.set_sans_serif_family(fonts::TEXT_FAMILY);
        database.set_monospace_family(fonts::TEXT_FAMILY);
        database.set_cursive_family(fonts::HAND_FAMILY);
        database.set_fantasy_family(fonts::HAND_FAMILY);
        Drawing {
            options: usvg::Options {
                font_family: fonts::TEXT_FAMILY.to_owned(),
                fontdb: Arc::new(database),
                // A picture inside an SVG may be in it, never a file or an address.
                image_href_resolver: usvg::ImageHrefResolver {
                    resolve_data: usvg::ImageHrefResolver::default_data_resolver(),
                    resolve_string: Box::new(|_, _| None),
                },
                ..usvg::Options::default()
            },
        }
    }
}

impl Drawing {
    /// Reads an SVG.
    ///
    /// # Errors
    /// If it is none.
    pub fn read(&self, svg: &str) -> Result<usvg::Tree, Refusal> {
        usvg::Tree::from_str(svg, &self.options).map_err(|error| {
            refusal(
                RefusalKind::Request,
                format!("a page is no readable SVG: {error}"),
            )
        })
    }
}

/// The outermost viewBox: left, top, width, height.
pub fn view_box(svg: &str) -> Option<[f64; 4]> {
    let start = svg.find("<svg")?;
    let tag = svg.get(start..start + svg.get(start..)?.find('>')?)?;
    let value = tag.split_once("viewBox=")?.1;
    let quote = value.chars().next()?;
    let numbers: Vec<f64> = value
        .get(1..)?
        .split(quote)
        .next()?
        .split([' ', ',', '\t', '\n'])
        .filter(|word| !word.is_empty())
        .map_while(|word| word.parse().ok())
        .collect();
    <[f64; 4]>::try_from(numbers)
        .ok()
        .filter(|[_, _, w, h]| *w > 0.0 && *h > 0.0)
}

/// So many pixels, if they are not too many and not none.
///
/// # Errors
/// If they are.
pub fn pixels(width: u32, height: u32) -> Result<Pixmap, Refusal> {
    let few = u64::from(width) * u64::from(height) <= MOST_PIXELS;
    few.then(|| Pixmap::new(width, height)).flatten().ok_or_else(|| {
        let what = format!("a picture of {width} by {height} pixels is none that can be drawn");
        refusal(RefusalKind::Request, what)
    })
}

/// A length as a whole number of pixels, upwards; 0 if it is no sensible one.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a float cast saturates, and the size is checked where pixels are made"
)]
pub fn whole(length: f64) -> u32 {
    length.ceil() as u32
}

/// The nearest single-precision number: what drawing libraries count in.
#[expect(
    clippy::cast_possible_truncation,
    reason = "rounding to the nearest is what is wanted"
)]
pub fn single(number: f64) -> f32 {
    number as f32
}

/// Which of many equal steps from nought a length falls into; what lies before nought falls into the first.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a float cast cuts off and saturates, as is wanted"
)]
pub fn step(length: f64) -> usize {
    length as usize
}
