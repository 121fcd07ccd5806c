//! Decimals as people read them: rounded for showing, without trailing zeros.
//!
//! An answer shows hundreds of numbers; those that fit 64 bits, which is nearly all, are rounded and trimmed as whole numbers.

use super::exact::div_round;
use super::quantity::Figure;
use rust_decimal::{Decimal, RoundingStrategy};
use std::borrow::Cow;
use std::fmt;

/// The decimal `mantissa / 10^scale` without trailing zeros; `None` beyond what a decimal holds.
///
/// ```
/// use rillcast::units::decimal::trimmed;
/// assert_eq!(trimmed(2_500, 3).unwrap().to_string(), "2.5");
/// assert_eq!(trimmed(0, 6).unwrap().to_string(), "0");
/// assert!(trimmed(i128::MAX, 0).is_none());
/// ```
pub fn trimmed(mantissa: i128, scale: u32) -> Option<Decimal> {
    match i64::try_from(mantissa) {
        Ok(small) if scale <= 18 => {
            let (small, scale) = trim(small, scale);
            Some(Decimal::new(small, scale))
        }
        _ => Decimal::try_from_i128_with_scale(mantissa, scale).ok().map(|d| d.normalize()),
    }
}

pub(crate) fn trim(mut mantissa: i64, mut scale: u32) -> (i64, u32) {
    if mantissa == 0 {
        return (0, 0);
    }
    while scale > 0 && mantissa % 10 == 0 {
        mantissa /= 10;
        scale -= 1;
    }
    (mantissa, scale)
}

/// The one rounding of decimals in all that is reckoned: half away from zero, to `places` after the point.
///
/// ```
/// use rillcast::units::decimal::rounded;
/// use rust_decimal::Decimal;
/// // Half to even, as the library rounds when it is not told, gives 0.2 and 0.
/// assert_eq!(rounded(Decimal::new(25, 2), 1), Decimal::new(3, 1));
/// assert_eq!(rounded(Decimal::new(-5, 1), 0), Decimal::NEGATIVE_ONE);
/// assert_eq!(rounded(Decimal::new(700, 2), 6), Decimal::new(7, 0));
/// ```
pub fn rounded(value: Decimal, places: u32) -> Decimal {
    value.round_dp_with_strategy(places, RoundingStrategy::MidpointAwayFromZero)
}

/// A decimal in whole parts of `1 / 10^digits`, rounded half away from zero; `None` beyond 128 bits.
///
/// ```
/// use rillcast::units::decimal::in_parts;
/// use rust_decimal::Decimal;
/// assert_eq!(in_parts(Decimal::new(2_345, 3), 2), Some(235));
/// assert_eq!(in_parts(Decimal::new(-2_345, 3), 2), Some(-235));
/// assert_eq!(in_parts(Decimal::new(7, 0), 6), Some(7_000_000));
/// ```
pub fn in_parts(value: Decimal, digits: u32) -> Option<i128> {
    let (mantissa, scale) = (value.mantissa(), value.scale());
    match scale.checked_sub(digits) {
        Some(0) => Some(mantissa),
        Some(more) => Some(div_round(mantissa, 10_i128.checked_pow(more)?)),
        None => shifted(mantissa, digits - scale),
    }
}

/// `number x 10^places`; `None` beyond 128 bits.
pub(crate) fn shifted(number: i128, places: u32) -> Option<i128> {
    // Most numbers fit 64 bits, where the machine multiplies faster.
    let small = i64::try_from(number).ok().zip(10_i64.checked_pow(places));
    match small.and_then(|(number, power)| number.checked_mul(power)) {
        Some(product) => Some(i128::from(product)),
        None => number.checked_mul(10_i128.checked_pow(places)?),
    }
}

/// A decimal to be printed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Plain {
    /// Fits 64 bits.
    Small(i64, u32),
    /// Does not.
    Large(Decimal),
}

impl Plain {
    /// It alone, without the formatter; mostly it need not be written, see [`Figure`].
    pub(crate) fn text(self) -> Cow<'static, str> {
        match self {
            Plain::Small(mantissa, scale) => Figure::of(mantissa, scale).text(),
            Plain::Large(decimal) => Cow::Owned(decimal.to_string()),
        }
    }

    /// Writes it behind a text, without the formatter.
    pub(crate) fn put(self, text: &mut String) {
        match self {
            Plain::Small(mantissa, scale) => text.push_str(Figure::of(mantissa, scale).as_str()),
            Plain::Large(decimal) => text.push_str(&decimal.to_string()),
        }
    }
}

/// A decimal rounded half away from zero to `places` for showing, without trailing zeros.
///
/// ```
/// use rillcast::units::decimal::plain;
/// use rust_decimal::Decimal;
/// assert_eq!(plain(Decimal::new(12_3450, 4), 2).to_string(), "12.35");
/// assert_eq!(plain(Decimal::new(12_3550, 4), 2).to_string(), "12.36");
/// assert_eq!(plain(Decimal::new(-5, 1), 0).to_string(), "-1");
/// assert_eq!(plain(Decimal::new(-15, 1), 0).to_string(), "-2");
/// assert_eq!(plain(Decimal::new(700, 2), 3).to_string(), "7");
/// assert_eq!(plain(Decimal::MAX, 3), rillcast::units::decimal::Plain::Large(Decimal::MAX));
/// ```
pub fn plain(value: Decimal, places: u32) -> Plain {
    let scale = value.scale();
    match i64::try_from(value.mantissa()) {
        Ok(mantissa) if scale <= 18 => {
            let (mantissa, scale) = if scale > places {
                (half_away(mantissa, 10_i64.pow(scale - places)), places)
            } else {
                (mantissa, scale)
            };
            let (mantissa, scale) = trim(mantissa, scale);
            Plain::Small(mantissa, scale)
        }
        _ => {
            let rounded = rounded(value, places).normalize();
            match i64::try_from(rounded.mantissa()) {
                Ok(mantissa) if rounded.scale() <= 18 => Plain::Small(mantissa, rounded.scale()),
                _ => Plain::Large(rounded),
            }
        }
    }
}

/// A decimal as it stands, its trailing zeros kept.
///
/// ```
/// use rillcast::units::decimal::kept;
/// use rust_decimal::Decimal;
/// assert_eq!(kept(Decimal::new(12_50, 2)).to_string(), "12.50");
/// assert_eq!(kept(Decimal::new(-5, 3)).to_string(), "-0.005");
/// ```
pub fn kept(value: Decimal) -> Plain {
    match i64::try_from(value.mantissa()) {
        Ok(mantissa) if value.scale() <= 18 => Plain::Small(mantissa, value.scale()),
        _ => Plain::Large(value),
    }
}

/// A decimal without trailing zeros, unrounded.
pub fn whole(value: Decimal) -> Plain {
    plain(value, Decimal::MAX_SCALE)
}

const fn half_away(n: i64, d: i64) -> i64 {
    let (q, r) = (n / d, n % d);
    if r.unsigned_abs() >= d.unsigned_abs() - r.unsigned_abs() { q + n.signum() } else { q }
}

impl fmt::Display for Plain {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Plain::Small(mantissa, scale) => f.write_str(Figure::of(*mantissa, *scale).as_str()),
            Plain::Large(decimal) => decimal.fmt(f),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn shows_what_the_decimal_library_shows(mantissa in any::<i64>(), shift in 0_u32..63, scale in 0_u32..28, places in 0_u32..8) {
            let value = Decimal::new(mantissa >> shift, scale);
            let expected = rounded(value, places).normalize().to_string();
            let expected = if expected == "-0" { "0".to_owned() } else { expected };
            prop_assert_eq!(plain(value, places).to_string(), expected);
        }
    }
}
