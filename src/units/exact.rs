//! Lengths are whole nanometres, so that inches, their 64ths and millimetres are all exact.
//!
//! 1/64 in is 396 875 nm, 1 ft is 304 800 000 nm (NIST SP 811 (2008), appendix B: 1 in = 25.4 mm exactly).
//! Areas and volumes are exact products held in 128 bits: the largest job the API accepts stays far below overflow
//! because every length that enters is bounded by [`Length::LONGEST`].

use std::iter::Sum;
use std::ops::{Add, AddAssign, Mul, Neg, Sub};

/// A length, exact to the nanometre. May be negative as a difference or a level.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Length(i64);

/// An area: an exact product of two lengths, in square nanometres.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Area(i128);

/// A volume: an exact product of three lengths, in cubic nanometres.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Volume(i128);

impl Length {
    /// No length.
    pub const ZERO: Length = Length(0);
    /// One inch.
    pub const INCH: Length = Length(25_400_000);
    /// One foot.
    pub const FOOT: Length = Length(304_800_000);
    /// One millimetre.
    pub const MILLIMETRE: Length = Length(1_000_000);
    /// One metre.
    pub const METRE: Length = Length(1_000_000_000);
    /// The longest length the API accepts: 3 km. A site drain is far shorter; products of three stay within 128 bits.
    pub const LONGEST: Length = Length(3_000_000_000_000);

    /// A length of whole nanometres.
    pub const fn from_nm(nm: i64) -> Self {
        Length(nm)
    }

    /// Whole nanometres.
    pub const fn nm(self) -> i64 {
        self.0
    }

    /// A fraction of an inch.
    ///
    /// ```
    /// use rillcast::units::Length;
    /// assert_eq!(Length::inches(1, 64).nm(), 396_875);
    /// ```
    pub const fn inches(numerator: i64, denominator: i64) -> Self {
        Length(Self::INCH.0 * numerator / denominator)
    }

    /// Whole feet.
    pub const fn feet(feet: i64) -> Self {
        Length(Self::FOOT.0 * feet)
    }

    /// Whole millimetres.
    pub const fn millimetres(mm: i64) -> Self {
        Length(Self::MILLIMETRE.0 * mm)
    }

    /// Metres as a binary number, for the hydraulic computations.
    pub fn metres_f64(self) -> f64 {
        self.0 as f64 / 1e9
    }

    /// The nearest nanometre to a computed length in metres; `None` when not finite or too long.
    pub fn from_metres_f64(metres: f64) -> Option<Self> {
        let nm = metres * 1e9;
        (nm.is_finite() && nm.abs() <= Self::LONGEST.0 as f64).then(|| Length(nm.round() as i64))
    }

    /// The size without its sign.
    pub const fn abs(self) -> Self {
        Length(self.0.abs())
    }

    /// Whether longer than nothing.
    pub const fn is_positive(self) -> bool {
        self.0 > 0
    }

    /// How many whole `step`s are needed to cover this length.
    ///
    /// ```
    /// use rillcast::units::Length;
    /// assert_eq!(Length::feet(8).steps_up(Length::feet(4)), 2);
    /// assert_eq!(Length::from_nm(Length::feet(8).nm() + 1).steps_up(Length::feet(4)), 3);
    /// ```
    pub const fn steps_up(self, step: Length) -> i64 {
        if self.0 <= 0 || step.0 <= 0 { 0 } else { (self.0 - 1) / step.0 + 1 }
    }

    /// Half of it, to the nanometre towards zero.
    pub const fn half(self) -> Self {
        Length(self.0 / 2)
    }

    /// The share `numerator / denominator` of it, to the nearest nanometre. A denominator of zero gives zero.
    pub fn share(self, numerator: i64, denominator: i64) -> Self {
        if denominator == 0 {
            return Length::ZERO;
        }
        let product = i128::from(self.0) * i128::from(numerator);
        Length(div_round(product, i128::from(denominator)) as i64)
    }
}

/// Quotient rounded half away from zero.
pub(crate) const fn div_round(numerator: i128, denominator: i128) -> i128 {
    // Most quotients fit 64 bits, where the machine divides many times faster.
    const MOST: i128 = (i64::MAX / 2) as i128;
    if denominator > 0 && denominator < MOST && numerator > -MOST && numerator < MOST {
        let (n, d) = (numerator as i64, denominator as i64);
        let (q, r) = (n / d, n % d);
        let rounded = if r.abs() >= d - r.abs() { if n < 0 { q - 1 } else { q + 1 } } else { q };
        return rounded as i128;
    }
    let (n, d) = if denominator < 0 { (-numerator, -denominator) } else { (numerator, denominator) };
    let q = n / d;
    let r = n - q * d;
    if r.abs() >= d - r.abs() { if n < 0 { q - 1 } else { q + 1 } } else { q }
}

impl Area {
    /// No area.
    pub const ZERO: Area = Area(0);

    /// An area of whole square nanometres.
    pub const fn from_nm2(nm2: i128) -> Self {
        Area(nm2)
    }

    /// Whole square nanometres.
    pub const fn nm2(self) -> i128 {
        self.0
    }

    /// Square metres as a binary number.
    pub fn square_metres_f64(self) -> f64 {
        self.0 as f64 / 1e18
    }

    /// Half of it.
    pub const fn half(self) -> Self {
        Area(self.0 / 2)
    }
}

impl Volume {
    /// No volume.
    pub const ZERO: Volume = Volume(0);
    /// The largest volume the API accepts: 100,000 m³.
    pub const LARGEST: Volume = Volume(100_000 * CUBIC_METRE);

    /// A volume of whole cubic nanometres.
    pub const fn from_nm3(nm3: i128) -> Self {
        Volume(nm3)
    }

    /// Whole cubic nanometres.
    pub const fn nm3(self) -> i128 {
        self.0
    }

    /// Half of it, to the cubic nanometre towards zero.
    pub const fn half(self) -> Self {
        Volume(self.0 / 2)
    }

    /// Cubic metres as a binary number.
    pub fn cubic_metres_f64(self) -> f64 {
        self.0 as f64 / 1e27
    }

    /// The nearest cubic nanometre to a computed volume, of either sign; what is larger than [`Volume::LARGEST`] is as large, and what
    /// is no number is nothing.
    pub fn from_cubic_metres_f64(m3: f64) -> Self {
        let nearest = (m3 * 1e27).round() as i128;
        Volume(nearest.clamp(-Self::LARGEST.0, Self::LARGEST.0))
    }

    /// The larger of this and nothing.
    pub fn at_least_zero(self) -> Self {
        Volume(self.0.max(0))
    }
}

/// One cubic metre in cubic nanometres.
pub const CUBIC_METRE: i128 = 1_000_000_000_000_000_000_000_000_000;

impl Add for Length {
    type Output = Length;
    fn add(self, other: Length) -> Length {
        Length(self.0.saturating_add(other.0))
    }
}
impl AddAssign for Length {
    fn add_assign(&mut self, other: Length) {
        *self = *self + other;
    }
}
impl Sub for Length {
    type Output = Length;
    fn sub(self, other: Length) -> Length {
        Length(self.0.saturating_sub(other.0))
    }
}
impl Neg for Length {
    type Output = Length;
    fn neg(self) -> Length {
        Length(-self.0)
    }
}
impl Mul<i64> for Length {
    type Output = Length;
    fn mul(self, times: i64) -> Length {
        Length(self.0.saturating_mul(times))
    }
}
impl Mul for Length {
    type Output = Area;
    fn mul(self, other: Length) -> Area {
        Area(i128::from(self.0) * i128::from(other.0))
    }
}
impl Mul<Length> for Area {
    type Output = Volume;
    fn mul(self, depth: Length) -> Volume {
        Volume(self.0.saturating_mul(i128::from(depth.0)))
    }
}
impl Mul<i64> for Volume {
    type Output = Volume;
    fn mul(self, times: i64) -> Volume {
        Volume(self.0.saturating_mul(i128::from(times)))
    }
}
macro_rules! sums {
    ($($t:ident),+) => { $(
        impl Sum for $t {
            fn sum<I: Iterator<Item = $t>>(parts: I) -> $t { parts.fold($t::ZERO, |a, b| a + b) }
        }
    )+ };
}
sums!(Length, Area, Volume);
macro_rules! wide {
    ($($t:ident),+) => { $(
        impl Add for $t {
            type Output = $t;
            fn add(self, other: $t) -> $t { $t(self.0.saturating_add(other.0)) }
        }
        impl AddAssign for $t {
            fn add_assign(&mut self, other: $t) { *self = *self + other; }
        }
        impl Sub for $t {
            type Output = $t;
            fn sub(self, other: $t) -> $t { $t(self.0.saturating_sub(other.0)) }
        }
    )+ };
}
wide!(Area, Volume);

/// A length cannot be added to an area.
///
/// ```compile_fail
/// use rillcast::units::Length;
/// let _ = Length::FOOT + Length::FOOT * Length::FOOT;
/// ```
#[allow(dead_code, reason = "carries the compile_fail example above")]
struct DimensionsDoNotMix;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn division_rounds_half_away_from_zero() {
        assert_eq!(div_round(5, 2), 3);
        assert_eq!(div_round(-5, 2), -3);
        assert_eq!(div_round(4, 3), 1);
        assert_eq!(div_round(-4, 3), -1);
        assert_eq!(div_round(5, 3), 2);
    }

    #[test]
    fn a_computed_volume_is_the_nearest_that_is_exact() {
        let nm3 = |m3: f64| Volume::from_cubic_metres_f64(m3).nm3();
        assert_eq!([1.6e-27, -1.6e-27, 1.4e-27].map(nm3), [2, -2, 1]);
        // as near as a binary number comes
        assert!((nm3(2.0) - 2 * CUBIC_METRE).abs() < CUBIC_METRE / 1_000_000_000_000_000);
        let most = Volume::LARGEST.nm3();
        assert_eq!([1e5, 1.1e5, 2e6, f64::INFINITY, -2e6].map(nm3), [most, most, most, most, -most]);
        assert_eq!(nm3(f64::NAN), 0);
    }

    #[test]
    fn a_yard_cube_is_twenty_seven_cubic_feet() {
        let yard = Length::feet(3);
        let foot = Length::FOOT;
        assert_eq!(yard * yard * yard, foot * foot * foot * 27);
    }
}
