//! Spans of time.

use super::{Quantity, input_schema, note_range, quantity_wire, read_base, register_object, sent};
use crate::units::unit::{Dimension, Unit};
use crate::wire::Value;
use crate::wire::{At, Faults, Wire};
use rust_decimal::Decimal;
use serde::{Serialize, Serializer};
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

/// Time that people work, in hours or minutes: how many hours a day of theirs has is the office's word, and never 24.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct WorkTime(Span);

impl WorkTime {
    /// The time.
    pub const fn span(self) -> Span {
        self.0
    }
}

impl Serialize for WorkTime {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        self.0.serialize(s)
    }
}

impl PartialSchema for WorkTime {
    fn schema() -> RefOr<Schema> {
        input_schema::<Self>(
            "Time that people work, up to a year, in hours or minutes. A bare number is refused, and so is a day: how many hours \
             it has is for the office to say.",
            ["45 min", "1.5 hr", "7.75 hr"],
        )
    }
}

impl ToSchema for WorkTime {
    fn name() -> Cow<'static, str> {
        "WorkTimeInput".into()
    }
    fn schemas(into: &mut Vec<(String, RefOr<Schema>)>) {
        register_object::<Self>(false, |unit| matches!(unit, Unit::Min | Unit::Hr), into);
    }
}

impl Wire for WorkTime {
    fn read(value: &Value<'_>, at: &At<'_>, faults: &mut Faults) -> Option<Self> {
        let span = Span::read(value, at, faults)?;
        if let Some((_, Unit::Day)) = read_base(value, Dimension::Time, false, at, faults) {
            let rule = "a day of work has as many hours as the office works: hours or minutes, \"7.5 hr\" or \"45 min\"";
            faults.value(at, "day_of_work", &sent(value), rule).allow([Unit::Min, Unit::Hr].map(Unit::word));
            return None;
        }
        Some(Self(span))
    }
    fn stand_in(extreme: crate::wire::Extreme) -> Option<Self> {
        Span::stand_in(extreme).map(Self)
    }
    crate::wire_named!();
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::wire::read_value;
    use serde_json::json;

    #[test]
    fn a_day_of_work_is_no_time_of_work() {
        let read =
            |value: serde_json::Value| read_value::<WorkTime>(&value).map(|time| time.span().seconds());
        assert_eq!(read(json!("7.5 hr")).ok(), Some(27_000));
        assert_eq!(read(json!({"value": "45", "unit": "min"})).ok(), Some(2_700));
        for day in [json!("1 day"), json!({"value": "1", "unit": "day"})] {
            assert!(read(day.clone()).is_err_and(|faults| faults.to_string().contains("hours or minutes")));
            assert_eq!(read_value::<Span>(&day).map(Span::seconds).ok(), Some(86_400));
        }
    }
}
