//! How is an interval called by its staff places? `a fifth`, `an octave`, `a tenth`, `two octaves`.

/// The interval of so many staff places.
pub(crate) fn interval(steps: u32) -> String {
    const NAMES: [&str; 15] = [
        "no step",
        "a second",
        "a third",
        "a fourth",
        "a fifth",
        "a sixth",
        "a seventh",
        "an octave",
        "a ninth",
        "a tenth",
        "an eleventh",
        "a twelfth",
        "a thirteenth",
        "a fourteenth",
        "two octaves",
    ];
    usize::try_from(steps)
        .ok()
        .and_then(|steps| NAMES.get(steps))
        .map_or_else(|| "more than two octaves".to_owned(), |name| (*name).to_owned())
}
