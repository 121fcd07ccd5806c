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

/// The measures that are placed on pour days: the others have no day of their own.
const POURED: [Measure; 2] = [Measure::ConcreteOrdered, Measure::BagsMixed];

/// One value per [`Measure`], in the base unit of its dimension (nanometres, their square, their cube, pieces).
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Measures {
    values: [i128; COUNT],
    pours: Vec<Poured>,
    dug: Vec<Dug>,
}

/// A part of an excavation by how deep the trench is there.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Dug {
    /// Which excavation.
    pub measure: Measure,
    /// The trench is deeper than this there: a depth from which digging takes longer; zero for what is shallower than all of them.
    pub over: Length,
    /// The trench at its deepest there.
    pub deepest: Length,
    /// What is dug there.
    pub volume: Volume,
}

/// What a pour day takes, where there are several.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Poured {
    /// Number of the pour day.
    pub day: i64,
    /// Concrete as ordered.
    pub volume: Volume,
    /// Bags mixed.
    pub bags: i64,
}

impl Poured {
    fn base(self, measure: Measure) -> i128 {
        if measure == Measure::BagsMixed { i128::from(self.bags) } else { self.volume.nm3() }
    }
}

impl Default for Measures {
    fn default() -> Self {
        Self { values: [0; COUNT], pours: Vec::new(), dug: Vec::new() }
    }
}

impl Measures {
    /// The value in base units.
    pub fn base(&self, measure: Measure) -> i128 {
        self.values[measure as usize]
    }

    /// Sets the value in base units.
    pub fn set_base(&mut self, measure: Measure, base: i128) {
        self.values[measure as usize] = base;
    }

    /// Adds to the value in base units.
    pub fn add_base(&mut self, measure: Measure, base: i128) {
        self.values[measure as usize] = self.values[measure as usize].saturating_add(base);
    }

    /// What was added since an earlier state of the same sums.
    #[must_use]
    pub fn since(&self, before: &Measures) -> Measures {
        let mut out = Self { values: self.values, pours: Vec::new(), dug: self.dug.clone() };
        for (value, old) in out.values.iter_mut().zip(before.values) {
            *value = value.saturating_sub(old);
        }
        for old in &before.dug {
            if let Some(dug) = out.dug.iter_mut().find(|d| (d.measure, d.over) == (old.measure, old.over)) {
                dug.volume = dug.volume - old.volume;
            }
        }
        out
    }

    /// Says what each of several pour days takes; the sums stay as they are.
    pub fn set_pours(&mut self, pours: Vec<Poured>) {
        self.pours = pours;
    }

    /// The measures of each pour day on which something of `of` is placed; what has no pour day stands on the first of them. None
    /// where there are not several pour days.
    ///
    /// Where the sums were set to another value since (what was done on a job), the days share it as they shared the old one, to a
    /// hundred-thousandth; the last one takes the rest.
    pub fn by_pour_day(&self, of: Measure) -> Vec<(i64, Measures)> {
        let mut left = POURED.map(|m| (m, self.base(m)));
        let last = self.pours.len().saturating_sub(1);
        let mut out: Vec<(i64, Measures)> = Vec::with_capacity(self.pours.len());
        for (i, pour) in self.pours.iter().enumerate() {
            let mut of_day = if out.is_empty() { self.values } else { [0; COUNT] };
            for (measure, left) in &mut left {
                let sum: i128 = self.pours.iter().map(|p| p.base(*measure)).sum();
                let whole = self.base(*measure);
                let own = if whole == sum {
                    pour.base(*measure)
                } else if i == last {
                    *left
                } else {
                    // A volume times another has no room in 128 bits.
                    let cut = (sum / 100_000).max(1);
                    whole.saturating_mul(pour.base(*measure) / cut) / (sum / cut).max(1)
                };
                *left -= own;
                of_day[*measure as usize] = own;
            }
            if of_day[of as usize] > 0 {
                out.push((pour.day, Measures { values: of_day, pours: Vec::new(), dug: Vec::new() }));
            }
        }
        out
    }

    /// Says how deep the trench is where a part of an excavation is dug; the sums stay as they are.
    pub fn add_dug(&mut self, dug: Dug) {
        match self.dug.iter_mut().find(|d| (d.measure, d.over) == (dug.measure, dug.over)) {
            Some(have) => {
                have.volume += dug.volume;
                have.deepest = have.deepest.max(dug.deepest);
            }
            None => self.dug.push(dug),
        }
        self.dug.sort_by_key(|d| (d.measure, d.over));
    }

    /// The parts of an excavation by depth, the shallowest first; none where nobody said it.
    pub fn dug(&self, measure: Measure) -> impl Iterator<Item = &Dug> {
        self.dug.iter().filter(move |d| d.measure == measure && d.volume.nm3() > 0)
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
