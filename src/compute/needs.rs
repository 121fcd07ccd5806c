//! What has to be bought, by item, gathered from every part of the layout.
//!
//! Each part of the take-off states what it needs in the item's own unit together with its working. Parts for one item
//! add up before anything is rounded: a pack is rounded up once per purchase, not once per joint. Measures add up in whole
//! nanometres, their squares and cubes, so that three lengths of 3 ft 4 in are 10 ft and no millionth more.

use crate::domain::book::PriceBook;
use crate::domain::lines::{Check, CostLine, Outcome};
use crate::units::decimal::{rounded, whole};
use crate::units::exact::div_round;
use crate::units::quantity::Mass;
use crate::units::show::worded;
use crate::units::{Amount, Area, Dimension, Length, Quantity, Unit, Volume};
use crate::wire::Code;
use crate::wire::book::Item;
use rust_decimal::Decimal;
use rustc_hash::FxHashMap;
use std::fmt::{self, Write as _};
use std::ops::AddAssign;

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
    /// A weight.
    Weight(Mass),
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
    /// How many of its unit, to a millionth, before anything is rounded up.
    pub units: Decimal,
    /// The same, nothing rounded.
    exact: Exact,
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
        let Some(exact) = Exact::of(need, facts.unit) else {
            self.problem(item, "the item is priced in a unit that cannot cover this need");
            return;
        };
        if exact.is_zero() {
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
                    have.exact += exact;
                    have.units = have.exact.units(facts.unit);
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
                let units = exact.units(facts.unit);
                self.order.push(Gathered { code: item, units, exact, rule, basis, parts: 1 });
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

/// Cubic nanometres in a cubic foot, by which weights of volumes are told.
const CUBIC_FOOT: i128 = 304_800_000 * 304_800_000 * 304_800_000;

/// A volume by its weight, nothing rounded: whole base units, and what is left of one in parts of a cubic foot's nanometres.
/// `None` beyond 128 bits.
fn weighed(volume: Volume, per_ft3: Mass) -> Option<(i128, i128)> {
    // a whole product has no room in 128 bits
    let (feet, left) = (volume.nm3() / CUBIC_FOOT, volume.nm3() % CUBIC_FOOT);
    let left = left.checked_mul(per_ft3.base())?;
    let base = feet.checked_mul(per_ft3.base())?.checked_add(left / CUBIC_FOOT)?;
    Some((base, left % CUBIC_FOOT))
}

/// Weight of a volume, rounded half away from zero to a base unit.
pub fn weigh(volume: Volume, per_ft3: Mass) -> Mass {
    let whole = weighed(volume, per_ft3).map(|(base, rest)| base + div_round(rest, CUBIC_FOOT));
    Mass::from_base(whole.unwrap_or(i128::MAX))
}

/// What is needed of one item, nothing rounded: parts add up in it as they come.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
struct Exact {
    /// Measures, in base units of the dimension that the item is sold by.
    base: i128,
    /// Of volumes that are weighed, what is left below a base unit of weight, in parts of it: as many as a cubic foot has cubic
    /// nanometres.
    rest: i128,
    /// Pieces, and units as written.
    plain: Decimal,
}

impl Exact {
    /// A need of an item sold by the unit; `None` when the unit cannot cover it.
    fn of(need: Need, unit: Unit) -> Option<Self> {
        let sold_by = unit.dimension();
        let measured = |dimension, base| (sold_by == dimension).then_some(Self { base, ..Self::default() });
        match need {
            Need::Pieces(n) => (sold_by == Dimension::Count).then(|| Self::plain(Decimal::from(n))),
            Need::Length(length) => measured(Dimension::Length, i128::from(length.nm())),
            Need::Area(area) => measured(Dimension::Area, area.nm2()),
            Need::Volume(volume, Some(per_ft3)) if sold_by == Dimension::Mass => {
                let (base, rest) = weighed(volume, per_ft3)?;
                Some(Self { base, rest, ..Self::default() })
            }
            Need::Volume(volume, _) => measured(Dimension::Volume, volume.nm3()),
            Need::Weight(weight) => measured(Dimension::Mass, weight.base()),
            Need::Units(n) => Some(Self::plain(n)),
        }
    }

    fn plain(plain: Decimal) -> Self {
        Self { plain, ..Self::default() }
    }

    fn is_zero(&self) -> bool {
        *self == Self::default()
    }

    /// How many of the unit: the one rounding of a need, half away from zero to a millionth.
    fn units(&self, unit: Unit) -> Decimal {
        let plain = rounded(self.plain, 6);
        if self.base == 0 && self.rest == 0 {
            return plain;
        }
        let factor = unit.factor().unwrap_or(1);
        let base = self.base.saturating_add(div_round(self.rest, CUBIC_FOOT));
        let (whole, left) = (base / factor, base % factor);
        let millionths = whole.saturating_mul(1_000_000).saturating_add(div_round(left * 1_000_000, factor));
        let measured = Decimal::try_from_i128_with_scale(millionths, 6).unwrap_or(Decimal::MAX);
        measured.saturating_add(plain)
    }
}

impl AddAssign for Exact {
    fn add_assign(&mut self, part: Self) {
        let rest = self.rest + part.rest;
        self.base = self.base.saturating_add(part.base).saturating_add(rest / CUBIC_FOOT);
        self.rest = rest % CUBIC_FOOT;
        self.plain = self.plain.saturating_add(part.plain);
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
    #![expect(clippy::unwrap_used, reason = "a test stops where a unit cannot cover its need")]

    use super::{Exact, Need, plainly, round_up, weigh};
    use crate::units::exact::div_round;
    use crate::units::quantity::Mass;
    use crate::units::{Length, Unit, Volume};
    use rust_decimal::Decimal;

    /// The units of all parts together; nothing where one of them cannot be covered.
    fn units(parts: &[Need], unit: Unit) -> Option<Decimal> {
        let mut sum = Exact::default();
        for part in parts {
            sum += Exact::of(*part, unit)?;
        }
        Some(sum.units(unit))
    }

    #[test]
    fn thirds_of_a_foot_that_fill_packs_order_no_pack_more() {
        let (foot, third) = (Length::FOOT, Length::inches(4, 1));
        let stone = Some(Mass::pounds(150));
        let face = third * foot;
        let block = face * foot;
        for (part, unit, filled) in [
            (Need::Length(third), Unit::Ft, 10),
            (Need::Length(third * 3), Unit::Yd, 10),
            (Need::Area(face), Unit::Ft2, 10),
            (Need::Volume(block, None), Unit::Ft3, 10),
            // 30 parts of a third of a cubic foot at 150 lb
            (Need::Volume(block, stone), Unit::Lb, 1_500),
            (Need::Units(Decimal::new(3_333_333_333, 10)), Unit::Each, 10),
        ] {
            let (needed, filled) = (units(&[part; 30], unit).unwrap(), Decimal::from(filled));
            assert_eq!(needed, filled, "30 of {part:?}");
            assert_eq!(round_up(needed, filled), (filled, false));
            // one third more is one pack more
            let more = units(&[part; 31], unit).unwrap();
            assert_eq!(round_up(more, filled), (filled + filled, true));
        }
    }

    #[test]
    fn a_weighed_part_keeps_what_is_below_a_base_unit() {
        let half_foot = Volume::from_nm3(super::CUBIC_FOOT / 2 + 1);
        let parts = [Need::Volume(half_foot, Some(Mass::from_base(1))); 2];
        let mut sum = Exact::default();
        for part in parts {
            sum += Exact::of(part, Unit::Lb).unwrap();
        }
        assert_eq!((sum.base, sum.rest), (1, 2));
    }

    #[test]
    fn a_unit_covers_needs_of_its_own_kind_and_what_is_written_in_it() {
        let foot = Length::FOOT;
        let kinds = [
            (Need::Pieces(2), Unit::Each),
            (Need::Length(foot * 2), Unit::Ft),
            (Need::Area(foot * (foot * 2)), Unit::Ft2),
            (Need::Volume(foot * foot * (foot * 2), None), Unit::Ft3),
            (Need::Weight(Mass::pounds(2)), Unit::Lb),
        ];
        for (i, (need, own)) in kinds.iter().enumerate() {
            for (j, (_, unit)) in kinds.iter().enumerate() {
                assert_eq!(units(&[*need], *unit), (i == j).then_some(Decimal::TWO), "{need:?} in {unit}");
            }
            let written = Need::Units(Decimal::new(5, 1));
            assert_eq!(units(&[*need, written], *own), Some(Decimal::new(25, 1)));
        }
        // a volume is weighed only where its weight is known, and needs of the largest jobs have room
        assert_eq!(units(&[kinds[3].0], Unit::Lb), None);
        let most = [Need::Volume(Volume::LARGEST, Some(Mass::pounds(500))); 30];
        assert_eq!(units(&most, Unit::ShortTon).map(|u| u.trunc()), Some(Decimal::from(26_486_000)));
        assert_eq!(units(&most, Unit::M3), Some(Decimal::from(3_000_000)));
    }

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

    /// Less than a thousandth of a cubic foot counts as well, and so does a volume of many.
    #[test]
    fn a_weight_is_that_of_the_whole_volume() {
        let per_ft3 = Mass::from_base(145 * 45_359_237);
        let cubic_foot = (Length::FOOT * Length::FOOT * Length::FOOT).nm3();
        let of = |ten_thousandths: i128| {
            weigh(Volume::from_nm3(cubic_foot * ten_thousandths / 10_000), per_ft3).base()
        };
        assert_eq!(of(4), div_round(4 * 145 * 45_359_237, 10_000));
        assert_eq!(of(202_744), div_round(202_744 * 145 * 45_359_237, 10_000));
        assert_eq!(of(35_314_660_000), 3_531_466 * 145 * 45_359_237);
    }
}
