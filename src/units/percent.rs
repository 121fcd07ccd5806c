//! Percentages and factors, exact to a millionth.

use super::decimal::{trim, whole};
use super::decimal_text::{read_decimal, read_signed_decimal};
use super::quantity::Figure;
use super::slips::Counts;
use crate::units::exact::{Volume, div_round};
use crate::wire::{At, Extreme, Faults, Value, Wire};
use rust_decimal::Decimal;
use serde::{Serialize, Serializer};
use std::fmt;
use utoipa::openapi::schema::{ObjectBuilder, Type};
use utoipa::openapi::{RefOr, Schema};
use utoipa::{PartialSchema, ToSchema};

const MILLION: i64 = 1_000_000;

/// A share of a hundred with up to four decimals. JSON: a decimal string such as `"8.25"`, in requests from 0 to 1000; what is
/// summed up or lies between two levels may be more.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Percent(i64);

/// A multiplier from 0 to 1000 with up to six decimals. JSON: a decimal string such as `"1.25"`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Factor(i64);

impl Percent {
    /// Nothing.
    pub const ZERO: Percent = Percent(0);

    /// A percentage in millionths of the whole: 8.25 % is 82 500.
    pub const fn from_millionths(millionths: i64) -> Self {
        Percent(millionths)
    }

    /// Whole percent.
    pub const fn whole(percent: i64) -> Self {
        Percent(percent * 10_000)
    }

    /// Millionths of the whole.
    pub const fn millionths(self) -> i64 {
        self.0
    }

    /// The share as a decimal: 8.25 % is 0.0825.
    pub fn share(self) -> Decimal {
        Decimal::new(self.0, 6)
    }

    /// The number before the percent sign.
    pub fn number(self) -> Decimal {
        decimal(self.0, 4)
    }

    /// `1 + p`, the factor of a markup or an allowance.
    pub const fn on_top(self) -> Factor {
        Factor::from_millionths(MILLION.saturating_add(self.0))
    }
}

impl Factor {
    /// Nothing.
    pub const ZERO: Factor = Factor(0);

    /// One: changes nothing.
    pub const ONE: Factor = Factor(MILLION);

    /// The greatest.
    pub const MOST: Factor = Factor(1000 * MILLION);

    /// A factor in millionths; one out of range is the nearest within it.
    pub const fn from_millionths(millionths: i64) -> Self {
        if millionths < 0 {
            Factor(0)
        } else if millionths > Self::MOST.0 {
            Self::MOST
        } else {
            Factor(millionths)
        }
    }

    /// Millionths.
    pub const fn millionths(self) -> i64 {
        self.0
    }

    /// Whether it is nothing.
    pub const fn is_zero(self) -> bool {
        self.0 == 0
    }

    /// The factor as a decimal.
    pub fn number(self) -> Decimal {
        decimal(self.0, 6)
    }

    /// A volume times this factor, to the nearest cubic nanometre.
    pub fn of(self, volume: Volume) -> Volume {
        let (num, den) = self.reduced();
        Volume::from_nm3(div_round(volume.nm3().saturating_mul(num), den))
    }

    /// A volume divided by this factor, to the nearest cubic nanometre; a factor of zero gives zero.
    pub fn undo(self, volume: Volume) -> Volume {
        let (num, den) = self.reduced();
        if num == 0 {
            return Volume::ZERO;
        }
        Volume::from_nm3(div_round(volume.nm3().saturating_mul(den), num))
    }

    /// Numerator and denominator in lowest terms.
    pub fn reduced(self) -> (i128, i128) {
        let divisor = gcd(self.0.unsigned_abs(), MILLION.unsigned_abs()).max(1);
        (i128::from(self.0) / i128::from(divisor), i128::from(MILLION) / i128::from(divisor))
    }
}

/// `mantissa / 10^scale` without trailing zeros.
fn decimal(mantissa: i64, scale: u32) -> Decimal {
    let (mantissa, scale) = trim(mantissa, scale);
    Decimal::new(mantissa, scale)
}

/// Greatest common divisor.
pub(crate) const fn gcd(mut a: u64, mut b: u64) -> u64 {
    while b != 0 {
        (a, b) = (b, a % b);
    }
    a
}

impl std::fmt::Display for Percent {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let (mantissa, places) = trim(self.0, 4);
        f.write_str(Figure::of(mantissa, places).as_str())?;
        f.write_str(" %")
    }
}

impl std::fmt::Display for Factor {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let (mantissa, places) = trim(self.0, 6);
        f.write_str(Figure::of(mantissa, places).as_str())
    }
}

macro_rules! decimal_wire {
    ($name:ident, $counts:expr, $places:literal, $most:expr, $pattern:literal, as $example:literal, $rule:literal) => {
        impl Serialize for $name {
            fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
                s.collect_str(&self.number())
            }
        }
        impl PartialSchema for $name {
            fn schema() -> RefOr<Schema> {
                ObjectBuilder::new()
                    .schema_type(Type::String)
                    .description(Some($rule))
                    .pattern(Some($pattern))
                    .max_length(Some(20))
                    .examples([serde_json::json!($example)])
                    .into()
            }
        }
        impl ToSchema for $name {
            fn name() -> std::borrow::Cow<'static, str> {
                stringify!($name).into()
            }
        }
        impl Wire for $name {
            fn read(value: &Value<'_>, at: &At<'_>, faults: &mut Faults) -> Option<Self> {
                read_decimal(value, ($places, $most), $counts, $rule, at, faults).map(Self)
            }
            fn stand_in(extreme: Extreme) -> Option<Self> {
                Some(Self(extreme.of(0, $most)))
            }
            fn member_schema() -> RefOr<Schema> {
                crate::wire::read::reference_to::<Self>()
            }
            fn register(into: &mut Vec<(String, RefOr<Schema>)>) {
                crate::wire::read::register_named::<Self>(into);
            }
        }
    };
}

/// A constant of a formula, from 0 to 1,000,000 with up to six decimals. JSON: a decimal string such as `"1262.9"`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Constant(i64);

impl Constant {
    /// The nearest constant to a number; `None` out of range.
    pub fn nearest(value: f64) -> Option<Self> {
        let scaled = (value * 1e6).round();
        (scaled.is_finite() && (0.0..=1e12).contains(&scaled)).then_some(Self(scaled as i64))
    }

    /// The number, for computing.
    pub fn number_f64(self) -> f64 {
        self.0 as f64 / 1e6
    }

    fn number(self) -> Decimal {
        decimal(self.0, 6)
    }
}

decimal_wire!(
    Constant,
    Counts::Other,
    6,
    1_000_000_000_000,
    r"^(1000000(\.0{1,6})?|[0-9]{1,6}(\.[0-9]{1,6})?)$",
    as "1262.9",
    "a number as a decimal string from \"0\" to \"1000000\" with up to six decimals, for example \"1262.9\""
);

/// A fall in percent, from -50 to 50 with up to four decimals; negative where it rises. JSON: `"1.5"`, `"-0.5"`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Grade(i64);

impl Grade {
    /// Millionths: the fall of a metre in micrometres.
    pub const fn millionths(self) -> i64 {
        self.0
    }

    /// The fall over a length.
    pub fn over(self, length: super::Length) -> super::Length {
        length.share(self.0, MILLION)
    }
}

pub(super) const GRADE_RULE: &str = "a fall in percent from -50 to 50 as decimal text with up to 4 decimals, for example \"1.5\"; negative where it rises";

impl Serialize for Grade {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        let (mantissa, places) = trim(self.0, 4);
        s.serialize_str(Figure::of(mantissa, places).as_str())
    }
}

impl PartialSchema for Grade {
    fn schema() -> RefOr<Schema> {
        ObjectBuilder::new()
            .schema_type(Type::String)
            .description(Some(GRADE_RULE))
            .pattern(Some(r"^-?(50(\.0{1,4})?|[0-4]?[0-9](\.[0-9]{1,4})?)$"))
            .max_length(Some(8))
            .examples([serde_json::json!("1.5")])
            .into()
    }
}

impl ToSchema for Grade {
    fn name() -> std::borrow::Cow<'static, str> {
        "Grade".into()
    }
}

impl Wire for Grade {
    fn read(value: &Value<'_>, at: &At<'_>, faults: &mut Faults) -> Option<Self> {
        read_signed_decimal(value, (4, 50 * 10_000), Counts::Fall, GRADE_RULE, at, faults).map(Self)
    }
    fn stand_in(extreme: Extreme) -> Option<Self> {
        Some(Self(extreme.of(-50, 50) * 10_000))
    }
    fn member_schema() -> RefOr<Schema> {
        crate::wire::read::reference_to::<Self>()
    }
    fn register(into: &mut Vec<(String, RefOr<Schema>)>) {
        crate::wire::read::register_named::<Self>(into);
    }
}

/// How many of the unit an item is sold in, from 0 to 100,000 with up to six decimals. JSON: a decimal string such as `"12.5"`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct ItemQuantity(i64);

impl ItemQuantity {
    /// The number.
    pub fn number(self) -> Decimal {
        decimal(self.0, 6)
    }

    /// Whether it is nothing.
    pub const fn is_zero(self) -> bool {
        self.0 == 0
    }
}

impl fmt::Display for ItemQuantity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        whole(self.number()).fmt(f)
    }
}

decimal_wire!(
    ItemQuantity,
    Counts::Other,
    6,
    100_000_000_000,
    r"^(100000(\.0{1,6})?|[0-9]{1,5}(\.[0-9]{1,6})?)$",
    as "12.5",
    "how many as a decimal string from \"0\" to \"100000\" with up to six decimals, for example \"12.5\""
);

decimal_wire!(
    Percent,
    Counts::Percent,
    4,
    10_000_000,
    r"^(1000(\.0{1,4})?|[0-9]{1,3}(\.[0-9]{1,4})?)$",
    as "7.5",
    "a percentage as a decimal string from \"0\" to \"1000\" with up to four decimals, for example \"8.25\""
);
decimal_wire!(
    Factor,
    Counts::Other,
    6,
    Factor::MOST.0,
    r"^(1000(\.0{1,6})?|[0-9]{1,3}(\.[0-9]{1,6})?)$",
    as "1.25",
    "a factor as a decimal string from \"0\" to \"1000\" with up to six decimals, for example \"1.25\""
);

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "tests")]
    use super::*;
    use crate::wire::read_value;
    use proptest::prelude::*;

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

        /// Whatever it was made from: a draft that holds it can be read again.
        #[test]
        fn every_factor_is_read_as_it_is_written(millionths in any::<i64>(), small in -2_000_000_i64..2_000_000_000) {
            for millionths in [millionths, small] {
                let factor = Factor::from_millionths(millionths);
                let read: Factor = read_value(&serde_json::to_value(factor).unwrap()).unwrap();
                prop_assert_eq!(read, factor);
                if (0..=Factor::MOST.0).contains(&millionths) {
                    prop_assert_eq!(factor.millionths(), millionths);
                }
            }
        }
    }
}
