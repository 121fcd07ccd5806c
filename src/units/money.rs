//! Money: currencies, amounts, unit prices, and every rounding of money by name.
//!
//! Amounts are decimal and always carry exactly the minor digits of their currency. Whatever becomes an amount does so by
//! one of these and no other way:
//!
//! | rounding | of what |
//! |---|---|
//! | [`Amount::line`] | a quantity times a price, a share: half away from zero, once per line |
//! | [`tax_rounding`] | a tax: third decimal, SSUTA sec. 324 |
//! | [`share_out`] | a whole into parts: largest remainder, so that parts always foot |
//! | [`Amount::up_to`], [`Amount::nearest`] | the quoted figure to the step of the markup scheme |
//! | [`Amount::simulated`] | what a simulation in `f64` comes to; no paper has it |
//!
//! A price that is worked out is rounded by [`Price::rounded`], every other decimal by [`rounded`](super::decimal::rounded).

use super::exact::div_round;
use super::quantity::Figure;
use super::slips::Counts;
use crate::wire::Value;
use crate::wire::{At, Extreme, Faults, Wire};
use crate::wire_enum;
use rust_decimal::Decimal;
use serde::{Serialize, Serializer};
use smallvec::SmallVec;
use std::iter::Sum;
use std::ops::{Add, AddAssign, Neg, Sub};
use utoipa::openapi::schema::{ObjectBuilder, Type};
use utoipa::openapi::{RefOr, Schema};
use utoipa::{PartialSchema, ToSchema};

wire_enum! {
    /// The currency of a price book, ISO 4217.
    pub enum Currency {
        /// US dollar
        Usd = "USD",
        /// Canadian dollar
        Cad = "CAD",
        /// euro
        Eur = "EUR",
        /// pound sterling
        Gbp = "GBP",
        /// Australian dollar
        Aud = "AUD",
        /// New Zealand dollar
        Nzd = "NZD",
        /// Swiss franc
        Chf = "CHF",
        /// Mexican peso
        Mxn = "MXN",
    }
}

/// Digits after the point of every currency offered (ISO 4217: all of them have 2).
pub const MINOR_DIGITS: u32 = 2;

/// A sum of money with two decimals.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Amount(i64);

/// A price per unit with up to six decimals. JSON: a decimal string such as `"3.27"`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Price(i64);

impl Amount {
    /// No money.
    pub const ZERO: Amount = Amount(0);

    /// The greatest that is written: twelve digits before the point. Sums beyond it are refused before they are kept.
    pub const MOST: Amount = Amount(99_999_999_999_999);

    /// An amount in minor units (cents).
    pub const fn from_minor(minor: i64) -> Self {
        Amount(minor)
    }

    /// Minor units.
    pub const fn minor(self) -> i64 {
        self.0
    }

    /// The amount as a decimal with two places.
    pub fn decimal(self) -> Decimal {
        Decimal::new(self.0, MINOR_DIGITS)
    }

    /// The rounding of a line: quantity times price, once, half away from zero to the minor unit.
    ///
    /// # Source
    /// EN 16931 BR-DEC and the calculation of BT-131 as restated in its rules (from memory): half up on the absolute value.
    ///
    /// # Example
    /// ```
    /// use rillcast::units::Amount;
    /// use rust_decimal::Decimal;
    /// // 137.5 ft at 3.27 is 449.625: binary floating point and half-even give 449.62.
    /// assert_eq!(Amount::line(Decimal::new(449_625, 3)).to_string(), "449.63");
    /// assert_eq!(Amount::line(Decimal::new(-449_625, 3)).to_string(), "-449.63");
    /// ```
    pub fn line(exact: Decimal) -> Amount {
        let scale = exact.scale();
        if scale < MINOR_DIGITS {
            return Self::from_two_places(exact);
        }
        let cents = div_round(exact.mantissa(), 10_i128.pow(scale - MINOR_DIGITS));
        Amount(i64::try_from(cents).unwrap_or(i64::MAX / 4))
    }

    fn from_two_places(rounded: Decimal) -> Amount {
        let mut value = rounded;
        value.rescale(MINOR_DIGITS);
        Amount(i64::try_from(value.mantissa()).unwrap_or(i64::MAX / 4))
    }

    /// Rounded up to a whole multiple of `step`, as a quoted figure may be; a step of nothing changes nothing.
    pub fn up_to(self, step: Amount) -> Amount {
        if step.0 <= 0 {
            return self;
        }
        Amount(self.0.div_euclid(step.0) * step.0 + if self.0.rem_euclid(step.0) == 0 { 0 } else { step.0 })
    }

    /// Rounded to the nearest whole multiple of `step`, half up.
    pub fn nearest(self, step: Amount) -> Amount {
        if step.0 <= 0 {
            return self;
        }
        Amount((self.0 + step.0 / 2).div_euclid(step.0) * step.0)
    }

    /// What a simulation comes to, to the nearest minor unit, half away from zero; what is no number is nothing.
    ///
    /// ```
    /// use rillcast::units::Amount;
    /// assert_eq!(Amount::simulated(1234.565_000_1), Amount::from_minor(123_457));
    /// assert_eq!(Amount::simulated(f64::NAN), Amount::ZERO);
    /// ```
    pub fn simulated(value: f64) -> Amount {
        Amount((value * 100.0).round() as i64)
    }
}

impl Price {
    /// The greatest that is read, in millionths: nine digits before the point.
    pub(crate) const MOST: i64 = 999_999_999_999_999;

    /// A price in millionths of the currency unit.
    pub const fn from_millionths(millionths: i64) -> Self {
        Price(millionths)
    }

    /// The rounding of a price that was worked out: to the millionth, half away from zero.
    ///
    /// ```
    /// use rillcast::units::Price;
    /// use rust_decimal::Decimal;
    /// assert_eq!(Price::rounded(Decimal::new(1_234_567_5, 7)), Price::from_millionths(1_234_568));
    /// ```
    pub fn rounded(exact: Decimal) -> Price {
        let millionths = super::decimal::in_parts(exact, 6).and_then(|m| i64::try_from(m).ok());
        Price(millionths.unwrap_or(i64::MAX))
    }

    /// The price as a decimal.
    pub fn decimal(self) -> Decimal {
        Decimal::new(self.0, 6)
    }

    /// Price times a quantity, as one rounded line.
    pub fn times(self, quantity: Decimal) -> Amount {
        Amount::line(self.decimal().checked_mul(quantity).unwrap_or(Decimal::MAX))
    }
}

/// Sales tax to the cent: carried to the third decimal by cutting, then up when that digit is above 4.
///
/// # Formula
/// `t3 = trunc(base x rate, 3)`; the tax is `t3` rounded so that a third decimal of 5 or more goes up.
/// # Units
/// currency
/// # Valid for
/// taxable amounts of either sign; a credit mirrors the charge
/// # Source
/// Streamlined Sales and Use Tax Agreement sec. 324 (read as R.I. Gen. Laws 44-18.1-25)
/// # Example
/// ```
/// use rillcast::units::money::tax_rounding;
/// use rust_decimal::Decimal;
/// assert_eq!(tax_rounding(Decimal::new(12_349, 4)).to_string(), "1.23"); // 1.2349
/// assert_eq!(tax_rounding(Decimal::new(1_235, 3)).to_string(), "1.24"); // 1.235
/// assert_eq!(tax_rounding(Decimal::new(499, 5)).to_string(), "0.00"); // 0.00499
/// ```
pub fn tax_rounding(exact: Decimal) -> Amount {
    Amount::line(exact.trunc_with_scale(3))
}

/// Shares a total out in proportion to weights by the largest remainder; ties go to the earlier part. The parts foot.
///
/// # Formula
/// `floor(total x w / sum w)` minor units each, the units left over one each to the largest remainders.
/// # Units
/// minor units of the currency
/// # Valid for
/// non-negative weights; all zero shares to the first part
/// # Source
/// largest-remainder (Hamilton) method of apportionment (from memory)
/// # Example
/// ```
/// use rillcast::units::{Amount, money::share_out};
/// let parts = share_out(Amount::from_minor(10_000), &[1, 1, 1]);
/// assert_eq!(parts.iter().map(ToString::to_string).collect::<Vec<_>>(), ["33.34", "33.33", "33.33"]);
/// ```
pub fn share_out(total: Amount, weights: &[i64]) -> Vec<Amount> {
    share_out_whole(total.0, weights).into_iter().map(Amount).collect()
}

/// The same for whole numbers of anything, such as minutes.
pub fn share_out_whole(total: i64, weights: &[i64]) -> Vec<i64> {
    let sum: i128 = weights.iter().map(|w| i128::from((*w).max(0))).sum();
    if sum == 0 {
        return weights.iter().enumerate().map(|(i, _)| if i == 0 { total } else { 0 }).collect();
    }
    let sign = total.signum();
    let size = i128::from(total.abs());
    let mut parts: SmallVec<[(i128, i128); 4]> = weights
        .iter()
        .map(|w| {
            let exact = size * i128::from((*w).max(0));
            (exact / sum, exact % sum)
        })
        .collect();
    let left = (size - parts.iter().map(|p| p.0).sum::<i128>()) as usize;
    let mut order: SmallVec<[usize; 4]> = (0..parts.len()).collect();
    order.sort_by(|a, b| parts[*b].1.cmp(&parts[*a].1).then(a.cmp(b)));
    for index in order.into_iter().take(left) {
        parts[index].0 += 1;
    }
    parts.into_iter().map(|(part, _)| part as i64 * sign).collect()
}

impl Amount {
    /// Writes it behind a text, without the formatter.
    pub(crate) fn put(self, text: &mut String) {
        text.push_str(self.figure().as_str());
    }

    fn figure(self) -> Figure {
        Figure::of(self.0, MINOR_DIGITS)
    }
}

impl Price {
    /// Writes it behind a text, without the formatter.
    pub(crate) fn put(self, text: &mut String) {
        text.push_str(self.figure().as_str());
    }

    fn figure(self) -> Figure {
        // At least two decimals, no needless zeros beyond them.
        let (mut mantissa, mut places) = (self.0, 6);
        while places > MINOR_DIGITS && mantissa % 10 == 0 {
            mantissa /= 10;
            places -= 1;
        }
        Figure::of(mantissa, places)
    }
}

impl std::fmt::Display for Amount {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self.figure().as_str())
    }
}
impl std::fmt::Display for Price {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self.figure().as_str())
    }
}
impl Serialize for Amount {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        s.serialize_str(self.figure().as_str())
    }
}
impl Serialize for Price {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        s.serialize_str(self.figure().as_str())
    }
}
impl Add for Amount {
    type Output = Amount;
    fn add(self, other: Amount) -> Amount {
        Amount(self.0.saturating_add(other.0))
    }
}
impl AddAssign for Amount {
    fn add_assign(&mut self, other: Amount) {
        *self = *self + other;
    }
}
impl Sub for Amount {
    type Output = Amount;
    fn sub(self, other: Amount) -> Amount {
        Amount(self.0.saturating_sub(other.0))
    }
}
impl Neg for Amount {
    type Output = Amount;
    fn neg(self) -> Amount {
        Amount(-self.0)
    }
}
impl Sum for Amount {
    fn sum<I: Iterator<Item = Amount>>(parts: I) -> Amount {
        parts.fold(Amount::ZERO, |a, b| a + b)
    }
}

macro_rules! money_wire {
    ($name:ident, $places:expr, $most:expr, $rule:ident, $pattern:literal, as $example:literal, sent as $sent:ident) => {
        impl PartialSchema for $name {
            fn schema() -> RefOr<Schema> {
                money_schema($rule, $pattern, $example)
            }
        }
        impl ToSchema for $name {
            fn name() -> std::borrow::Cow<'static, str> {
                stringify!($name).into()
            }
        }
        impl Wire for $name {
            fn read(value: &Value<'_>, at: &At<'_>, faults: &mut Faults) -> Option<Self> {
                super::decimal_text::read_decimal(value, ($places, $most), Counts::Other, $rule, at, faults)
                    .map(Self)
            }
            fn stand_in(extreme: Extreme) -> Option<Self> {
                Some(Self(extreme.of(0, $most)))
            }
            fn member_schema() -> RefOr<Schema> {
                crate::wire::read::reference_to::<$sent>()
            }
            fn register(into: &mut Vec<(String, RefOr<Schema>)>) {
                crate::wire::read::register_named::<$sent>(into);
            }
        }
    };
}

fn money_schema(rule: &'static str, pattern: &'static str, example: &'static str) -> RefOr<Schema> {
    ObjectBuilder::new()
        .schema_type(Type::String)
        .description(Some(rule))
        .pattern(Some(pattern))
        .max_length(Some(24))
        .examples([serde_json::json!(example)])
        .into()
}

/// An amount as requests carry it, never below nothing, in the document.
struct AmountInput;

impl PartialSchema for AmountInput {
    fn schema() -> RefOr<Schema> {
        money_schema(AMOUNT_RULE, r"^[0-9]{1,12}(\.[0-9]{1,2})?$", "1250.00")
    }
}

impl ToSchema for AmountInput {
    fn name() -> std::borrow::Cow<'static, str> {
        "AmountInput".into()
    }
}

const AMOUNT_RULE: &str =
    "an amount of money as a decimal string with at most two decimals, for example \"1184.37\"";
const PRICE_RULE: &str =
    "a price per unit as a decimal string with at most six decimals, for example \"3.27\"";

money_wire!(
    Amount,
    MINOR_DIGITS,
    Amount::MOST.0,
    AMOUNT_RULE,
    r"^-?[0-9]{1,12}(\.[0-9]{1,2})?$",
    as "1250.00",
    sent as AmountInput
);
money_wire!(
    Price,
    6,
    Price::MOST,
    PRICE_RULE,
    r"^[0-9]{1,9}(\.[0-9]{1,6})?$",
    as "12.50",
    sent as Price
);
