//! How far prices move from one version to the next. Where the unit changes too, prices are compared by the unit before.

use crate::units::decimal::rounded;
use crate::units::{Percent, Price, Unit};
use crate::wire::book::Item;
use rust_decimal::Decimal;

/// What became of the price of an item.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Moved {
    /// It is the same, by whichever unit.
    Not,
    /// It is another one.
    To {
        /// The price after, by the unit before.
        after: Decimal,
        /// How far it moved, see [`move_pct`].
        pct: Option<Decimal>,
    },
    /// It is by a unit that the one before cannot be converted to: the two prices say nothing of each other.
    OtherKind,
}

/// What became of the price of an item.
pub fn moved(before: &Item, after: &Item) -> Moved {
    match price_by(after.price, after.unit, before.unit) {
        None => Moved::OtherKind,
        Some(price) if price == before.price.decimal() => Moved::Not,
        Some(price) => Moved::To { after: price, pct: pct(before.price.decimal(), price) },
    }
}

/// A price by another unit of its kind.
///
/// # Formula
/// `price by the other unit = price x size of the other unit / size of its own unit`
/// # Units
/// currency per unit
/// # Valid for
/// units of one dimension that convert exactly; `None` for others. A piece is no lump sum, and how many hours a day of hire or
/// work has is the yard's word: neither converts
/// # Source
/// NIST SP 811 (2008), appendix B (read), for the sizes of units
/// # Example
/// ```
/// use rillcast::domain::book::price_moves::price_by;
/// use rillcast::units::{Price, Unit};
/// let price = Price::from_millionths(31_500_000);
/// assert_eq!(price_by(price, Unit::Lb, Unit::ShortTon).unwrap().to_string(), "63000.000000");
/// assert_eq!(price_by(price, Unit::Ft3, Unit::Yd3).unwrap().to_string(), "850.500000");
/// assert_eq!(price_by(price, Unit::Yd3, Unit::ShortTon), None);
/// assert_eq!(price_by(price, Unit::Hr, Unit::Day), None);
/// ```
pub fn price_by(price: Price, of: Unit, by: Unit) -> Option<Decimal> {
    if of == by {
        return Some(price.decimal());
    }
    let by_word = |unit: Unit| matches!(unit, Unit::Each | Unit::LumpSum | Unit::Day);
    if of.dimension() != by.dimension() || by_word(of) || by_word(by) {
        return None;
    }
    let (of, by) = (of.factor()?, by.factor()?);
    let shared = common(of, by).max(1);
    let whole = |size: i128| Decimal::try_from_i128_with_scale(size / shared, 0).ok();
    price.decimal().checked_mul(whole(by)?)?.checked_div(whole(of)?)
}

/// Greatest common divisor of two sizes of units.
const fn common(mut a: i128, mut b: i128) -> i128 {
    while b != 0 {
        (a, b) = (b, a % b);
    }
    a
}

/// How far a price moved, in percent of the price before.
///
/// # Formula
/// `100 (after - before) / before`, rounded half away from zero to two decimals
/// # Units
/// percent
/// # Valid for
/// a price before of more than nothing; `None` otherwise
/// # Source
/// common practice, no source
/// # Example
/// ```
/// use rillcast::{domain::book::price_moves::move_pct, units::Price};
/// let price = |cents: i64| Price::from_millionths(cents * 10_000);
/// assert_eq!(move_pct(price(2_740), price(2_850)).unwrap().to_string(), "4.01");
/// assert_eq!(move_pct(price(300), price(200)).unwrap().to_string(), "-33.33");
/// assert_eq!(move_pct(price(0), price(200)), None);
/// ```
pub fn move_pct(before: Price, after: Price) -> Option<Decimal> {
    pct(before.decimal(), after.decimal())
}

fn pct(before: Decimal, after: Decimal) -> Option<Decimal> {
    if before.is_zero() {
        return None;
    }
    let share = after.checked_sub(before)?.checked_div(before)?;
    let mut pct = rounded(share.checked_mul(Decimal::ONE_HUNDRED)?, 2);
    pct.rescale(2);
    Some(pct)
}

/// Whether a price moves by more than a percentage, either way, nothing rounded; from nothing it always does.
///
/// ```
/// use rillcast::domain::book::price_moves::moves_beyond;
/// use rillcast::units::{Percent, Price};
/// let price = |millionths| Price::from_millionths(millionths);
/// let after = |millionths| price(millionths).decimal();
/// assert!(moves_beyond(price(6_750_000), after(8_437_700), Percent::whole(25))); // 25.003 %
/// assert!(!moves_beyond(price(6_750_000), after(8_437_500), Percent::whole(25)));
/// ```
pub fn moves_beyond(before: Price, after: Decimal, most: Percent) -> bool {
    let before = before.decimal();
    before.is_zero() || (after - before).abs() > before.abs() * most.share()
}
