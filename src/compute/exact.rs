//! Exact quantities: whole nanometres, their products, fractions, and every rounding by name.

use crate::units::decimal::{in_parts, trimmed};
use rust_decimal::Decimal;

/// A length in whole nanometres. Inches, their 64ths, feet and millimetres are all whole numbers of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Nm(pub i64);

impl Nm {
    /// A length of whole millimetres; saturates far outside any job.
    ///
    /// ```
    /// # use rillcast::compute::exact::Nm;
    /// assert_eq!(Nm::mm(25).0, 25_000_000);
    /// ```
    #[must_use]
    pub const fn mm(mm: i64) -> Self {
        Self(mm.saturating_mul(1_000_000))
    }

    /// A length in 64ths of an inch (1/64 in = 396 875 nm exactly); saturates far outside any job.
    ///
    /// ```
    /// # use rillcast::compute::exact::Nm;
    /// assert_eq!(Nm::in_64ths(64), Nm(25_400_000));
    /// ```
    #[must_use]
    pub const fn in_64ths(n: i64) -> Self {
        Self(n.saturating_mul(396_875))
    }

    /// The length in metres as an exact decimal.
    #[must_use]
    pub fn metres(self) -> Decimal {
        Decimal::from_i128_with_scale(i128::from(self.0), 9).normalize()
    }
}

/// An exact fraction with a positive denominator, in lowest terms.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Fraction {
    num: i128,
    den: i128,
}

impl Fraction {
    /// One.
    pub const ONE: Self = Self { num: 1, den: 1 };

    /// `num / den` in lowest terms; `None` when `den` is zero or the sign cannot be normalised.
    #[must_use]
    pub fn new(num: i128, den: i128) -> Option<Self> {
        if den == 0 || num == i128::MIN || den == i128::MIN {
            return None;
        }
        let g = gcd(num, den).max(1);
        let s = if den < 0 { -1 } else { 1 };
        Some(Self { num: s * (num / g), den: s * (den / g) })
    }

    /// The decimal as the fraction it is, nothing rounded.
    ///
    /// ```
    /// # use rillcast::compute::exact::Fraction;
    /// let waste = Fraction::from_decimal("0.08".parse()?);
    /// assert_eq!(waste, Fraction::new(2, 25).ok_or("fraction")?);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn from_decimal(d: Decimal) -> Self {
        let d = d.normalize();
        let mut den = 1_i128;
        for _ in 0..d.scale() {
            den *= 10;
        }
        Self::new(d.mantissa(), den).unwrap_or(Self { num: 0, den: 1 })
    }

    /// Sum, or `None` on overflow.
    #[must_use]
    pub fn checked_add(self, other: Self) -> Option<Self> {
        let n = self.num.checked_mul(other.den)?.checked_add(other.num.checked_mul(self.den)?)?;
        Self::new(n, self.den.checked_mul(other.den)?)
    }

    /// Product, or `None` on overflow.
    #[must_use]
    pub fn checked_mul(self, other: Self) -> Option<Self> {
        let (a, b) = (gcd(self.num, other.den).max(1), gcd(other.num, self.den).max(1));
        Self::new((self.num / a).checked_mul(other.num / b)?, (self.den / b).checked_mul(other.den / a)?)
    }

    /// Quotient, or `None` on overflow or division by zero.
    #[must_use]
    pub fn checked_div(self, other: Self) -> Option<Self> {
        self.checked_mul(Self::new(other.den, other.num)?)
    }

    /// The smallest whole number not below the fraction (rounding up; a whole number stays itself).
    #[must_use]
    pub fn ceil(self) -> i128 {
        self.num.div_euclid(self.den) + i128::from(self.num.rem_euclid(self.den) != 0)
    }

    /// The largest whole number not above the fraction.
    #[must_use]
    pub fn floor(self) -> i128 {
        self.num.div_euclid(self.den)
    }

    /// Rounded half away from zero to `digits` decimals (at most 12); the extremes saturate.
    #[must_use]
    pub fn to_decimal(self, digits: u32) -> Decimal {
        let digits = digits.min(12);
        let whole = self.num / self.den;
        let mut rest = (self.num % self.den).abs();
        let mut frac = 0_i128;
        for _ in 0..digits {
            // one decimal digit at a time keeps the remainder below ten denominators
            let (d, r) = match rest.checked_mul(10) {
                Some(t) => (t / self.den, t % self.den),
                None => (rest / (self.den / 10), 0),
            };
            frac = frac * 10 + d;
            rest = r;
        }
        let up = i128::from(rest >= self.den - rest);
        let pow = 10_i128.pow(digits);
        let sign = if self.num < 0 { -1 } else { 1 };
        whole
            .checked_mul(pow)
            .and_then(|w| w.checked_add(sign * (frac + up)))
            .and_then(|m| Decimal::try_from_i128_with_scale(m, digits).ok())
            .unwrap_or(if self.num < 0 { Decimal::MIN } else { Decimal::MAX })
            .normalize()
    }
}

/// Greatest common divisor of the absolute values; 0 only for two zeros.
#[must_use]
pub fn gcd(a: i128, b: i128) -> i128 {
    let (mut a, mut b) = (a.unsigned_abs(), b.unsigned_abs());
    while b != 0 {
        (a, b) = (b, a % b);
    }
    i128::try_from(a).unwrap_or(i128::MAX)
}

/// `n / d` rounded up for `d > 0`; `None` for any other divisor.
///
/// ```
/// # use rillcast::compute::exact::ceil_div;
/// assert_eq!(ceil_div(9, 3), Some(3)); // an exact multiple gains nothing
/// assert_eq!(ceil_div(10, 3), Some(4));
/// ```
#[must_use]
pub fn ceil_div(n: i128, d: i128) -> Option<i128> {
    // Most quotients fit 64 bits, where the machine divides many times faster.
    if let (Ok(n), Ok(d)) = (i64::try_from(n), i64::try_from(d)) {
        return (d > 0).then(|| i128::from(n.div_euclid(d)) + i128::from(n.rem_euclid(d) != 0));
    }
    (d > 0).then(|| n.div_euclid(d) + i128::from(n.rem_euclid(d) != 0))
}

/// Millionths of the currency unit, rounded half up; `None` beyond about 9 million million units.
#[must_use]
pub fn micros(amount: Decimal) -> Option<i64> {
    i64::try_from(in_parts(amount, 6)?).ok()
}

/// The amount of so many millionths.
#[must_use]
pub fn from_micros(m: i128) -> Decimal {
    trimmed(m, 6).unwrap_or(Decimal::MAX)
}

/// Rounded half up (away from zero) to the minor unit of a currency with so many decimals.
///
/// ```
/// # use rillcast::compute::exact::to_minor;
/// # use rust_decimal::Decimal;
/// assert_eq!(to_minor(Decimal::new(2_345, 3), 2), Decimal::new(235, 2)); // 2.345 -> 2.35
/// ```
#[must_use]
pub fn to_minor(amount: Decimal, digits: u32) -> Decimal {
    if amount.scale() <= digits {
        return amount;
    }
    in_parts(amount, digits).map_or(amount, |minor| Decimal::from_i128_with_scale(minor, digits))
}

/// `a * b`, or the largest amount when that does not fit; callers bound their inputs so that it does.
#[must_use]
pub fn times(a: Decimal, b: Decimal) -> Decimal {
    a.checked_mul(b).unwrap_or(Decimal::MAX)
}

/// `a + b`, or the largest amount when that does not fit.
#[must_use]
pub fn plus(a: Decimal, b: Decimal) -> Decimal {
    a.checked_add(b).unwrap_or(Decimal::MAX)
}
