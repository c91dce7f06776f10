//! How do pure intervals differ from equal ones?

/// Cents by which the degrees of a pure scale over the tonic differ from equal ones, by semitone.
///
/// Source: common practice, five-limit ratios: 1, 16/15, 9/8, 6/5, 5/4, 4/3, 45/32, 3/2, 8/5, 5/3, 9/5, 15/8.
#[must_use]
pub fn just_cents(semitones_above: usize) -> f64 {
    const RATIOS: [(f64, f64); 12] = [
        (1.0, 1.0),
        (16.0, 15.0),
        (9.0, 8.0),
        (6.0, 5.0),
        (5.0, 4.0),
        (4.0, 3.0),
        (45.0, 32.0),
        (3.0, 2.0),
        (8.0, 5.0),
        (5.0, 3.0),
        (9.0, 5.0),
        (15.0, 8.0),
    ];
    let degree = semitones_above % 12;
    let (upper, lower) = RATIOS.get(degree).copied().unwrap_or((1.0, 1.0));
    let equal = u32::try_from(degree).map_or(0.0, f64::from) * 100.0;
    1200.0 * (upper / lower).log2() - equal
}
