//! Lumber by the board foot.

use crate::units::decimal::{plain, trimmed};
use crate::units::exact::div_round;
use crate::units::show::{Show, worded};
use crate::units::{Length, Unit, UnitSystem};
use crate::wire::book::systems::FormRule;
use rust_decimal::Decimal;

/// Board feet of one board.
///
/// # Formula
/// `T(in) x W(in) x L(ft) / 12`: the volume in units of 144 in³
/// # Units
/// nominal lengths in, board feet out, to six places
/// # Valid for
/// nominal sizes of zero and more; dressed sizes give less than lumber is sold by
/// # Source
/// the trade's definition of the board foot: common practice, no source
/// # Example
/// ```
/// use rillcast::{compute::takeoff::boards::board_feet, units::Length};
/// use rust_decimal::Decimal;
/// let inch = |n| Length::inches(n, 1);
/// assert_eq!(board_feet(inch(2), inch(6), Length::feet(12)), Decimal::from(12));
/// assert_eq!(board_feet(inch(2), inch(4), Length::feet(8)), Decimal::new(5_333_333, 6));
/// ```
pub fn board_feet(thickness: Length, width: Length, length: Length) -> Decimal {
    let volume = (thickness * width * length).nm3();
    let board_foot = Unit::In3.factor().unwrap_or(1) * 144;
    trimmed(div_round(volume.saturating_mul(1_000_000), board_foot), 6).unwrap_or_default()
}

/// Board feet of a number of boards, said behind what they are bought for; `None` where the book gives no nominal section.
///
/// Always in inches and feet, in which the board foot is defined and lumber is sold by it.
pub fn in_words(rule: &FormRule, length: Length, boards: i64) -> Option<String> {
    let (thickness, width) = rule.nominal_thickness.zip(rule.nominal_width)?;
    let us = Show(UnitSystem::Us);
    Some(worded!(
        "; {boards} x {} x {} (nominal) x {} / 12 = {} board feet",
        us.small(thickness),
        us.small(width),
        us.long(length),
        plain(board_feet(thickness, width, length * boards), 2)
    ))
}
