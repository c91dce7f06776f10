//! What is an exact amount? Reduced fractions, and the two amounts made of them: quarter notes and alterations.
//!
//! Arithmetic is total: a sum that does not fit becomes [`Rational::OVERFLOW`], which absorbs
//! everything after it, so that no hostile file can panic us; readers turn it into a finding.

use std::cmp::Ordering;
use std::fmt;
use std::ops::{Add, AddAssign, Div, Mul, Neg, Sub, SubAssign};

/// An exact fraction with 64-bit terms, always reduced, denominator positive.
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
pub struct Rational {
    num: i64,
    den: i64,
}

impl Rational {
    /// Nothing.
    pub const ZERO: Self = Self { num: 0, den: 1 };
    /// One.
    pub const ONE: Self = Self { num: 1, den: 1 };
    /// The result of any arithmetic that does not fit: greater than every number, and absorbing.
    pub const OVERFLOW: Self = Self { num: 1, den: 0 };

    /// The fraction `num / den`, reduced; [`Self::OVERFLOW`] if `den` is zero or the terms do not fit.
    #[must_use]
    pub fn new(num: i64, den: i64) -> Self {
        Self::reduce(i128::from(num), i128::from(den))
    }

    /// A whole number.
    #[must_use]
    pub const fn whole(num: i64) -> Self {
        Self { num, den: 1 }
    }

    fn reduce(num: i128, den: i128) -> Self {
        if den == 0 {
            return Self::OVERFLOW;
        }
        // Nearly all values fit in 64 bits, where dividing is many times cheaper.
        if let (Ok(num), Ok(den)) = (i64::try_from(num), i64::try_from(den))
            && num != i64::MIN
            && den > 0
        {
            // And nearly all are halves of halves, where nothing but twos can be common.
            let twos = num.trailing_zeros().min(den.trailing_zeros());
            let (num, den) = (num >> twos, den >> twos);
            if den.count_ones() == 1 {
                return Self { num, den };
            }
            if let Ok(divisor) = i64::try_from(gcd64(num.unsigned_abs(), den.unsigned_abs())) {
                return Self {
                    num: num / divisor,
                    den: den / divisor,
                };
            }
        }
        // Both terms come from i64 products, so their absolute values fit in i128.
        let divisor = gcd(num.unsigned_abs(), den.unsigned_abs()).max(1);
        let Ok(divisor) = i128::try_from(divisor) else {
            return Self::OVERFLOW;
        };
        let sign = if den < 0 { -1 } else { 1 };
        match (
            i64::try_from(sign * num / divisor),
            i64::try_from(sign * den / divisor),
        ) {
            (Ok(num), Ok(den)) if num != i64::MIN => Self { num, den },
            _ => Self::OVERFLOW,
        }
    }

    /// Numerator of the reduced fraction.
    #[must_use]
    pub const fn num(self) -> i64 {
        self.num
    }

    /// Denominator of the reduced fraction (positive; zero only for an overflow).
    #[must_use]
    pub const fn den(self) -> i64 {
        self.den
    }

    /// True if the value stands for arithmetic that did not fit.
    #[must_use]
    pub const fn is_overflow(self) -> bool {
        self.den == 0
    }

    /// True if nothing.
    #[must_use]
    pub const fn is_zero(self) -> bool {
        self.num == 0
    }

    /// True if greater than zero.
    #[must_use]
    pub const fn is_positive(self) -> bool {
        self.num > 0
    }

    /// True if less than zero.
    #[must_use]
    pub const fn is_negative(self) -> bool {
        self.num < 0
    }

    /// True if a whole number.
    #[must_use]
    pub const fn is_whole(self) -> bool {
        self.den == 1
    }

    /// The greatest whole number not above this (saturating for an overflow).
    #[must_use]
    pub const fn floor(self) -> i64 {
        if self.den == 0 {
            i64::MAX
        } else {
            self.num.div_euclid(self.den)
        }
    }

    /// The nearest floating-point number (infinity for an overflow); for display and statistics only.
    #[must_use]
    #[expect(
        clippy::cast_precision_loss,
        reason = "display and statistics only; exact work stays rational"
    )]
    pub fn to_f64(self) -> f64 {
        if self.is_overflow() {
            f64::INFINITY
        } else {
            self.num as f64 / self.den as f64
        }
    }

    /// The absolute value.
    #[must_use]
    pub const fn abs(self) -> Self {
        Self {
            num: self.num.abs(),
            den: self.den,
        }
    }

    /// What is left after taking away as many whole `other` as fit (Euclidean; zero if `other` is zero).
    #[must_use]
    pub fn modulo(self, other: Self) -> Self {
        if other.is_zero() || self.is_overflow() || other.is_overflow() {
            return Self::ZERO;
        }
        let quotient = (self / other).floor();
        self - other * Self::whole(quotient)
    }

    /// Reads a decimal number (`"1.5"`, `"-0.25"`) or a fraction (`"3/8"`) exactly; `None` if it is neither.
    #[must_use]
    pub fn parse(text: &str) -> Option<Self> {
        let text = text.trim();
        // Nearly all are a few digits.
        if (1..=9).contains(&text.len()) && text.bytes().all(|byte| byte.is_ascii_digit()) {
            let add = |sum: i64, digit: u8| 10 * sum + i64::from(digit - b'0');
            return Some(Self::whole(text.bytes().fold(0, add)));
        }
        if let Some((num, den)) = text.split_once('/') {
            let value = Self::new(num.trim().parse().ok()?, den.trim().parse().ok()?);
            return (!value.is_overflow()).then_some(value);
        }
        let (negative, digits) = match text.strip_prefix('-') {
            Some(rest) => (true, rest),
            None => (false, text.strip_prefix('+').unwrap_or(text)),
        };
        let (whole, fraction) = digits.split_once('.').unwrap_or((digits, ""));
        let plain = |part: &str| part.bytes().all(|b| b.is_ascii_digit());
        if (whole.is_empty() && fraction.is_empty()) || !plain(whole) || !plain(fraction) {
            return None;
        }
        // Digits past the ninth cannot matter to music and would not fit.
        let fraction = &fraction[..fraction.len().min(9)];
        let scale = 10_i64.checked_pow(u32::try_from(fraction.len()).ok()?)?;
        let whole: i64 = if whole.is_empty() { 0 } else { whole.parse().ok()? };
        let part: i64 = if fraction.is_empty() {
            0
        } else {
            fraction.parse().ok()?
        };
        let num = whole.checked_mul(scale)?.checked_add(part)?;
        let value = Self::new(if negative { -num } else { num }, scale);
        (!value.is_overflow()).then_some(value)
    }
}

fn gcd(mut a: u128, mut b: u128) -> u128 {
    // Nearly all values fit in 64 bits, where the remainder is several times cheaper.
    while b != 0 {
        (a, b) = match (u64::try_from(a), u64::try_from(b)) {
            (Ok(x), Ok(y)) => return u128::from(gcd64(x, y)),
            _ => (b, a % b),
        };
    }
    a
}

fn gcd64(mut a: u64, mut b: u64) -> u64 {
    while b != 0 {
        (a, b) = (b, a % b);
    }
    a
}

impl Add for Rational {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        if self.is_overflow() || other.is_overflow() {
            return Self::OVERFLOW;
        }
        if self.den == 1
            && other.den == 1
            && let Some(num) = self.num.checked_add(other.num)
            && num != i64::MIN
        {
            return Self { num, den: 1 };
        }
        if self.den == other.den {
            return Self::reduce(i128::from(self.num) + i128::from(other.num), i128::from(self.den));
        }
        let (a, b) = (i128::from(self.num), i128::from(other.num));
        let (c, d) = (i128::from(self.den), i128::from(other.den));
        Self::reduce(a * d + b * c, c * d)
    }
}

impl Sub for Rational {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        if other.is_overflow() {
            Self::OVERFLOW
        } else {
            self + -other
        }
    }
}

impl Neg for Rational {
    type Output = Self;
    fn neg(self) -> Self {
        if self.is_overflow() {
            self
        } else {
            Self {
                num: -self.num,
                den: self.den,
            }
        }
    }
}

impl Mul for Rational {
    type Output = Self;
    fn mul(self, other: Self) -> Self {
        if self.is_overflow() || other.is_overflow() {
            return Self::OVERFLOW;
        }
        Self::reduce(
            i128::from(self.num) * i128::from(other.num),
            i128::from(self.den) * i128::from(other.den),
        )
    }
}

impl Div for Rational {
    type Output = Self;
    fn div(self, other: Self) -> Self {
        if self.is_overflow() || other.is_overflow() {
            return Self::OVERFLOW;
        }
        Self::reduce(
            i128::from(self.num) * i128::from(other.den),
            i128::from(self.den) * i128::from(other.num),
        )
    }
}

impl AddAssign for Rational {
    fn add_assign(&mut self, other: Self) {
        *self = *self + other;
    }
}

impl SubAssign for Rational {
    fn sub_assign(&mut self, other: Self) {
        *self = *self - other;
    }
}

impl PartialOrd for Rational {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Rational {
    fn cmp(&self, other: &Self) -> Ordering {
        match (self.is_overflow(), other.is_overflow()) {
            (true, true) => Ordering::Equal,
            (true, false) => Ordering::Greater,
            (false, true) => Ordering::Less,
            (false, false) if self.den == other.den => self.num.cmp(&other.num),
            (false, false) => (i128::from(self.num) * i128::from(other.den))
                .cmp(&(i128::from(other.num) * i128::from(self.den))),
        }
    }
}

impl fmt::Display for Rational {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.den {
            0 => f.write_str("overflow"),
            1 => write!(f, "{}", self.num),
            den => write!(f, "{}/{den}", self.num),
        }
    }
}

impl fmt::Debug for Rational {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, f)
    }
}

impl Default for Rational {
    fn default() -> Self {
        Self::ZERO
    }
}

/// A length or position in quarter notes, exact.
pub type Quarters = Rational;

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn reads_decimals_and_fractions() {
        assert_eq!(Rational::parse("1.5"), Some(Rational::new(3, 2)));
        assert_eq!(Rational::parse("-0.25"), Some(Rational::new(-1, 4)));
        assert_eq!(Rational::parse(" 3/8 "), Some(Rational::new(3, 8)));
        assert_eq!(Rational::parse(".5"), Some(Rational::new(1, 2)));
        for bad in ["", "-", "x", "1.2.3", "1e5", "1/0", "99999999999999999999"] {
            assert_eq!(Rational::parse(bad), None, "{bad}");
        }
    }

    #[test]
    fn an_overflow_absorbs_and_never_panics() {
        let big = Rational::whole(i64::MAX);
        assert!((big + big).is_overflow());
        assert!((Rational::OVERFLOW - big).is_overflow());
        assert!((Rational::ONE / Rational::ZERO).is_overflow());
        assert!(Rational::OVERFLOW > big);
    }

    proptest! {
        #[test]
        fn adding_and_taking_away_come_back(a in -9999i64..9999, b in 1i64..999, c in -9999i64..9999, d in 1i64..999) {
            let (x, y) = (Rational::new(a, b), Rational::new(c, d));
            prop_assert_eq!(x + y - y, x);
            prop_assert_eq!(x + y, y + x);
            if c != 0 { prop_assert_eq!(x * y / y, x); }
        }

        #[test]
        fn the_remainder_is_smaller_than_the_divisor(a in -9999i64..9999, b in 1i64..99, c in 1i64..999, d in 1i64..99) {
            let (x, y) = (Rational::new(a, b), Rational::new(c, d));
            let rest = x.modulo(y);
            prop_assert!(rest >= Rational::ZERO && rest < y);
            prop_assert!(((x - rest) / y).is_whole());
        }

        #[test]
        fn a_fraction_is_reduced_whatever_it_was_multiplied_with(a in -9999i64..9999, b in 1i64..9999, twos in 0u32..20, by in 1i64..999) {
            let by = by << twos;
            let reduced = Rational::new(a * by, b * by);
            prop_assert_eq!(reduced, Rational::new(a, b));
            prop_assert_eq!(reduced, Rational::new(-a * by, -b * by));
            prop_assert_eq!(i128::from(reduced.num()) * i128::from(b), i128::from(reduced.den()) * i128::from(a));
            prop_assert!((2..=reduced.den()).take(100).all(|d| reduced.num() % d != 0 || reduced.den() % d != 0));
        }

        #[test]
        fn any_arithmetic_is_total(a: i64, b: i64, c: i64, d: i64) {
            let (x, y) = (Rational::new(a, b), Rational::new(c, d));
            let _ = (x + y, x - y, x * y, x / y, x.cmp(&y), x.floor(), x.modulo(y));
        }
    }
}
