//! What does this scanned page say? Pictures of pages in, a Piece with its confidence and findings out.
//!
//! Bytes become pages ([`pages`]), pages are straightened into systems ([`systems`]), the trained reader tells the signs of each
//! ([`Reader`]), and [`assemble`] makes a Piece of them. No disk, no threads, no clock: who calls decides how many systems are read
//! at a time. Words are not read yet, and a finding says so.

mod assemble;
mod bars;
mod crop;
mod error;
mod grey;
mod page_bars;
mod picture;
mod pitches;
mod reader;
mod signs;
mod staves;
mod vocabulary;

pub use assemble::{Read, System, assemble};
pub use crop::Crop;
pub use error::ScanError;
pub use grey::Grey;
pub use picture::{MOST_PAGES, MOST_PIXELS, pages};
pub use reader::Reader;
pub use signs::{Beside, Seen, Sign};
pub use staves::{SPACE, Staff, line_distance, staves};

/// The systems of a page from top to bottom; empty where no staff is found.
#[must_use]
pub fn systems(page: &Grey) -> Vec<Crop> {
    let flat = page.flattened();
    let Some(distance) = line_distance(&flat) else {
        return Vec::new();
    };
    let scale = SPACE / distance;
    let (flat, sized) = if (0.97..1.03).contains(&scale) {
        (flat, page.clone())
    } else {
        (flat.scaled(scale), page.scaled(scale))
    };
    let scale = if (0.97..1.03).contains(&scale) { 1.0 } else { scale };
    staves(&flat)
        .iter()
        .map(|staff| crop::crop(&sized, staff, scale))
        .collect()
}
