//! Lengths, levels, areas and volumes in requests and as they are stored.

use super::{Quantity, input_schema, note_range, quantity_wire, read_base, register_object, sent};
use crate::units::exact::{Area, Length, Volume};
use crate::units::unit::{Dimension, Unit};
use crate::wire::Value;
use crate::wire::{At, Faults, Wire};
use serde::{Serialize, Serializer};
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

/// Writes an exact length for storage: feet or inches when it is whole 64ths of an inch, else millimetres or nanometre-exact
/// decimals. Every 5 inches are a whole number of millimetres: there, too, feet and inches are what was written.
impl Serialize for Length {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        let unit = if *self != Length::ZERO && self.nm() % Length::inches(1, 64).nm() == 0 {
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
    "A level up to 3 km above or below the job's datum with its unit. A bare number is refused.",
    ["-2 ft 6 in", "0 ft", "-0.85 m"]
);
quantity_wire!(
    Area,
    "AreaInput",
    Dimension::Area,
    false,
    |nm2| (nm2 <= 9_000_000_000_000_000_000_000_000).then_some(Area::from_nm2(nm2)),
    "An area up to 9 km² with its unit. A bare number is refused.",
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

#[cfg(test)]
mod tests {
    #![expect(clippy::unwrap_used, reason = "a test stops where a text is not read")]
    use super::*;
    use serde_json::json;

    #[test]
    fn lengths_are_written_back_in_the_units_of_their_notes() {
        for (text, value, unit) in [
            ("5 ft", "5", "ft"),
            ("10 ft", "10", "ft"),
            ("41 ft 8 in", "500", "in"),
            ("10 in", "10", "in"),
            ("3 1/2 in", "3.5", "in"),
            ("1524.1 mm", "1524.1", "mm"),
            ("12.6 m", "12600", "mm"),
            ("0 in", "0", "mm"),
        ] {
            let mut faults = Faults::new();
            let length = Length::read(&text.into(), &At::ROOT, &mut faults).unwrap();
            let back = serde_json::to_value(length).unwrap();
            assert_eq!(back, json!({"value": value, "unit": unit}), "{text}");
            assert_eq!(Length::read(&(&back).into(), &At::ROOT, &mut faults), Some(length));
        }
        assert_eq!(
            serde_json::to_value(Level(-Length::feet(5))).unwrap(),
            json!({"value": "-5", "unit": "ft"})
        );
    }

    #[test]
    fn a_quantity_out_of_range_is_told_as_it_was_sent() {
        for (sent, told) in [
            (json!("999999999 ft"), "999999999 ft"),
            (json!({"value": "999999999", "unit": "ft"}), "999999999 ft"),
        ] {
            let mut faults = Faults::new();
            assert_eq!(Length::read(&(&sent).into(), &At::ROOT, &mut faults), None);
            assert_eq!(faults.list()[0].value.as_deref(), Some(told));
            let detail = &faults.list()[0].detail;
            assert!(detail.ends_with(". Here stands a length from 0 to 3 km"), "{detail}");
        }
        // the ranges are those that the description of each shape names
        for (metres, read) in [("3000 m", true), ("-3000 m", true), ("3000.1 m", false), ("-3000.1 m", false)]
        {
            let mut faults = Faults::new();
            assert_eq!(Level::read(&metres.into(), &At::ROOT, &mut faults).is_some(), read, "{metres}");
        }
        for (mass, read) in [("10000000 t", true), ("10000000.1 t", false)] {
            let found = crate::units::quantity::Mass::read(&mass.into(), &At::ROOT, &mut Faults::new());
            assert_eq!(found.is_some(), read, "{mass}");
        }
        for (square, read) in [("9000000 m2", true), ("9000000.1 m2", false)] {
            assert_eq!(Area::read(&square.into(), &At::ROOT, &mut Faults::new()).is_some(), read, "{square}");
        }
    }
}
