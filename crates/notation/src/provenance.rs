//! Where did each element come from? A side table by id, outside equality of pieces.

use crate::id::Id;
use std::collections::BTreeMap;

/// How an element came to be in the piece.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum How {
    /// It stands on the page or in the file.
    #[default]
    Printed,
    /// The standard implies it (a start-repeat at the beginning).
    Implied,
    /// The reader guessed it.
    Guessed,
    /// Somebody edited it.
    Edited,
}

/// Where one element came from.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Origin {
    /// Bytes of the decoded text, from and to.
    pub range: Option<(u32, u32)>,
    /// The name the source gave it (an `id` attribute).
    pub foreign_id: Option<String>,
    /// How it came to be.
    pub how: How,
    /// Probability from 0 to 1, for elements read from a scanned page.
    pub confidence: Option<f32>,
    /// Page (from 0), left, top, width, height in pixels, for elements read from a scanned page.
    pub page_box: Option<(u32, [f32; 4])>,
}

/// Where the whole piece came from, and each element by id.
#[derive(Clone, Debug, Default)]
pub struct Provenance {
    /// Name of the source as the person gave it.
    pub source: String,
    /// SHA-256 of the source's bytes, lower-case hexadecimal.
    pub sha256: String,
    /// The entry inside a compressed source.
    pub zip_entry: Option<String>,
    /// Program and date that wrote the source, as it says.
    pub encoding: Vec<String>,
    /// Origins by element.
    pub origins: BTreeMap<Id, Origin>,
}

/// Provenance never makes two pieces differ.
impl PartialEq for Provenance {
    fn eq(&self, _: &Self) -> bool {
        true
    }
}
