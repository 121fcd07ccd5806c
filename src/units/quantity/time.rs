//! Spans of time.

use super::{Quantity, input_schema, note, quantity_wire, read_base, sent};
use crate::units::grammar::Refusal;
use crate::units::unit::{Dimension, Unit};
use crate::wire::{At, Faults, Wire};
use rust_decimal::Decimal;
use serde::{Serialize, Serializer};
use serde_json::Value;
use std::borrow::Cow;
use utoipa::openapi::{RefOr, Schema};
use utoipa::{PartialSchema, ToSchema};

/// A time span, exact to the second.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Span(i64);

impl Span {
    /// A span of whole seconds.
    pub const fn from_seconds(seconds: i64) -> Self {
        Span(seconds)
    }
    /// Whole seconds.
    pub const fn seconds(self) -> i64 {
        self.0
    }
    /// Hours as a decimal.
    pub fn hours(self) -> Decimal {
        // An hour of 36 seconds a hundredth: exact for nearly every time of a book.
        if self.0 % 36 == 0 {
            let (hundredths, scale) = crate::units::decimal::trim(self.0 / 36, 2);
            return Decimal::new(hundredths, scale);
        }
        Decimal::new(self.0, 0) / Decimal::new(3600, 0)
    }
}

impl Span {
    fn written(self) -> Quantity {
        let unit = if self.0 % 36 == 0 { Unit::Hr } else { Unit::Min };
        Quantity::of_base(i128::from(self.0), unit, 6)
    }
}

impl Serialize for Span {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        self.written().serialize(s)
    }
}

impl std::fmt::Display for Span {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        self.written().fmt(f)
    }
}

quantity_wire!(
    Span,
    "TimeInput",
    Dimension::Time,
    false,
    |s| i64::try_from(s).ok().filter(|s| *s <= 366 * 86_400).map(Span),
    "A time span up to a year with its unit. A bare number is refused.",
    ["45 min", "1.5 hr", "2 day"]
);
