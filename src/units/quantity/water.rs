//! Flows of water and rain intensities.

use super::{Quantity, input_schema, note_range, quantity_wire, read_base, register_object, sent};
use crate::units::unit::{Dimension, Unit};
use crate::wire::Value;
use crate::wire::{At, Faults, Wire};
use serde::{Serialize, Serializer};
use std::borrow::Cow;
use utoipa::openapi::{RefOr, Schema};
use utoipa::{PartialSchema, ToSchema};

/// A flow of water, exact to the nanolitre a minute.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Flow(i64);

impl Flow {
    /// A flow in nanolitres a minute.
    pub const fn from_base(base: i64) -> Self {
        Flow(base)
    }
    /// Nanolitres a minute.
    pub const fn base(self) -> i64 {
        self.0
    }
    /// Cubic metres a second, for the hydraulic computations.
    pub fn m3_per_s(self) -> f64 {
        self.0 as f64 / 6e13
    }
}

impl Serialize for Flow {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        let gallon = 3_785_411_784;
        let unit = if self.0 % (gallon / 8) == 0 { Unit::GalUsPerMin } else { Unit::LPerS };
        Quantity::of_base(i128::from(self.0), unit, 6).serialize(s)
    }
}

quantity_wire!(
    Flow,
    "FlowInput",
    Dimension::Flow,
    false,
    |base| i64::try_from(base).ok().filter(|b| *b <= 60_000_000_000_000).map(Flow),
    "A flow up to 1 m³/s with its unit. A bare number is refused.",
    ["12 gal_us_per_min", "0.8 l_per_s", "0.05 ft3_per_s"]
);

/// How hard it rains, exact to the nanometre an hour.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct RainRate(i64);

impl RainRate {
    /// An intensity of whole nanometres an hour.
    pub const fn from_nm_per_h(nm_per_h: i64) -> Self {
        RainRate(nm_per_h)
    }
    /// Nanometres an hour.
    pub const fn nm_per_h(self) -> i64 {
        self.0
    }
    /// Millimetres an hour, for the hydraulic computations.
    pub fn mm_per_h(self) -> f64 {
        self.0 as f64 / 1e6
    }
}

impl Serialize for RainRate {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        let unit =
            if self.0 % 25_400 == 0 && self.0 % 1_000_000 != 0 { Unit::InPerHr } else { Unit::MmPerHr };
        Quantity::of_base(i128::from(self.0), unit, 6).serialize(s)
    }
}

quantity_wire!(
    RainRate,
    "RainRateInput",
    Dimension::RainIntensity,
    false,
    |base| i64::try_from(base).ok().filter(|b| *b <= 2_000_000_000).map(RainRate),
    "A rain intensity up to 2,000 mm an hour with its unit. A bare number is refused.",
    ["4.2 in_per_hr", "100 mm/h", "2.75 in/h"]
);
