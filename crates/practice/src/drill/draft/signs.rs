//! Which sign prints an alteration?

use notation::Alter;

/// The usual sign of an alteration. Source: MusicXML 4.0, accidental-value.
pub(super) fn sign_of(alter: Alter) -> Option<&'static str> {
    let halves = alter + alter;
    Some(match (halves.num(), halves.den()) {
        (0, 1) => "natural",
        (1, 1) => "quarter-sharp",
        (2, 1) => "sharp",
        (3, 1) => "three-quarters-sharp",
        (4, 1) => "double-sharp",
        (6, 1) => "triple-sharp",
        (-1, 1) => "quarter-flat",
        (-2, 1) => "flat",
        (-3, 1) => "three-quarters-flat",
        (-4, 1) => "flat-flat",
        (-6, 1) => "triple-flat",
        _ => return None,
    })
}
