//! Lengths, levels, areas and volumes in requests and as they are stored.

use super::{Quantity, input_schema, note, quantity_wire, read_base};
use crate::units::exact::{Area, Length, Volume};
use crate::units::grammar::Refusal;
use crate::units::unit::{Dimension, Unit};
use crate::wire::{At, Faults, Wire};
use serde::{Serialize, Serializer};
use serde_json::Value;
use std::borrow::Cow;
use utoipa::openapi::{RefOr, Schema};
use utoipa::{PartialSchema, ToSchema};

/// A level against the job's datum: a length that may lie below it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Level(pub Length);

impl Serialize for Level {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        self.0.serialize(s)
    }
}

/// Writes an exact length for storage: inches when whole 64ths, else millimetres or nanometre-exact decimals.
impl Serialize for Length {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        let unit = if self.nm() % Length::inches(1, 64).nm() == 0 && self.nm() % Length::MILLIMETRE.nm() != 0
        {
            if self.nm() % (Length::FOOT.nm() / 1000) == 0 { Unit::Ft } else { Unit::In }
        } else {
            Unit::Mm
        };
        Quantity::of_base(i128::from(self.nm()), unit, 6).serialize(s)
    }
}

impl Serialize for Area {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        let square_inch = 25_400_000_i128 * 25_400_000;
        let unit = if self.nm2() % (144 * square_inch) == 0 {
            Unit::Ft2
        } else if self.nm2() % (square_inch / 10_000) == 0 {
            Unit::In2
        } else {
            Unit::Cm2
        };
        Quantity::of_base(self.nm2(), unit, 6).serialize(s)
    }
}

impl Serialize for Volume {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        let cubic_inch = 25_400_000_i128 * 25_400_000 * 25_400_000;
        let unit = if self.nm3() % (1728 * 27 * cubic_inch / 10_000) == 0 {
            Unit::Yd3
        } else if self.nm3() % (1728 * cubic_inch / 10_000) == 0 {
            Unit::Ft3
        } else if self.nm3() % cubic_inch == 0 {
            Unit::In3
        } else {
            Unit::L
        };
        Quantity::of_base(self.nm3(), unit, 6).serialize(s)
    }
}

quantity_wire!(
    Length,
    "LengthInput",
    Dimension::Length,
    false,
    |nm| i64::try_from(nm).ok().map(Length::from_nm).filter(|l| *l <= Length::LONGEST),
    "A length from 0 to 3 km with its unit. A bare number is refused.",
    ["41 ft 6 in", "3 1/2 in", "12.6 m"]
);
quantity_wire!(
    Level,
    "LevelInput",
    Dimension::Length,
    true,
    |nm| i64::try_from(nm).ok().map(Length::from_nm).filter(|l| l.abs() <= Length::LONGEST).map(Level),
    "A level above or below the job's datum, with its unit. A bare number is refused.",
    ["-2 ft 6 in", "0 ft", "-0.85 m"]
);
quantity_wire!(
    Area,
    "AreaInput",
    Dimension::Area,
    false,
    |nm2| (nm2 <= 9_000_000_000_000_000_000_000_000).then_some(Area::from_nm2(nm2)),
    "An area with its unit. A bare number is refused.",
    ["120 ft2", "11.5 m2", "14 yd2"]
);
quantity_wire!(
    Volume,
    "VolumeInput",
    Dimension::Volume,
    false,
    |nm3| Some(Volume::from_nm3(nm3)).filter(|v| *v <= Volume::LARGEST),
    "A volume up to 100,000 m³ with its unit. A bare number is refused.",
    ["2.25 yd3", "60 ft3", "1.7 m3"]
);
