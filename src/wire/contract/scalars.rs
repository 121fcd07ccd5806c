//! Numbers that may be negative.

use crate::units::Amount;
use crate::units::decimal::rounded;
use crate::units::decimal_text::read_signed_decimal;
use crate::units::money::MINOR_DIGITS;
use crate::units::slips::Counts;
use crate::wire::{At, Faults, Value, Wire};
use rust_decimal::Decimal;
use serde::{Serialize, Serializer};
use serde_json::json;
use utoipa::openapi::schema::{ObjectBuilder, Type};
use utoipa::openapi::{RefOr, Schema};
use utoipa::{PartialSchema, ToSchema};

/// A sum of money of either sign. JSON: a decimal string such as `"-75.00"`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Signed(pub Amount);

/// A number of either sign with up to six decimals. JSON: a decimal string such as `"-1.5"`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Number(Decimal);

const SUM_RULE: &str =
    "an amount of money of either sign as a decimal string with at most two decimals, for example \"-75.00\"";
const NUMBER_RULE: &str =
    "a number of either sign as a decimal string with at most six decimals, for example \"-1.5\"";

/// The greatest [`Number`] that is read: twelve digits before the point.
const MOST_MILLIONTHS: i64 = 999_999_999_999_999_999;

impl Signed {
    /// No money.
    pub const ZERO: Signed = Signed(Amount::ZERO);
}

impl Number {
    /// Nothing.
    pub const ZERO: Number = Number(Decimal::ZERO);

    /// A number, rounded to six decimals, half away from zero.
    pub fn new(value: Decimal) -> Self {
        Self(rounded(value, 6).normalize())
    }

    /// The number.
    pub const fn decimal(self) -> Decimal {
        self.0
    }
}

macro_rules! text_scalar {
    ($name:ident, ($places:expr, $most:expr), $rule:expr, $schema:expr, $of:expr) => {
        impl Serialize for $name {
            fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
                s.collect_str(self)
            }
        }
        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                std::fmt::Display::fmt(&self.0, f)
            }
        }
        impl PartialSchema for $name {
            fn schema() -> RefOr<Schema> {
                let with: fn(ObjectBuilder) -> ObjectBuilder = $schema;
                with(ObjectBuilder::new().schema_type(Type::String).description(Some($rule))).into()
            }
        }
        impl ToSchema for $name {
            fn name() -> std::borrow::Cow<'static, str> {
                stringify!($name).into()
            }
        }
        impl Wire for $name {
            fn read(value: &Value<'_>, at: &At<'_>, faults: &mut Faults) -> Option<Self> {
                let of: fn(i64) -> Self = $of;
                read_signed_decimal(value, ($places, $most), Counts::Signed, $rule, at, faults).map(of)
            }
            crate::wire_named!();
        }
    };
}

text_scalar!(
    Signed,
    (MINOR_DIGITS, Amount::MOST.minor()),
    SUM_RULE,
    |s| s.pattern(Some(r"^-?[0-9]{1,12}(\.[0-9]{1,2})?$")).max_length(Some(24)).examples([json!("-40.00")]),
    |minor| Signed(Amount::from_minor(minor))
);
text_scalar!(
    Number,
    (6, MOST_MILLIONTHS),
    NUMBER_RULE,
    |s| s.pattern(Some(r"^-?[0-9]{1,12}(\.[0-9]{1,6})?$")).max_length(Some(24)).examples([json!("16.25")]),
    |millionths| Number::new(Decimal::new(millionths, 6))
);

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "tests")]
    use super::*;
    use crate::wire::read_value;

    #[test]
    fn signs_are_read_and_written() {
        for (text, minor) in [("-75.00", -7500), ("0", 0), ("12.5", 1250), ("-0.01", -1)] {
            assert_eq!(read_value::<Signed>(&json!(text)).unwrap().0.minor(), minor);
        }
        for refused in ["--1", "+1", "-", "1,000.00", "1e3", "-.5", "1.001", ""] {
            assert!(read_value::<Signed>(&json!(refused)).is_err(), "{refused}");
        }
        for text in ["-1.5", "16.25", "0", "-0.000001"] {
            assert_eq!(read_value::<Number>(&json!(text)).unwrap().to_string(), text);
        }
        assert!(read_value::<Number>(&json!(1.5)).is_err());
    }

    #[test]
    fn what_is_wrong_is_told_with_the_right_form_or_the_limit() {
        fn told<T: Wire + std::fmt::Debug>(text: &str) -> String {
            let faults = read_value::<T>(&json!(text)).unwrap_err();
            faults.list()[0].detail.split_once("; ").map_or_else(String::new, |(_, behind)| behind.to_owned())
        }
        let comma = "a point before decimals, no comma";
        assert_eq!(told::<Number>("1,2345"), format!("{comma}: \"1.2345\""));
        assert_eq!(told::<Number>("-0,000001"), format!("{comma}: \"-0.000001\""));
        assert_eq!(told::<Signed>("-16,80"), format!("{comma}: \"-16.80\""));
        assert_eq!(told::<Signed>("1,2345"), comma);
        let most = Amount::MOST.to_string();
        assert_eq!(read_value::<Signed>(&json!(format!("-{most}"))).unwrap().0, -Amount::MOST);
        assert_eq!(told::<Signed>("1000000000000"), format!("at most {most}"));
        assert_eq!(told::<Signed>("-1000000000000.00"), format!("not below -{most}"));
        assert_eq!(told::<Number>("1000000000000"), "at most 999999999999.999999");
        assert_eq!(told::<Number>("-1000000000000"), "not below -999999999999.999999");
        assert_eq!(told::<Number>("1.2345678"), "");
    }
}
