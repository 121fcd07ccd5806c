//! Waste and rounding up, exactly.

use crate::compute::exact::{Fraction, Nm3, ceil_div};
use rust_decimal::Decimal;

/// Volume to provide for a net volume with an allowance for waste; `None` on overflow.
///
/// # Formula
/// `net x (1 + waste)`, rounded up to a whole cubic nanometre
/// # Units
/// cubic nanometres; waste as a share (0.10 for 10 %)
/// # Valid for
/// waste from 0; 10 % is the usual allowance
/// # Source
/// NAVEDTRA 14070 (Engineering Aid) ch. 5: 527.40 ft3 and 10 % (read); the rounding is ours
/// # Example
/// ```
/// # use rillcast::compute::{exact::{Nm, Nm3}, pour::with_waste};
/// # use rust_decimal::Decimal;
/// // 25 ft x 36 in x 9 in with 8 % waste is exactly 2.25 cubic yards
/// let inch = |n: i64| Nm(n * 25_400_000);
/// let net = Nm3::product(inch(300), inch(36), inch(9)).ok_or("overflow")?;
/// let need = with_waste(net, Decimal::new(8, 2)).ok_or("overflow")?;
/// assert_eq!(need.0 * 4, 9 * Nm3::CUBIC_YARD.0);
/// # Ok::<(), &str>(())
/// ```
#[must_use]
pub fn with_waste(net: Nm3, waste: Decimal) -> Option<Nm3> {
    net.times_up(Fraction::ONE.checked_add(Fraction::from_decimal(waste))?)
}

/// The order for a volume: the least order or more, in whole increments; `None` when the increment is not
/// above zero or on overflow.
///
/// # Formula
/// `order = ceil(max(need, least order) / increment) x increment`; nothing needed orders nothing
/// # Units
/// cubic nanometres
/// # Valid for
/// increments above zero
/// # Source
/// definition; an exact multiple gains no increment
/// # Example
/// ```
/// # use rillcast::compute::{exact::Nm3, pour::order};
/// let yd3 = |quarters: i128| Nm3(quarters * Nm3::CUBIC_YARD.0 / 4);
/// assert_eq!(order(yd3(21), yd3(1), Nm3(0)), Some(yd3(21))); // 5.25 stays 5.25
/// assert_eq!(order(Nm3(yd3(21).0 + 1), yd3(1), Nm3(0)), Some(yd3(22)));
/// ```
#[must_use]
pub fn order(need: Nm3, increment: Nm3, least: Nm3) -> Option<Nm3> {
    if need.0 <= 0 {
        return Some(Nm3(0));
    }
    ceil_div(need.max(least).0, increment.0)?.checked_mul(increment.0).map(Nm3)
}

/// Loads of an order: full trucks, and the last load; `None` when the truck holds nothing or there are more
/// than a million loads.
///
/// # Formula
/// `loads = ceil(order / truck)`; the last load is the rest
/// # Units
/// cubic nanometres
/// # Valid for
/// trucks above zero
/// # Source
/// definition
/// # Example
/// ```
/// # use rillcast::compute::{exact::Nm3, pour::loads};
/// let yd3 = |quarters: i128| Nm3(quarters * Nm3::CUBIC_YARD.0 / 4);
/// assert_eq!(loads(yd3(86), yd3(40)), Some((3, yd3(6)))); // 21.5 in trucks of 10: 10, 10, 1.5
/// ```
#[must_use]
pub fn loads(order: Nm3, truck: Nm3) -> Option<(u32, Nm3)> {
    if order.0 <= 0 {
        return Some((0, Nm3(0)));
    }
    let n = ceil_div(order.0, truck.0)?;
    let count = u32::try_from(n).ok().filter(|n| *n <= 1_000_000)?;
    Some((count, Nm3(order.0 - (n - 1) * truck.0)))
}
