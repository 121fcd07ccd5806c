//! Masses.

use super::{Quantity, input_schema, note_range, quantity_wire, read_base, register_object, sent};
use crate::units::unit::{Dimension, Unit};
use crate::wire::Value;
use crate::wire::{At, Faults, Wire};
use serde::{Serialize, Serializer};
use std::borrow::Cow;
use utoipa::openapi::{RefOr, Schema};
use utoipa::{PartialSchema, ToSchema};

/// A mass, exact to a hundredth of a milligram.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Mass(i128);

impl Mass {
    /// A mass in hundredths of a milligram.
    pub const fn from_base(base: i128) -> Self {
        Mass(base)
    }
    /// Hundredths of a milligram.
    pub const fn base(self) -> i128 {
        self.0
    }
    /// Whole pounds.
    pub const fn pounds(pounds: i64) -> Self {
        Mass(pounds as i128 * 45_359_237)
    }
    /// The mass as it is written for storage.
    pub(super) fn written(self) -> Quantity {
        let unit = if self.0 % 4_535_923 == 0 || self.0 % 45_359_237 == 0 { Unit::Lb } else { Unit::Kg };
        Quantity::of_base(self.0, unit, 6)
    }
}

impl Serialize for Mass {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        self.written().serialize(s)
    }
}

quantity_wire!(
    Mass,
    "MassInput",
    Dimension::Mass,
    false,
    |base| (base <= 1_000_000_000_000_000_000).then_some(Mass(base)),
    "A mass up to 10,000,000 t with its unit. A bare number is refused.",
    ["80 lb", "36 kg", "12 short_ton"]
);
