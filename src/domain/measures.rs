//! The measured quantities of a layout, by [`Measure`].

use super::words::Measure;
use crate::units::quantity::AnyQuantity;
use crate::units::{Area, Length, Quantity, Unit, UnitSystem, Volume};
use crate::wire::{At, Faults};
use rust_decimal::Decimal;

/// Notes a quantity that is not of the dimension its measure has.
pub(crate) fn measured_as(measure: Measure, quantity: AnyQuantity, at: &At<'_>, faults: &mut Faults) {
    let need = measure.dimension();
    if quantity.unit().dimension() != need {
        let rule = format!("`{measure}` is measured as {need}");
        let units = Unit::of(need).map(Unit::word);
        faults.value(at, "unit_dimension", &quantity.to_string(), rule).allow(units);
    }
}

const COUNT: usize = Measure::ALL.len();

/// One value per [`Measure`], in the base unit of its dimension (nanometres, their square, their cube, pieces).
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Measures([i128; COUNT]);

impl Default for Measures {
    fn default() -> Self {
        Self([0; COUNT])
    }
}

impl Measures {
    /// The value in base units.
    pub fn base(&self, measure: Measure) -> i128 {
        self.0[measure as usize]
    }

    /// Sets the value in base units.
    pub fn set_base(&mut self, measure: Measure, base: i128) {
        self.0[measure as usize] = base;
    }

    /// Adds to the value in base units.
    pub fn add_base(&mut self, measure: Measure, base: i128) {
        self.0[measure as usize] = self.0[measure as usize].saturating_add(base);
    }

    /// What was added since an earlier state of the same sums.
    #[must_use]
    pub fn since(&self, before: &Measures) -> Measures {
        let mut out = self.clone();
        for (value, old) in out.0.iter_mut().zip(before.0) {
            *value = value.saturating_sub(old);
        }
        out
    }

    /// Adds a length.
    pub fn add_length(&mut self, measure: Measure, length: Length) {
        self.add_base(measure, i128::from(length.nm()));
    }

    /// Adds an area.
    pub fn add_area(&mut self, measure: Measure, area: Area) {
        self.add_base(measure, area.nm2());
    }

    /// Adds a volume.
    pub fn add_volume(&mut self, measure: Measure, volume: Volume) {
        self.add_base(measure, volume.nm3());
    }

    /// Adds pieces.
    pub fn add_count(&mut self, measure: Measure, count: i64) {
        self.add_base(measure, i128::from(count));
    }

    /// The value as a number of `unit`s, exact as far as a decimal reaches (9 places); `None` across dimensions.
    pub fn number(&self, measure: Measure, unit: Unit) -> Option<Decimal> {
        if unit.dimension() != measure.dimension() {
            return None;
        }
        let factor = unit.factor()?;
        let scaled = crate::units::exact::div_round(self.base(measure).checked_mul(1_000_000)?, factor);
        crate::units::decimal::trimmed(scaled, 6)
    }

    /// The value as an answer carries it.
    pub fn shown(&self, measure: Measure, system: UnitSystem) -> Quantity {
        use crate::units::Dimension as D;
        let us = system == UnitSystem::Us;
        let (unit, places) = match measure.dimension() {
            D::Length => (if us { Unit::Ft } else { Unit::M }, 4),
            D::Area => (if us { Unit::Ft2 } else { Unit::M2 }, 3),
            D::Volume => (if us { Unit::Yd3 } else { Unit::M3 }, 4),
            _ => (Unit::Each, 0),
        };
        Quantity::of_base(self.base(measure), unit, places)
    }

    /// Every measure that is not zero, in the order of the list.
    pub fn present(&self) -> impl Iterator<Item = Measure> + '_ {
        Measure::ALL.iter().copied().filter(|m| self.base(*m) != 0)
    }
}
