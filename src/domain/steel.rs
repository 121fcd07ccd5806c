//! Reinforcing bars by number.

use crate::units::quantity::Mass;
use crate::units::{Length, Unit};

/// Pounds per foot in thousandths, from No. 3 up. Nos. 3 to 6 read, the others from memory.
const POUNDS_PER_FOOT: [i128; 9] = [376, 668, 1043, 1502, 2044, 2670, 3400, 4303, 5313];

/// Weight of a length of bar.
///
/// # Formula
/// `length x nominal weight per foot`; Nos. 3 to 8 are as many eighths of an inch thick
/// # Units
/// a length in, a mass out
/// # Valid for
/// bar numbers 3 to 11; `None` for others
/// # Source
/// ASTM A615 nominal weights (Nos. 3 to 6 read in a trade article quoting the table, 7 to 11 from memory)
/// # Example
/// ```
/// use rillcast::domain::steel::bar_weight;
/// use rillcast::units::{Length, quantity::Mass};
/// // 100 ft of No. 4 weigh 66.8 lb.
/// assert_eq!(bar_weight(4, Length::feet(1000)), Some(Mass::pounds(668)));
/// assert_eq!(bar_weight(12, Length::FOOT), None);
/// ```
pub fn bar_weight(number: i64, length: Length) -> Option<Mass> {
    let index = usize::try_from(number.checked_sub(3)?).ok()?;
    let per_foot = POUNDS_PER_FOOT.get(index)?;
    let pound = Unit::Lb.factor()?;
    let scaled = i128::from(length.nm()).checked_mul(*per_foot)?.checked_mul(pound)?;
    Some(Mass::from_base(crate::units::exact::div_round(scaled, i128::from(Length::FOOT.nm()) * 1000)))
}
