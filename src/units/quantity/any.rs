//! A quantity whose dimension another member decides.

use super::{Quantity, input_schema, read_base, register_object};
use crate::units::grammar::{self, Refusal};
use crate::units::unit::{Dimension, Unit};
use crate::wire::Value;
use crate::wire::{At, Faults, Wire};
use serde::{Serialize, Serializer};
use std::borrow::Cow;
use utoipa::openapi::{RefOr, Schema};
use utoipa::{PartialSchema, ToSchema};

/// A quantity of any dimension, for members whose dimension another member decides.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct AnyQuantity {
    base: i128,
    unit: Unit,
}

impl AnyQuantity {
    /// The value in base units of its dimension.
    pub const fn base(self) -> i128 {
        self.base
    }

    /// The unit it was written in.
    pub const fn unit(self) -> Unit {
        self.unit
    }
}

impl Serialize for AnyQuantity {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        Quantity::of_base(self.base, self.unit, 6).serialize(s)
    }
}

impl std::fmt::Display for AnyQuantity {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        Quantity::of_base(self.base, self.unit, 6).fmt(f)
    }
}

impl PartialSchema for AnyQuantity {
    fn schema() -> RefOr<Schema> {
        input_schema::<Self>(
            "A quantity with its unit. A bare number is refused.",
            ["3.2 yd3", "41 ft 6 in", "12 each"],
        )
    }
}

impl ToSchema for AnyQuantity {
    fn name() -> Cow<'static, str> {
        "QuantityInput".into()
    }
    fn schemas(into: &mut Vec<(String, RefOr<Schema>)>) {
        register_object::<Self>(false, |unit| Self::KINDS.contains(&unit.dimension()), into);
    }
}

impl AnyQuantity {
    const KINDS: [Dimension; 6] = [
        Dimension::Length,
        Dimension::Area,
        Dimension::Volume,
        Dimension::Mass,
        Dimension::Time,
        Dimension::Count,
    ];
    const FORMS: &'static str =
        "\"3.2 yd3\", \"41 ft 6 in\", \"12 each\" or {\"value\":\"3.2\",\"unit\":\"yd3\"}";

    /// The dimension of the unit that was sent.
    fn sent(value: &Value<'_>) -> Option<Dimension> {
        let unit = match value {
            Value::String(text) => text.trim().rsplit([' ', '\u{a0}']).next()?,
            _ => value.get("unit")?.as_str()?,
        };
        Unit::from_word(unit).map(Unit::dimension)
    }
}

impl Wire for AnyQuantity {
    fn read(value: &Value<'_>, at: &At<'_>, faults: &mut Faults) -> Option<Self> {
        let reads = |d: &Dimension| read_base(value, *d, false, at, &mut Faults::new()).is_some();
        let dimension = Self::KINDS.into_iter().find(reads).or_else(|| Self::sent(value));
        match dimension {
            Some(dimension) if Self::KINDS.contains(&dimension) => {
                let (base, unit) = read_base(value, dimension, false, at, faults)?;
                Some(Self { base, unit })
            }
            Some(_) => {
                let (sent, here) = match value {
                    Value::String(text) => (&**text, *at),
                    _ => (value.get("unit").and_then(Value::as_str).unwrap_or_default(), at.member("unit")),
                };
                let rule = "this is no unit of length, area, volume, mass, time or pieces";
                faults.value(&here, "unit_dimension", sent, rule);
                None
            }
            None => {
                let (refusal, sent) = match value {
                    Value::String(text) => (
                        grammar::parse(text, Dimension::Length).err().unwrap_or(Refusal::Number),
                        text.to_string(),
                    ),
                    Value::Number(number) => (Refusal::NoUnit, number.to_string()),
                    // says which member of an object is at fault
                    _ => {
                        read_base(value, Dimension::Count, false, at, faults);
                        return None;
                    }
                };
                faults.value(at, refusal.code(), &sent, format!("{refusal}; accepted: {}", Self::FORMS));
                None
            }
        }
    }
    crate::wire_named!();
}
