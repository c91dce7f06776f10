//! Counting samples: the conversions between counts, seconds and samples that arithmetic on sound needs, in one place.

/// A count as a number.
#[inline]
#[expect(clippy::cast_precision_loss, reason = "sample counts stay far below 2^52")]
pub(crate) fn real(count: u64) -> f64 {
    count as f64
}

/// The nearest count; 0 below.
#[inline]
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "clamped to what is counted here"
)]
pub(crate) fn count(value: f64) -> u64 {
    if value.is_nan() {
        0
    } else {
        value.round().clamp(0.0, 4e15) as u64
    }
}

/// An index or length from a count.
#[inline]
pub(crate) fn index(count: u64) -> usize {
    usize::try_from(count).unwrap_or(usize::MAX)
}

/// A count from a length.
#[inline]
pub(crate) fn length(length: usize) -> u64 {
    u64::try_from(length).unwrap_or(u64::MAX)
}

/// A number as a sample.
#[inline]
#[expect(clippy::cast_possible_truncation, reason = "a sample has 24 bits")]
pub(crate) fn sample(value: f64) -> f32 {
    value as f32
}

/// The upper bits of a phase as an index into a table of 2^bits.
#[inline]
#[expect(clippy::cast_possible_truncation, reason = "shifted into the table's range")]
pub(crate) fn table_index(phase: u64, bits: u32) -> usize {
    (phase >> (64 - bits)) as usize
}

/// What is left of a phase below the table's index, from 0 to 1.
#[inline]
#[expect(
    clippy::cast_precision_loss,
    reason = "24 bits are kept, as many as a sample has"
)]
pub(crate) fn fraction(phase: u64, bits: u32) -> f32 {
    ((phase << bits) >> 40) as u32 as f32 * (1.0 / 16_777_216.0)
}

/// A whole sample of 16 bits.
#[inline]
#[expect(clippy::cast_possible_truncation, reason = "clamped")]
pub(crate) fn sixteen(value: f32) -> i16 {
    (value * 32_767.0).round().clamp(-32_767.0, 32_767.0) as i16
}

/// Decibels as a factor of amplitude.
#[inline]
pub(crate) fn factor(decibels: f64) -> f64 {
    10.0_f64.powf(decibels / 20.0)
}
