//! Counting samples and frames: the conversions that arithmetic on sound needs, in one place.

/// A count as a number.
#[inline]
#[expect(clippy::cast_precision_loss, reason = "sample counts stay far below 2^52")]
pub(crate) fn real(count: usize) -> f64 {
    count as f64
}

/// A count as a number of single precision.
#[inline]
#[expect(clippy::cast_precision_loss, reason = "counts of a frame stay far below 2^24")]
pub(crate) fn single(count: usize) -> f32 {
    count as f32
}

/// The nearest count; 0 below.
#[inline]
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "clamped to what is counted here"
)]
pub(crate) fn count(value: f64) -> usize {
    if value.is_nan() {
        0
    } else {
        value.round().clamp(0.0, 4e9) as usize
    }
}

/// A number in single precision.
#[inline]
#[expect(
    clippy::cast_possible_truncation,
    reason = "seven digits are more than is heard"
)]
pub(crate) fn narrow(value: f64) -> f32 {
    value as f32
}

/// The nearest whole number; 0 for none.
#[inline]
#[expect(clippy::cast_possible_truncation, reason = "clamped to what is counted here")]
pub(crate) fn whole(value: f64) -> i64 {
    if value.is_nan() {
        0
    } else {
        value.round().clamp(-1e15, 1e15) as i64
    }
}
