//! Bags of concrete.

use crate::units::quantity::Mass;
use crate::units::{Quantity, Unit, UnitSystem, Volume};

/// What a bag yields by its label.
///
/// # Formula
/// `weight x 0.15 ft3 / 20 lb`
/// # Units
/// weight of the bag in, volume of fresh concrete out, to 7 500 nm3
/// # Valid for
/// dry mixes of normal weight
/// # Source
/// ASTM C387 (from memory)
/// # Example
/// ```
/// use rillcast::{domain::book::label_yield, units::{Unit, Volume, quantity::Mass}};
/// let hundredths = |n| Volume::from_nm3(Unit::Ft3.factor().unwrap_or_default() / 100 * n);
/// assert_eq!(label_yield(Mass::pounds(80)), hundredths(60));
/// assert_eq!(label_yield(Mass::pounds(60)), hundredths(45));
/// ```
pub fn label_yield(weight: Mass) -> Volume {
    let cubic_foot = Unit::Ft3.factor().unwrap_or(1);
    // 0.0075 ft³ a pound; a pound has 45 359 237 of the base.
    Volume::from_nm3(weight.base() * (cubic_foot / 1_000_000) / 45_359_237 * 7_500)
}

/// What a bag yields by its label, in words and in the units of the office.
pub(super) fn told_yield(weight: Mass, system: UnitSystem) -> String {
    let (mass, volume, each) = match system {
        UnitSystem::Us => (Unit::Lb, Unit::Ft3, "0.15 ft3 for each 20 lb"),
        UnitSystem::Metric => (Unit::Kg, Unit::L, "0.47 l for each kg"),
    };
    let places = if system == UnitSystem::Us { 2 } else { 1 };
    format!(
        "a bag of {} yields about {} ({each}), and at most twice that",
        Quantity::of_base(weight.base(), mass, 1),
        Quantity::of_base(label_yield(weight).nm3(), volume, places)
    )
}
