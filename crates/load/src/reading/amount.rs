//! How much is that to read, in a word?

/// Up to so many bits a bar is little, some, much to read; beyond is very much. Rounded from what 40, 80 and 95 of a hundred
/// bars of three old tune books stay under, each book read with a model that had not seen it (11.3, 22.9, 35.2; `long_term.md`).
pub const THRESHOLDS: [f64; 3] = [11.0, 23.0, 35.0];

/// How much a bar with so many bits is to read, as it is said on screen. Marks to notice are among the bits.
#[must_use]
pub fn amount_words(bits_in_bar: f64) -> &'static str {
    let [little, some, much] = THRESHOLDS;
    if bits_in_bar <= little {
        "little to read"
    } else if bits_in_bar <= some {
        "some to read"
    } else if bits_in_bar <= much {
        "much to read"
    } else {
        "very much to read"
    }
}
