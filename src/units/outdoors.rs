//! Distances, speeds and temperatures of the road and the weather.

use super::quantity::{input_schema, note_range, quantity_wire, read_base, register_object, sent};
use super::{Dimension, Quantity, Unit, UnitSystem};
use crate::wire::Value;
use crate::wire::{At, Extreme, Faults, Wire};
use serde::{Serialize, Serializer};
use std::borrow::Cow;
use utoipa::openapi::{RefOr, Schema};
use utoipa::{PartialSchema, ToSchema};

/// A distance by road, exact to the nanometre.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Distance(i64);

impl Distance {
    /// A distance of whole nanometres.
    pub const fn from_nm(nm: i64) -> Self {
        Distance(nm)
    }

    /// Nanometres.
    pub const fn nm(self) -> i64 {
        self.0
    }
}

impl Serialize for Distance {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        // A thousandth of a mile is a whole number of nanometres.
        let unit = if self.0 % 1_609_344_000 == 0 { Unit::Mi } else { Unit::Km };
        Quantity::of_base(i128::from(self.0), unit, 6).serialize(s)
    }
}

quantity_wire!(
    Distance,
    "DistanceInput",
    Dimension::Length,
    false,
    |nm| i64::try_from(nm).ok().filter(|n| *n <= 1_000_000_000_000_000).map(Distance),
    "A distance by road up to 1,000 km with its unit. A bare number is refused.",
    ["6 mi", "9.5 km", "800 m"]
);

/// A speed of a truck or the wind, exact to the nanometre an hour.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Speed(i64);

impl Speed {
    /// A speed of whole nanometres an hour.
    pub const fn from_nm_per_h(nm_per_h: i64) -> Self {
        Speed(nm_per_h)
    }

    /// Nanometres an hour.
    pub const fn nm_per_h(self) -> i64 {
        self.0
    }
    /// Kilometres an hour, for the formula of evaporation.
    pub fn km_per_h(self) -> f64 {
        self.0 as f64 / 1e12
    }
}

impl Serialize for Speed {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        let unit = if self.0 % 1_609_344_000 == 0 { Unit::MiPerHr } else { Unit::KmPerHr };
        Quantity::of_base(i128::from(self.0), unit, 6).serialize(s)
    }
}

quantity_wire!(
    Speed,
    "SpeedInput",
    Dimension::Speed,
    false,
    |base| i64::try_from(base).ok().filter(|b| *b <= 400_000_000_000_000).map(Speed),
    "A speed up to 400 km an hour with its unit. A bare number is refused.",
    ["10 mi_per_hr", "16 km/h", "4.5 m/s"]
);

/// A temperature, exact to a nine-thousandth of a kelvin: thousandths of a degree of either scale are whole numbers of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Temperature {
    /// Nine-thousandths of a degree Celsius.
    base: i64,
    /// Whether it was written in Fahrenheit, and is written back so.
    fahrenheit: bool,
}

/// 32 °F in nine-thousandths of a degree Celsius.
const FREEZING_F: i128 = 32 * 5_000;

impl Temperature {
    /// Whole degrees Celsius.
    pub const fn whole_celsius(degrees: i64) -> Self {
        Temperature { base: degrees * 9_000, fahrenheit: false }
    }

    /// Degrees Celsius, for the formula of evaporation.
    pub fn celsius(self) -> f64 {
        self.base as f64 / 9_000.0
    }

    /// Degrees Celsius in nine-thousandths.
    pub const fn base(self) -> i64 {
        self.base
    }

    /// The same number of degrees on the other scale than it was written in.
    ///
    /// ```
    /// use rillcast::units::Temperature;
    /// let swapped = Temperature::whole_celsius(95).on_the_other_scale();
    /// assert_eq!(swapped.base(), Temperature::whole_celsius(35).base());
    /// assert_eq!(swapped.on_the_other_scale(), Temperature::whole_celsius(95));
    /// ```
    #[must_use]
    pub const fn on_the_other_scale(self) -> Self {
        let base = if self.fahrenheit {
            (self.base + FREEZING_F as i64) * 9 / 5
        } else {
            self.base * 5 / 9 - FREEZING_F as i64
        };
        Temperature { base, fahrenheit: !self.fahrenheit }
    }

    /// As it was written.
    pub fn written(self) -> Quantity {
        self.in_scale(self.fahrenheit, 6)
    }

    /// In the scale of an office, to a tenth of a degree.
    pub fn shown(self, system: UnitSystem) -> Quantity {
        self.in_scale(system == UnitSystem::Us, 1)
    }

    /// In either scale, to a tenth of a degree.
    pub fn on_scale(self, unit: Unit) -> Quantity {
        self.in_scale(unit == Unit::DegF, 1)
    }

    fn in_scale(self, fahrenheit: bool, places: u8) -> Quantity {
        let (base, unit) = if fahrenheit {
            (i128::from(self.base) + FREEZING_F, Unit::DegF)
        } else {
            (i128::from(self.base), Unit::DegC)
        };
        Quantity::of_base(base, unit, places)
    }
}

impl Serialize for Temperature {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        self.written().serialize(s)
    }
}

/// What the document says of a temperature.
const TEMPERATURE: &str = "A temperature from -60 to 100 °C with its unit. A bare number is refused.";

impl PartialSchema for Temperature {
    fn schema() -> RefOr<Schema> {
        input_schema::<Self>(TEMPERATURE, ["85 deg_f", "29.5 °C", "-4 deg_c"])
    }
}

impl ToSchema for Temperature {
    fn name() -> Cow<'static, str> {
        "TemperatureInput".into()
    }
    fn schemas(into: &mut Vec<(String, RefOr<Schema>)>) {
        register_object::<Self>(true, |unit| unit.dimension() == Dimension::Temperature, into);
    }
}

impl Wire for Temperature {
    fn read(value: &Value<'_>, at: &At<'_>, faults: &mut Faults) -> Option<Self> {
        let (base, unit) = read_base(value, Dimension::Temperature, true, at, faults)?;
        let fahrenheit = unit == Unit::DegF;
        let base = if fahrenheit { base - FREEZING_F } else { base };
        let made = i64::try_from(base).ok().filter(|b| (-60 * 9_000..=100 * 9_000).contains(b));
        if made.is_none() {
            note_range(TEMPERATURE, &sent(value), Dimension::Temperature, at, faults);
        }
        made.map(|base| Temperature { base, fahrenheit })
    }
    fn stand_in(extreme: Extreme) -> Option<Self> {
        Some(Temperature { base: extreme.of(-60, 100) * 9_000, fahrenheit: false })
    }
    crate::wire_named!();
}

#[cfg(test)]
mod tests {
    #![expect(clippy::unwrap_used, reason = "a test stops where a text is not read")]
    use super::*;
    use serde_json::json;

    fn read<T: Wire>(text: &str) -> Option<T> {
        let mut faults = Faults::new();
        T::read(&text.into(), &At::ROOT, &mut faults)
    }

    #[test]
    fn temperatures_read_and_write_back_in_their_scale() {
        // NIST SP 811 (2008) B.8 (from memory): °C = (°F - 32) / 1.8.
        let celsius = |t: &str| read::<Temperature>(t).unwrap().celsius();
        assert!((celsius("95 deg_f") - 35.0).abs() < 1e-12);
        assert!((celsius("-40 deg_f") + 40.0).abs() < 1e-12);
        assert!((celsius("-4.5 deg_c") + 4.5).abs() < 1e-12);
        for (text, value, unit) in [("85.5 deg_f", "85.5", "deg_f"), ("-4.25 deg_c", "-4.25", "deg_c")] {
            let back = serde_json::to_value(read::<Temperature>(text).unwrap()).unwrap();
            assert_eq!(back, json!({"value": value, "unit": unit}));
        }
        assert!(read::<Temperature>("101 deg_c").is_none() && read::<Temperature>("80").is_none());
    }

    #[test]
    fn roads_and_winds_are_exact() {
        assert_eq!(read::<Distance>("6 mi").unwrap().nm(), 9_656_064_000_000);
        assert_eq!(read::<Speed>("25 mi_per_hr").unwrap().nm_per_h(), 40_233_600_000_000);
        assert!((read::<Speed>("10 m_per_s").unwrap().km_per_h() - 36.0).abs() < 1e-12);
        assert!(read::<Distance>("1001 km").is_none() && read::<Speed>("401 km_per_hr").is_none());
    }
}
