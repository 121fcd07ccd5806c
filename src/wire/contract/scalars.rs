//! Numbers that may be negative.

use crate::units::Amount;
use crate::units::decimal::rounded;
use crate::units::percent::plain_decimal;
use crate::units::slips::{Counts, slip};
use crate::wire::Value;
use crate::wire::{At, Faults, Wire, wrong_kind};
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

/// A sign and whole units of `10^-places`.
fn signed(text: &str, places: u32, most: i64) -> Option<i64> {
    let (sign, digits) = text.strip_prefix('-').map_or((1, text), |rest| (-1, rest));
    plain_decimal(digits, places).filter(|v| *v <= most).map(|v| v * sign)
}

fn read_text<T>(
    value: &Value<'_>,
    rule: &str,
    at: &At<'_>,
    faults: &mut Faults,
    parse: impl FnOnce(&str) -> Option<T>,
) -> Option<T> {
    let Some(text) = value.as_str() else {
        match value {
            Value::Number(n) => {
                faults.value(
                    at,
                    "decimal_string",
                    &n.to_string(),
                    format!("{rule}; write it as text: \"{n}\""),
                );
            }
            _ => wrong_kind(value, rule, at, faults),
        }
        return None;
    };
    let read = parse(text);
    if read.is_none() {
        let slip = slip(text, 2, Counts::Signed).map_or_else(String::new, |slip| format!("; {slip}"));
        faults.value(at, "decimal_string", text, format!("{rule}{slip}"));
    }
    read
}

macro_rules! text_scalar {
    ($name:ident, $rule:expr, $schema:expr, $parse:expr) => {
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
                let parse: fn(&str) -> Option<Self> = $parse;
                read_text(value, $rule, at, faults, parse)
            }
            crate::wire_named!();
        }
    };
}

text_scalar!(
    Signed,
    SUM_RULE,
    |s| s.pattern(Some(r"^-?[0-9]{1,12}(\.[0-9]{1,2})?$")).max_length(Some(24)).examples([json!("-40.00")]),
    |t| { signed(t, 2, 100_000_000_000_000).map(|minor| Signed(Amount::from_minor(minor))) }
);
text_scalar!(
    Number,
    NUMBER_RULE,
    |s| s.pattern(Some(r"^-?[0-9]{1,12}(\.[0-9]{1,6})?$")).max_length(Some(24)).examples([json!("16.25")]),
    |t| signed(t, 6, 1_000_000_000_000_000_000).map(|millionths| Number::new(Decimal::new(millionths, 6)))
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
}
