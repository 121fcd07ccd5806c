//! Densities: a weight per volume, or the mass of a cubic foot.

use super::{Mass, Quantity, input_schema, note, read_base, register_object, sent};
use crate::units::exact::div_round;
use crate::units::grammar::Refusal;
use crate::units::unit::{Dimension, Unit};
use crate::wire::Value;
use crate::wire::{At, Extreme, Faults, Wire};
use serde::{Serialize, Serializer};
use std::borrow::Cow;
use utoipa::openapi::{RefOr, Schema};
use utoipa::{PartialSchema, ToSchema};

/// Nanograms in a hundredth of a milligram.
const PER_MASS: i128 = 10_000;

/// A density, exact to the nanogram a cubic foot.
///
/// It is written back as it was written: as a density in its unit, or as the mass of a cubic foot.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Density {
    /// Nanograms a cubic foot.
    base: i128,
    /// The unit of density it was written in; none where the mass of a cubic foot was given.
    unit: Option<Unit>,
}

impl Density {
    /// The mass of a cubic foot, to a hundredth of a milligram.
    pub const fn per_ft3(self) -> Mass {
        Mass::from_base(div_round(self.base, PER_MASS))
    }

    /// Whether it lies between two densities in kg/m³, both included.
    pub fn within(self, least: i64, most: i64) -> bool {
        let one = Unit::KgPerM3.factor().unwrap_or(1);
        (i128::from(least) * one..=i128::from(most) * one).contains(&self.base)
    }

    /// What it would be were the mass that of a cubic metre; `None` where it was written as a density, and for pounds.
    pub fn if_of_m3(self) -> Option<Self> {
        let is_metric = self.written().unit() == Unit::Kg;
        let (kg, kg_per_m3) = (Unit::Kg.factor()?, Unit::KgPerM3.factor()?);
        let base = div_round(self.per_ft3().base().saturating_mul(kg_per_m3), kg);
        is_metric.then_some(Density { base, unit: Some(Unit::KgPerM3) })
    }

    /// The density in a unit of density, to at most one decimal.
    pub fn shown(self, unit: Unit) -> Quantity {
        Quantity::of_base(self.base, unit, 1)
    }

    fn written(self) -> Quantity {
        match self.unit {
            Some(unit) => Quantity::of_base(self.base, unit, 6),
            None => self.per_ft3().written(),
        }
    }
}

impl From<Mass> for Density {
    fn from(per_ft3: Mass) -> Self {
        Density { base: per_ft3.base() * PER_MASS, unit: None }
    }
}

/// As it was written: `2400 kg_per_m3`, `150 lb`.
impl std::fmt::Display for Density {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        self.written().fmt(f)
    }
}

impl Serialize for Density {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        self.written().serialize(s)
    }
}

impl PartialSchema for Density {
    fn schema() -> RefOr<Schema> {
        input_schema::<Self>(
            "A density with its unit, or the mass of a cubic foot: `150 lb` and `150 lb/ft3` are the same, `2400 kg/m3` is 149.8 lb a cubic foot. A bare number is refused.",
            ["2400 kg/m3", "150 lb/ft3", "150 lb"],
        )
    }
}

impl ToSchema for Density {
    fn name() -> Cow<'static, str> {
        "DensityInput".into()
    }
    fn schemas(into: &mut Vec<(String, RefOr<Schema>)>) {
        let is_read = |unit: Unit| [Dimension::Density, Dimension::Mass].contains(&unit.dimension());
        register_object::<Self>(false, is_read, into);
    }
}

impl Wire for Density {
    fn read(value: &Value<'_>, at: &At<'_>, faults: &mut Faults) -> Option<Self> {
        let mass = read_base(value, Dimension::Mass, false, at, &mut Faults::new());
        let made = match mass {
            Some((base, _)) => base.checked_mul(PER_MASS).map(|base| Density { base, unit: None }),
            None => {
                let (base, unit) = read_base(value, Dimension::Density, false, at, faults)?;
                Some(Density { base, unit: Some(unit) })
            }
        };
        let made = made.filter(|d| d.base <= 1_000_000_000_000_000_000 * PER_MASS);
        if made.is_none() {
            note(Refusal::Range, &sent(value), Dimension::Density, at, faults);
        }
        made
    }
    fn stand_in(extreme: Extreme) -> Option<Self> {
        Mass::stand_in(extreme).map(Self::from)
    }
    crate::wire_named!();
}

#[cfg(test)]
mod tests {
    #![expect(clippy::unwrap_used, reason = "a test stops where a text is not read")]
    use super::*;
    use serde_json::json;

    fn read(value: &serde_json::Value) -> Result<Density, Faults> {
        let mut faults = Faults::new();
        let read = Density::read(&value.into(), &At::ROOT, &mut faults);
        faults.finish(read)
    }

    #[test]
    fn both_ways_of_writing_a_density_read_and_write_back_as_they_are() {
        for (text, value, unit) in [
            ("2400 kg/m3", "2400", "kg_per_m3"),
            ("1760.5 kg_per_m3", "1760.5", "kg_per_m3"),
            ("150 lb/ft3", "150", "lb_per_ft3"),
            ("150 lb", "150", "lb"),
            ("68 kg", "68", "kg"),
        ] {
            let density = read(&json!(text)).unwrap();
            let back = serde_json::to_value(density).unwrap();
            assert_eq!(back, json!({"value": value, "unit": unit}));
            assert_eq!(read(&back).unwrap(), density);
        }
    }

    #[test]
    fn a_cubic_metre_is_weighed_as_such() {
        // NIST SP 811 (2008) B.8 (from memory): 1 lb/ft³ = 16.018 46 kg/m³, so 2400 kg/m³ = 149.827 lb/ft³.
        assert_eq!(read(&json!("150 lb/ft3")).unwrap().per_ft3(), Mass::pounds(150));
        assert_eq!(read(&json!("150 lb")).unwrap().per_ft3(), Mass::pounds(150));
        // 2400 x 0.028 316 846 592 kg = 67.960 431 820 8 kg
        assert_eq!(read(&json!("2400 kg/m3")).unwrap().per_ft3(), Mass::from_base(6_796_043_182));
        assert_eq!(read(&json!("150 lb")).unwrap().shown(Unit::KgPerM3).to_string(), "2402.8 kg_per_m3");
        assert!(read(&json!("4000 kg/m3")).unwrap().within(300, 4000));
        assert!(!read(&json!("4000.1 kg/m3")).unwrap().within(300, 4000));
        assert!(!read(&json!("2400 kg")).unwrap().within(300, 4000));
    }

    #[test]
    fn the_mass_of_a_cubic_metre_can_be_told_from_that_of_a_cubic_foot() {
        let of_m3 = |text: &str| read(&json!(text)).unwrap().if_of_m3();
        assert_eq!(of_m3("2400 kg"), Some(read(&json!("2400 kg/m3")).unwrap()));
        assert_eq!(of_m3("1.7 t"), Some(read(&json!("1700 kg/m3")).unwrap()));
        assert_eq!([of_m3("2400 kg/m3"), of_m3("150 lb/ft3"), of_m3("4050 lb")], [None; 3]);
    }

    #[test]
    fn what_is_no_density_is_told_both_ways_of_writing_one() {
        for (value, code) in [
            (json!("2400 m3"), "unit_dimension"),
            (json!("2400"), "unit_required"),
            (json!({"value": "1", "unit": "ft"}), "unit_dimension"),
        ] {
            let faults = read(&value).unwrap_err();
            let fault = &faults.list()[0];
            assert_eq!(fault.code, code, "{value}");
            assert!(fault.detail.contains("kg/m3") && fault.detail.contains("\"150 lb\""), "{fault:?}");
            assert!(["kg_per_m3", "lb"].iter().all(|u| fault.allowed.iter().any(|a| a == u)), "{fault:?}");
        }
    }
}
