//! A quantity whose dimension another member decides.

use super::{Quantity, input_schema, read_base};
use crate::units::unit::{Dimension, Unit};
use crate::wire::{At, Faults, Wire};
use serde::{Serialize, Serializer};
use serde_json::Value;
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
        input_schema(
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
        crate::wire::read::register_named::<Quantity>(into);
    }
}

impl Wire for AnyQuantity {
    fn read(value: &Value, at: &At<'_>, faults: &mut Faults) -> Option<Self> {
        const KINDS: [Dimension; 6] = [
            Dimension::Length,
            Dimension::Area,
            Dimension::Volume,
            Dimension::Mass,
            Dimension::Time,
            Dimension::Count,
        ];
        for dimension in KINDS {
            let mut quiet = Faults::new();
            if let Some((base, unit)) = read_base(value, dimension, false, at, &mut quiet) {
                return Some(Self { base, unit });
            }
        }
        read_base(value, Dimension::Length, false, at, faults);
        None
    }
    crate::wire_named!();
}
