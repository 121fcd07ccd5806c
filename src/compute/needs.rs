//! What has to be bought, by item, gathered from every part of the layout.
//!
//! Each part of the take-off states what it needs in the item's own unit together with its working. Parts for one item
//! add up before anything is rounded: a pack is rounded up once per purchase, not once per joint.

use crate::domain::book::PriceBook;
use crate::domain::lines::{Check, CostLine, Outcome};
use crate::units::decimal::{rounded, whole};
use crate::units::quantity::Mass;
use crate::units::show::worded;
use crate::units::{Amount, Area, Dimension, Length, Quantity, Unit, Volume};
use crate::wire::Code;
use crate::wire::book::Item;
use rust_decimal::Decimal;
use rustc_hash::FxHashMap;
use std::fmt::{self, Write as _};

/// A physical amount that an item must cover.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Need {
    /// Pieces.
    Pieces(i64),
    /// A length.
    Length(Length),
    /// An area.
    Area(Area),
    /// A volume, with the weight of a cubic foot for items priced by weight.
    Volume(Volume, Option<Mass>),
    /// So many of the item's unit, as written.
    Units(Decimal),
}

/// What needs more items than these is a whole job, mostly of so many items at the most.
const FEW: usize = 4;
const USUAL: usize = 48;

/// All needs, in the order in which items were first called for.
#[derive(Debug, Clone, Default)]
pub struct Needs<'a> {
    order: Vec<Gathered<'a>>,
    index: FxHashMap<&'a str, usize>,
    /// Items that could not be bought as the layout needs them.
    pub problems: Vec<Check>,
}

/// What is needed of one item, all parts together.
#[derive(Debug, Clone)]
pub struct Gathered<'a> {
    /// Code of the item.
    pub code: &'a Code,
    /// How many of its unit, before anything is rounded up.
    pub units: Decimal,
    /// Rule of its first part.
    pub rule: &'static str,
    /// The working of its parts.
    pub basis: String,
    parts: usize,
}

impl<'a> Needs<'a> {
    /// Adds a need of `item`; the basis says how it came about.
    pub fn add(
        &mut self,
        book: &PriceBook,
        item: &'a Code,
        need: Need,
        rule: &'static str,
        basis: impl fmt::Display,
    ) {
        let Some(facts) = book.item(item) else {
            self.problem(item, "the price book has no item of this code");
            return;
        };
        let Some(units) = units_of(need, facts.unit) else {
            self.problem(item, "the item is priced in a unit that cannot cover this need");
            return;
        };
        if units.is_zero() {
            return;
        }
        let by_weight = fmt::from_fn(|f| match need {
            Need::Volume(_, Some(per_ft3)) if facts.unit.dimension() == Dimension::Mass => {
                write!(f, " at {}", density(per_ft3, facts.unit))
            }
            _ => Ok(()),
        });
        match self.index.get(item.as_str()) {
            Some(i) => {
                if let Some(have) = self.order.get_mut(*i) {
                    have.units += units;
                    if have.parts < 6 {
                        // writing to a string does not fail
                        let _ = write!(have.basis, "; {basis}{by_weight}");
                    } else if have.parts == 6 {
                        have.basis.push_str("; and further parts alike, listed run by run in the layout");
                    }
                    have.parts += 1;
                }
            }
            None => {
                if self.order.len() == FEW {
                    self.order.reserve(USUAL);
                    self.index.reserve(USUAL);
                }
                self.index.insert(item.as_str(), self.order.len());
                let basis = worded!("{basis}{by_weight}");
                self.order.push(Gathered { code: item, units, rule, basis, parts: 1 });
            }
        }
    }

    fn problem(&mut self, item: &Code, reason: &str) {
        self.problems.push(Check {
            name: "item_can_be_bought",
            subject: item.as_str().to_owned(),
            outcome: Outcome::Fail,
            reason: reason.to_owned(),
        });
    }

    /// What is needed of each item.
    pub fn gathered(&self) -> impl ExactSizeIterator<Item = &Gathered<'a>> {
        self.order.iter()
    }

    /// What is needed of each item, to be bought.
    pub fn into_gathered(self) -> impl ExactSizeIterator<Item = Gathered<'a>> {
        self.order.into_iter()
    }
}

/// What so many units cost at the price of their item.
pub fn cost(units: Decimal, item: &Item) -> Amount {
    let (ordered, _) = round_up(units, item.increment.map_or(Decimal::ONE, |f| f.number()));
    item.price.times(ordered)
}

impl Gathered<'_> {
    /// A cost line at the price of its item, rounded up to the item's increment.
    pub fn line(self, item: &Item) -> CostLine {
        let increment = item.increment.map_or(Decimal::ONE, |f| f.number());
        let (ordered, note) = round_up(self.units, increment);
        let mut basis = self.basis;
        if note {
            let _ = write!(
                basis,
                "; {} {} rounded up to a multiple of {}: {}",
                whole(plainly(self.units, ordered - increment, ordered)),
                item.unit,
                whole(increment),
                whole(ordered)
            );
        }
        CostLine {
            code: item.code.as_str().to_owned(),
            description: item.name.as_str().to_owned(),
            category: item.category,
            quantity: Quantity::decimal(ordered, item.unit, 6),
            unit_price: item.price,
            cost: item.price.times(ordered),
            rule: self.rule,
            basis,
        }
    }
}

/// A need with as many places, four and more, as show that it lies between two multiples of an increment.
fn plainly(need: Decimal, below: Decimal, ordered: Decimal) -> Decimal {
    (4..need.scale())
        .map(|places| rounded(need, places))
        .find(|shown| below < *shown && *shown < ordered)
        .unwrap_or(need)
}

/// The weight of a cubic foot in words, of a cubic metre where the item is sold by metric weight.
pub(crate) fn density(per_ft3: Mass, unit: Unit) -> String {
    let (mass, volume, word) =
        if unit.is_metric() { (Unit::Kg, Unit::M3, "m3") } else { (Unit::Lb, Unit::Ft3, "ft3") };
    let cubic_feet = volume.factor().unwrap_or(1) as f64 / Unit::Ft3.factor().unwrap_or(1) as f64;
    let weight = per_ft3.base() as f64 * cubic_feet / mass.factor().unwrap_or(1) as f64;
    worded!("{} {}/{word}", Quantity::computed(weight, Unit::Each, 2), mass)
}

/// The need in the item's unit; exact for pieces, to 10 places for measures. `None` when the unit cannot cover it.
fn units_of(need: Need, unit: Unit) -> Option<Decimal> {
    let measure = |base: i128, dimension: Dimension| {
        if unit.dimension() != dimension {
            return None;
        }
        let scaled = base.checked_mul(1_000_000)? / unit.factor()?;
        let rest = base.checked_mul(1_000_000)? % unit.factor()?;
        // Cut parts of a millionth count as one more: a need is never rounded down.
        Decimal::try_from_i128_with_scale(scaled + i128::from(rest > 0), 6).ok()
    };
    match need {
        Need::Pieces(n) => (unit.dimension() == Dimension::Count).then(|| Decimal::from(n)),
        Need::Length(l) => measure(i128::from(l.nm()), Dimension::Length),
        Need::Area(a) => measure(a.nm2(), Dimension::Area),
        Need::Volume(v, weight) => match (unit.dimension(), weight) {
            (Dimension::Mass, Some(per_ft3)) => {
                let cubic_feet = Decimal::try_from_i128_with_scale(
                    v.nm3().checked_mul(1_000_000)? / Unit::Ft3.factor()?,
                    6,
                )
                .ok()?;
                let base =
                    cubic_feet.checked_mul(Decimal::try_from_i128_with_scale(per_ft3.base(), 0).ok()?)?;
                base.checked_div(Decimal::try_from_i128_with_scale(unit.factor()?, 0).ok()?)
            }
            _ => measure(v.nm3(), Dimension::Volume),
        },
        Need::Units(n) => Some(n),
    }
}

/// Rounds up to a whole multiple of the increment; an increment of zero sells any amount. Says whether it changed.
///
/// # Formula
/// `ceil(need / increment) x increment`
/// # Units
/// those of the item
/// # Valid for
/// needs of zero and more; the order is never below the need and never a whole increment above it
/// # Source
/// common practice, no source
/// # Example
/// ```
/// use rillcast::compute::needs::round_up;
/// use rust_decimal::Decimal;
/// assert_eq!(round_up(Decimal::new(225, 2), Decimal::new(25, 2)), (Decimal::new(225, 2), false));
/// assert_eq!(round_up(Decimal::new(2251, 3), Decimal::new(25, 2)), (Decimal::new(250, 2), true));
/// assert_eq!(round_up(Decimal::new(21, 1), Decimal::ONE), (Decimal::from(3), true));
/// ```
pub fn round_up(need: Decimal, increment: Decimal) -> (Decimal, bool) {
    if increment.is_zero() {
        return (need, false);
    }
    // Mostly whole pieces are sold, and a division is the dearest of all steps.
    let multiples = if increment == Decimal::ONE { need } else { need / increment };
    match multiples.ceil().checked_mul(increment) {
        Some(ordered) => (ordered, ordered != need),
        None => (need, false),
    }
}

#[cfg(test)]
mod tests {
    use super::plainly;
    use rust_decimal::Decimal;

    #[test]
    fn a_need_is_shown_with_the_places_that_make_its_rounding_plain() {
        let shown = |need: i64, scale: u32| {
            let need = Decimal::new(need, scale);
            let (below, ordered) = (Decimal::new(26, 2), Decimal::new(27, 2));
            plainly(need, below, ordered).normalize().to_string()
        };
        assert_eq!(shown(2_649_872, 7), "0.265");
        assert_eq!(shown(26_000_449, 8), "0.260004");
        assert_eq!(shown(2_699_996, 7), "0.2699996");
        assert_eq!(shown(2_600_000_001, 10), "0.2600000001");
        assert_eq!(shown(265, 3), "0.265");
    }
}
